"""What to mind about numbers that could be acted on: each text once, by what it is about."""

from collections.abc import Sequence

from ..solver.results.result import Result
from ..solver.wording import FOR_ENGINEERS_IN_SHORT
from .words.text import Text, plain, say

FOR_ENGINEERS = (
    "For a qualified engineer to check; it does not replace the local codes in force, the "
    "authority or licensed practice."
)
NEVER_ENERGISE = (
    "Never energise an electrode to try this out or to test it without an isolating, "
    "current-limited, residual-current-protected supply, barriers beyond the step-voltage "
    "radius and a second person, nor with animals or bare feet in the area."
)
ROD_ALONE = say(
    "{A rod} alone does not make metal safe and is not an {path} that opens a breaker."
)
ABOUT_GUIDE = (FOR_ENGINEERS, ROD_ALONE, NEVER_ENERGISE)
BELOW_PICTURES = (
    "Reference: remote earth. Voltages are prospective (open circuit). No statement of safety: "
    "local codes and licensed practice decide."
)
BELOW_SOUNDINGS = (
    "Layers are a model of readings of one day; soil dries, freezes and changes sideways. Do "
    f"not go by them below the depth that the survey reached. {FOR_ENGINEERS_IN_SHORT}"
)
BELOW_EARTH_TESTS = (
    "Predicted by a model: no measurement. Leads and probes can rise to kilovolts during a "
    "fault of the system; lifting a neutral or bond can put full voltage between its ends. "
    "For qualified people to check and to carry out; local codes and licensed practice decide."
)
ON_FIELD_SHEETS = (
    "What is expected here is predicted by a model: no measurement and no statement of safety. "
    "For qualified people to check and to carry out; local codes and licensed practice decide. "
    "Leads and probes can rise to kilovolts during a fault of the system: insulated leads and "
    "gloves, one person in charge with contact to all, stop in thunder. Treat every conductor "
    "as live until tested; lifting a neutral or bond can put full voltage between its ends. "
    f"Look for buried services before driving pins. {NEVER_ENERGISE}"
)
BELOW_READINGS = (
    "Calibrated on readings of one day; agreement with readings does not prove a design safe. "
    "Test leads can rise to kilovolts during a system fault. For a qualified engineer to "
    "check; local codes and licensed practice decide."
)
ABOUT_SOUNDINGS = (
    FOR_ENGINEERS,
    "Layers are a model of the readings of one day: soil dries, freezes and gets salted. Carry "
    "the worst season as a variant.",
    "Do not go by the layers below the depth that the survey reached, about its longest "
    "spacing, nor beside the traverses where the ground changes.",
    "A good fit does not make the model the ground: buried metal, slopes and wrong readings "
    "fit too. Never put the mean of the readings in place of layers.",
    "No survey at the surface can tell beds that conduct better sideways than upright from "
    "even soil: it shows the root of both resistivities multiplied. Over clay and sand in thin "
    "beds, shale or slate carry a vertical_resistivity as a variant.",
    "Models that fit as well may give other voltages: carry them as variants "
    "(soil.survey.equivalents) and judge by the worst.",
)
BELOW_SIMULATED = (
    "Simulated by a model over ground as the case has it: no measurement, and no proof of that "
    f"ground. {FOR_ENGINEERS_IN_SHORT}"
)
ABOUT_SIMULATED = (
    FOR_ENGINEERS,
    "Simulated over the ground that the case assumes: no measurement. It shows what a survey "
    "would make of such ground, not that the ground is so.",
    "Readings are of bare ground, without scatter and without metal; real ones differ by what "
    "the deviations say and more.",
    "Where traverses differ, ground changes sideways: no one set of layers stands for it. "
    "Carry the layers of each traverse as variants, or the bodies, and judge by the worst.",
    "A right resistance does not make touch and step voltages right: they go by the shallow "
    "ground at each place.",
)
ABOUT_EARTH_TESTS = (
    "Predicted by a model, for planning a test and for explaining one: no measurement. Noise, "
    "coupling of leads laid side by side, and metal that is not in the case are not in it.",
    "For qualified people to check and to carry out; local codes and licensed practice decide.",
    "During a fault of the system test leads and far probes can rise to kilovolts: insulated "
    "leads, gloves and mats, one person in charge, contact by radio; stop in thunder.",
    NEVER_ENERGISE,
    "Treat every conductor as live until tested. Lifting a neutral, ground or bond to test one "
    "electrode can put full system voltage between its two ends and on frames.",
    "Look for buried services before driving probes; keep people and animals away from them.",
    "Soil dries, freezes and gets salted: a value of one day is not that of the worst season.",
    "A true resistance, measured or predicted, says little about touch and step voltages.",
)
ABOUT_READINGS = (
    FOR_ENGINEERS,
    "During a system fault test leads and far probe can rise to kilovolts: insulated leads "
    "and gloves, one person in charge with contact to all, no testing in thunder.",
    "Lifting a neutral or bond for a test may energise frames, and full system voltage can "
    "stand between its two ends; treat every buried or bonded conductor as live.",
    NEVER_ENERGISE,
    "A model that agrees with a resistance is not proven for touch voltage: compare profiles. "
    "A reading lower than the model often means metal that is not in the case; list it before "
    "tuning the soil.",
    "Soil dries, freezes and settles: a calibration holds for the day it was measured, and "
    "contact resistance falls as a fresh rod beds in. Judge by the worst season.",
)
_JUDGED = (
    "Limits protect only those their standard names, for the faults and places declared here; "
    "passing them does not make a site safe."
)
_NOT_JUDGED = (
    "Voltages are prospective (nobody there) and no limit has been applied: a low "
    "resistance does not make a site safe."
)
_DIVIDED = (
    "Current divides as the circuit of the case says; metal and paths that are not in it are "
    "not in the answer."
)
_ALL_IN_SOIL = (
    "All of the current given enters this soil; metal that is not in the case is not in "
    "the answer."
)


HEAT = (
    "Temperatures of conductors are those of metal that keeps all heat, of materials and "
    "joints as declared: workmanship, corrosion beyond the allowance, forces of the current "
    "and heat left by an earlier fault are not in them."
)
_CONTACT = (
    "A contact resistance is of the day it was measured: it falls as a fresh rod beds in and "
    "changes with the season. At a given rise it lowers what stands in the soil and raises "
    "touch voltages: judge without it too."
)


def cautions_of(results: Sequence[Result]) -> tuple[Text | str, ...]:
    """What to mind about results: whatever holds for any of them is said.

    Parameters
    ----------
    results : sequence of Result, at least one
        Those that are shown together.
    """
    judged = {bool(result.verdict and result.verdict.judgements) for result in results}
    divided = {_divides(result) for result in results}
    return _cautions(
        judged=judged,
        divided=divided,
        heated=any(result.verdict and result.verdict.heating for result in results),
        contact=any(any(result.contact_resistance) for result in results),
    )


def cautions_of_case(*, judged: bool, divides: bool, contact: bool) -> tuple[Text | str, ...]:
    """The same for a case that is not solved in full yet.

    Parameters
    ----------
    judged, divides, contact : bool
        Whether it declares limits for people, has a circuit that decides how much current
        enters the soil, and has contact resistances.
    """
    return _cautions(judged={judged}, divided={divides}, heated=False, contact=contact)


def _cautions(
    *, judged: set[bool], divided: set[bool], heated: bool, contact: bool
) -> tuple[Text | str, ...]:
    return (
        FOR_ENGINEERS,
        *(text for holds, text in ((True, _JUDGED), (False, _NOT_JUDGED)) if holds in judged),
        ROD_ALONE,
        *(
            text
            for holds, text in ((True, _DIVIDED), (False, _ALL_IN_SOIL))
            if holds in divided
        ),
        *[HEAT] * heated,
        *[_CONTACT] * contact,
        "Soil dries, freezes and differs from its model: check against measurements, in the "
        "worst season.",
        "Power frequency only: not for lightning, switching surges or high frequency.",
        NEVER_ENERGISE,
    )


def caution_texts(results: Sequence[Result]) -> tuple[str, ...]:
    """The same for terminal and tables, which have one vocabulary."""
    return tuple(plain(text, units="SI", vocabulary="ground") for text in cautions_of(results))


def _divides(result: Result) -> bool:
    """Whether a circuit decides how much current enters the soil."""
    operation = result.operation
    return operation is not None and not operation.circuit.all_current_in_soil
