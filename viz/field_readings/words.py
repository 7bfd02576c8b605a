"""The words of a comparison that text, report and tables share: values, ranges, doubts."""

import math
from dataclasses import dataclass

from ...solver.field_readings import (
    NOT_ENOUGH,
    Agreement,
    Compared,
    Explanation,
    Fit,
    Reading,
    Series,
    Unknown,
)
from ...solver.wording import number_text, percent_text
from ..wording import significant, with_unit

# Explanations whose misfits differ by less than this share cannot be told apart.
_alike = 0.02
_most_pairs = 3
_least_explained = 0.01  # share that is worth a number
_meanings = {
    "soil scale": "all resistivities",
    "resistivity": "of that layer alone",
    "thickness": "of that layer alone",
    "contact": "loose, dry or smeared soil at the metal",
    "reference": "off what the model gives it, per ampere",
    "divider": "pin resistance over meter resistance",
    "current": "that flowed over that noted",
}


@dataclass(frozen=True)
class FittedValue:
    """An unknown as a fit has it: its name, value and 95 % range in words."""

    name: str
    value: str
    spread: str
    seen: bool
    at_bound: bool


def simulated_texts(compared: Compared, k: int) -> tuple[str, ...]:
    """A reading by the case, measured over that, calibrated, measured over that."""
    item = compared.measured.readings.items[k]
    case, best = compared.case, compared.calibrated
    return (
        value_text(item, case.predicted[k]),
        _off_text(case.difference[k], case.predicted[k]),
        value_text(item, best.predicted[k]),
        _off_text(best.difference[k], best.predicted[k]),
    )


def explained_texts(item: Explanation) -> tuple[str, str]:
    """What an unknown alone stands for, and what it explains."""
    share = percent_text(item.explained) if explains(item) else "nothing"
    return _meanings[item.unknown.kind], share


def explains(item: Explanation) -> bool:
    """Whether an unknown alone explains a share that is worth a number."""
    return item.explained >= _least_explained


def fitted_values(fit: Fit) -> list[FittedValue]:
    """The unknowns of a fit in words."""
    return [
        FittedValue(
            name=unknown.name,
            value=_unknown_text(unknown, fit.value[k]),
            spread=_range_text(unknown, *map(float, fit.range[k])),
            seen=bool(fit.seen[k]),
            at_bound=bool(fit.at_bound[k]),
        )
        for k, unknown in enumerate(fit.unknowns)
    ]


def _unknown_text(unknown: Unknown, value: float) -> str:
    """Value of an unknown with its unit: × 0.34, 4.52 Ω, 61 Ω·m."""
    if unknown.unit:
        symbol = {"ohm": "Ω", "ohm*m": "Ω·m"}.get(unknown.unit, unknown.unit)
        return with_unit(value, symbol=symbol) if unknown.unit != "m" else f"{value:.3g} m"
    if unknown.kind == "divider":
        return f"{significant(100 * value)} %"
    return f"× {significant(value)}"


def _range_text(unknown: Unknown, low: float, high: float) -> str:
    """95 % range of an unknown in words."""
    if not (math.isfinite(low) and math.isfinite(high)):
        return "anything"
    return f"{_unknown_text(unknown, low)} to {_unknown_text(unknown, high)}"


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


def _off_text(difference: float, predicted: float) -> str:
    """Difference over what was simulated, in whole per cent; empty where that is nought."""
    if predicted == 0:
        return ""
    return percent_text(difference / abs(predicted), signed=True)


def setup_text(series: Series) -> str:
    """What the meter was across, and where the current went."""
    text = (
        f"'{series.across[0]}' over '{series.across[1]}', current from '{series.electrode}' to "
        f"{series.returns}"
    )
    return "; ".join([text, *filter(None, (series.date, series.note))])


def field_text(compared: Compared) -> str:
    """How the fields were solved, and how long all of it took."""
    times = number_text(compared.solves, "time")
    return f"Field: {compared.method}, solved {times}, {compared.seconds:.1f} s in all"


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
    if same := _alike_names(found):
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


def _alike_names(found: tuple[Explanation, ...]) -> list[str]:
    """Names of the explanations that do as well as the best one; empty if it stands alone."""
    best = found[0].fit.misfit
    same = [
        item.unknown.name
        for item in found
        if explains(item) and item.fit.misfit <= best * (1 + _alike)
    ]
    return same if len(same) > 1 else []


def best_pairs(compared: Compared) -> list[tuple[str, str]]:
    """Misfit and values of the best pairs of unknowns."""
    return [
        (
            significant(fit.misfit),
            " and ".join(f"{item.name} {item.value}" for item in fitted_values(fit)),
        )
        for fit in compared.pairs[:_most_pairs]
    ]


def pins_behind_divider(compared: Compared) -> list[str]:
    """What the divider that would explain the readings means for the pins."""
    meters = {i.meter_resistance for i in compared.measured.readings.items if i.pins}
    known = [meter for meter in meters if math.isfinite(meter)]
    for item in compared.explanations:
        if item.unknown.kind == "divider" and explains(item) and len(known) == 1:
            pins = with_unit(item.fit.value[0] * known[0], symbol="Ω")
            return [f"divider: pins of {pins} more than noted; measure one to see"]
    return []


def scaled_text(compared: Compared) -> str:
    """Resistivities of the calibrated layers by their scale, with its range; empty without."""
    fit = compared.calibration
    for k, unknown in enumerate(fit.unknowns):
        if unknown.kind == "soil scale":
            low, high = (float(v) / float(fit.value[k]) for v in fit.range[k])
            return ", over ".join(
                f"{with_unit(rho, symbol='Ω·m')} ({significant(low * rho)} to "
                f"{significant(high * rho)})"
                for rho in fit.state.soil.resistivity
            )
    return ""


def contact_texts(compared: Compared) -> list[str]:
    """Contact resistances that were calibrated, and where they are."""
    fit = compared.calibration
    return [
        f"{unknown.name}: {_unknown_text(unknown, float(value))} in series between the metal "
        f"of '{compared.electrodes[unknown.layer]}' and the soil, as of that day."
        for unknown, value in zip(fit.unknowns, fit.value, strict=True)
        if unknown.kind == "contact" and value > 0
    ]


def hardly_apart(fit: Fit) -> list[str]:
    """Pairs of unknowns that the readings hardly tell from each other."""
    return [
        f"{one} and {other} are hardly told apart (correlation {value:+.2f})".replace("-", "−")
        for one, other, value in fit.correlated
    ]
