"""The words of a simulated survey: what it reads, the layers it leads to, what to mind."""

from ...solver.soil_survey.simulated import SimulatedSurvey
from ...solver.wording import percent_text
from ..cautions import ABOUT_SIMULATED
from ..wording import ohms_text, significant
from ..words.lines import aligned, hanging, listed, page
from .from_sounding import misfit_text, soil_text


def simulated_text(survey: SimulatedSurvey, *, title: str, units: str) -> str:
    """A simulated survey as lines of text.

    Parameters
    ----------
    units : {"SI", "US"}
        Lengths in metres or feet.
    """
    blocks = [
        _readings(survey),
        _answers(survey, units),
        listed("What the ground does to this survey", survey.findings),
        listed("Mind", ABOUT_SIMULATED),
    ]
    return page(f"{title}: simulated soil survey", blocks)


def _readings(survey: SimulatedSurvey) -> list[str]:
    """Apparent resistivity of each traverse, and how near the numbers are."""
    rows = [("", "readings", "apparent resistivity [Ω·m]")]
    for each, values in zip(survey.traverses, survey.apparent_resistivity, strict=True):
        span = f"{significant(values.min())} to {significant(values.max())}"
        rows.append((each.name, str(values.size), span))
    bodies = ", ".join(f"'{body.name}'" for body in survey.soil.bodies)
    return [
        "Readings over the bare ground" + f" with its bodies: {bodies}" * bool(bodies),
        *("  " + line for line in aligned(rows, right=2)),
        f"  A coarser mesh changes no reading by more than "
        f"{percent_text(survey.field_error, decimals=1)}.",
    ]


def _answers(survey: SimulatedSurvey, units: str) -> list[str]:
    """Layers of each fit, and each electrode in them."""
    lines = ["Layers fitted to the readings, and electrodes in them"]
    for answer in survey.answers:
        model = answer.sounding.chosen
        words = f"{answer.about}: {soil_text(model.soil, units=units)}, misfit "
        if answer.sounding.supported > model.layers:
            more = f"; {answer.sounding.supported} layers would fit better, too unlike to solve"
        else:
            more = ""
        lines += hanging(f"{words}{misfit_text(model)}{more}", indent="  ")
    rows = [
        ("", "the ground as it is", *(_short(answer.traverse) for answer in survey.answers))
    ]
    for k, name in enumerate(survey.electrodes):
        cells = [
            f"{ohms_text(float(answer.resistance[k]))} ({percent_text(error, signed=True)})"
            for answer, error in zip(survey.answers, survey.errors(k), strict=True)
        ]
        rows.append((name, ohms_text(float(survey.true_resistance[k])), *cells))
    return [*lines, *("  " + line for line in aligned(rows, right=len(rows[0])))]


def _short(traverse: str) -> str:
    return traverse or "all together"
