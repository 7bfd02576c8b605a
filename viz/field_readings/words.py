"""The words of a comparison that text, report and tables share: values, ranges, doubts."""

import math
from collections.abc import Sequence

from ...jobs.compared import NOT_ENOUGH, Compared, film_of
from ...solver.field_readings import Agreement, Explanation, Reading, Unknown
from ...solver.wording import percent_text
from ..wording import significant, with_unit

# Explanations whose misfits differ by less than this share cannot be told apart.
_alike = 0.02
_most_pairs = 3
NOTHING = 0.01
"""Share explained that is not worth a number."""
compare_cautions = (
    "For a qualified engineer to check; it does not replace the local codes in force, the "
    "authority or licensed practice.",
    "During a system fault test leads and far probe can rise to kilovolts: insulated leads "
    "and gloves, one person in charge with contact to all, no testing in thunder.",
    "Lifting a neutral or bond for a test may energise frames, and full system voltage can "
    "stand between its two ends; treat every buried or bonded conductor as live.",
    "Never energise an electrode for a test without an isolating, current-limited, "
    "residual-current-protected supply, barriers and a second person.",
    "A model that agrees with a resistance is not proven for touch voltage: compare profiles. "
    "A reading lower than the model often means metal that is not in the case; list it before "
    "tuning the soil.",
    "Soil dries, freezes and settles: a calibration holds for the day it was measured, and "
    "contact resistance falls as a fresh rod beds in. Judge by the worst season.",
)


def unknown_text(unknown: Unknown, value: float) -> str:
    """Value of an unknown with its unit: × 0.34, 4.52 Ω, 61 Ω·m."""
    if unknown.unit:
        symbol = {"ohm": "Ω", "ohm*m": "Ω·m"}.get(unknown.unit, unknown.unit)
        return with_unit(value, symbol=symbol) if unknown.unit != "m" else f"{value:.3g} m"
    if unknown.kind == "divider":
        return f"{significant(100 * value)} %"
    return f"× {significant(value)}"


def range_text(unknown: Unknown, ends: Sequence[float]) -> str:
    """95 % range of an unknown in words."""
    low, high = (float(end) for end in ends)
    if not math.isfinite(high) or (not math.isfinite(low)):
        return "anything"
    return f"{unknown_text(unknown, low)} to {unknown_text(unknown, high)}"


def meaning(unknown: Unknown) -> str:
    """What an unknown stands for, in a few words."""
    words = {
        "soil scale": "all resistivities",
        "resistivity": "of that layer alone",
        "thickness": "of that layer alone",
        "contact": "loose, dry or smeared soil at the metal",
        "reference": "off what the model gives it, per ampere",
        "divider": "pin resistance over meter resistance",
        "current": "that flowed over that noted",
    }
    return words[unknown.kind]


def value_text(item: Reading, value: float) -> str:
    """Reading with its unit: ohms, or per cent of the source voltage."""
    if item.per == "source":
        return f"{significant(100 * value)} %"
    return f"{significant(value)} Ω"


def measured_text(item: Reading) -> str:
    """What was read, with one standard deviation to two figures."""
    unit, factor = ("%", 100.0) if item.per == "source" else ("Ω", 1.0)
    value, deviation = factor * item.value, factor * item.deviation
    return f"{significant(value)} ± {significant(deviation, figures=2)} {unit}"


def off_text(difference: float, predicted: float) -> str:
    """Difference over what was simulated, in whole per cent; empty where that is nought."""
    if predicted == 0:
        return ""
    return percent_text(difference / abs(predicted), signed=True)


def bias_and_scatter(item: Agreement) -> tuple[str, str]:
    """Both in per cent with a tenth; a dash without any."""
    bias, scatter = (
        "–" if math.isnan(v) else percent_text(v, decimals=1, signed=signed)
        for v, signed in ((item.bias, True), (item.scatter, False))
    )
    return bias, scatter


def doubts(compared: Compared) -> list[str]:
    """What the ranking of single explanations cannot say."""
    found, doubts = compared.explanations, []
    if same := alike(found):
        doubts.append(
            f"These readings cannot tell {' from '.join(same)}; another kind of reading can "
            "(the loop resistance, soil to soil, another current)."
        )
    if found[0].fit.misfit > NOT_ENOUGH:
        doubts.append(
            "None of them alone is enough: more than one thing differs, or the deviations "
            "given are too small."
        )
    return doubts


def best_pairs(compared: Compared) -> list[tuple[str, str]]:
    """Misfit and values of the best pairs of unknowns."""
    return [
        (
            significant(fit.misfit),
            " and ".join(
                f"{unknown.name} {unknown_text(unknown, value)}"
                for unknown, value in zip(fit.unknowns, fit.value, strict=True)
            ),
        )
        for fit in compared.pairs[:_most_pairs]
    ]


def pins_behind_divider(compared: Compared) -> list[str]:
    """What the divider that would explain the readings means for the pins."""
    meters = {i.meter_resistance for i in compared.measured.readings.items if i.pins}
    known = [meter for meter in meters if math.isfinite(meter)]
    for item in compared.explanations:
        if item.unknown.kind == "divider" and item.explained >= NOTHING and len(known) == 1:
            pins = with_unit(item.fit.value[0] * known[0], symbol="Ω")
            return [f"divider: pins of {pins} more than noted; measure one to see"]
    return []


def alike(found: Sequence[Explanation]) -> list[str]:
    """Names of the explanations that do as well as the best one; empty if it stands alone."""
    best = found[0].fit.misfit
    same = [
        item.unknown.name
        for item in found
        if item.explained > NOTHING and item.fit.misfit <= best * (1 + _alike)
    ]
    return same if len(same) > 1 else []


def film_text(compared: Compared, unknown: Unknown, *, value: float) -> str:
    """What to write into the case for a contact resistance."""
    films = [
        f"{film:.3g} ohm*m^2" + (f" in layer {k}" if compared.area.shape[1] > 1 else "")
        for k, film in enumerate(film_of(compared, unknown, value=value), start=1)
        if not math.isnan(film)
    ]
    text = f"as a film, on top of what the case has: contact_resistivity {', '.join(films)}"
    if len(films) > 1:
        text += " (make a part for each layer: an even film would change where current leaves)"
    return text


def resistivities_text(compared: Compared) -> str:
    """Resistivities of the calibrated layers, with the range of the scale."""
    fit = compared.calibration
    k = [u.kind for u in fit.unknowns].index("soil scale")
    low, high = (float(v) / float(fit.value[k]) for v in fit.range[k])
    ends = [
        (with_unit(rho, symbol="Ω·m"), significant(low * rho), significant(high * rho))
        for rho in fit.state.soil.resistivity
    ]
    return ", over ".join(f"{best} ({least} to {most})" for best, least, most in ends)
