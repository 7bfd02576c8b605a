"""The words of a result: what was found, between which points, how good, what to mind."""

from collections.abc import Sequence
from textwrap import fill

import numpy as np

from .solver.result import Result
from .solver.worst import WorstVoltage

cautions = (
    "For a qualified engineer to check; it does not replace the code in force, the "
    "authority or licensed practice.",
    "Voltages are prospective (nobody there) and no limit has been applied: a low "
    "resistance does not make a site safe.",
    "A ground rod alone does not make metal safe and is not a fault path that opens a breaker.",
    "All of the current given enters this soil; metal that is not in the case is not in "
    "the answer.",
    "Soil dries, freezes and differs from its model: check against measurements, in the "
    "worst season.",
    "Power frequency only: not for lightning, switching surges or high frequency.",
    "Never energise an electrode to try this out without an isolating, current-limited, "
    "residual-current-protected supply and barriers.",
)

_foot = 0.3048
_prefixes = ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "µ"))


def quantity(value: float, unit: str) -> str:
    """Value with three significant figures and a prefix, for example ``1.51 kV``."""
    size = abs(value)
    factor, prefix = next((p for p in _prefixes if size >= 0.9995 * p[0]), _prefixes[-1])
    if size == 0:
        return f"0 {unit}"
    digits = max(0, 2 - int(np.floor(np.log10(0.9995 * size / factor + 1e-300))))
    return f"{value / factor:.{min(digits, 3)}f} {prefix}{unit}"


def length(value: float, units: str) -> str:
    """Length in metres or feet."""
    return f"{value:.2f} m" if units == "SI" else f"{value / _foot:.1f} ft"


def place(point: Sequence[float], units: str) -> str:
    """Plan place in metres or feet, for example ``(3.20, -1.00) m``."""
    scale, unit, digits = (1.0, "m", 2) if units == "SI" else (_foot, "ft", 1)
    inside = ", ".join(f"{round(value / scale, digits) + 0.0:.{digits}f}" for value in point)
    return f"({inside}) {unit}"


def summary(result: Result) -> str:
    """Summary of a result as lines of text.

    Parameters
    ----------
    result : Result
        What `run_case` gave.

    Returns
    -------
    text : str
        Electrodes, worst voltages, order checks, accuracy and cautions.
    """
    blocks = [
        [result.title, "=" * len(result.title)],
        _electrodes(result),
        _worst(result),
        _order_checks(result),
        _accuracy(result),
        ["Mind", *(fill(f"- {line}", 92, subsequent_indent="  ") for line in cautions)],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _electrodes(result: Result) -> list[str]:
    """Resistance, rise and current of each group, to remote earth."""
    width = max(len(name) for name in result.group_names)
    lines = ["Electrodes (voltages and resistances are to remote earth, which is 0 V)"]
    for k, name in enumerate(result.group_names):
        voltage, current = result.operating.voltage[k], result.operating.current[k]
        held = {"voltage": "voltage given", "current": "current given", "floating": "floating"}
        number = result.operating.bonded_set[k]
        bonded = [
            other
            for j, other in enumerate(result.group_names)
            if j != k and result.operating.bonded_set[j] == number
        ]
        with_others = f", bonded to {', '.join(bonded)}" if bonded else ""
        if abs(current) < 1e-6 * np.abs(result.operating.current).max():
            current = 0.0
        lines.append(
            f"  {name:<{width}}  resistance {quantity(result.resistance(k), 'Ω'):>9}   "
            f"rise {quantity(voltage, 'V'):>9}   current into the soil "
            f"{quantity(current, 'A'):>9}   ({held[result.drives[k].kind]}{with_others})"
        )
    if len(result.group_names) > 1:
        lines.append("  A resistance holds with no net current in the electrodes not bonded.")
    return lines


def _worst(result: Result) -> list[str]:
    """Worst touch and step voltages, each between named points."""
    lines = ["Worst prospective (open-circuit) voltages in the mapped area"]
    return lines + [f"  {worst_line(result, item)}" for item in result.worst]


def worst_line(result: Result, item: WorstVoltage) -> str:
    """One worst voltage in words: how large, and between which two points."""
    units = result.units
    share = f"{quantity(item.voltage, 'V')} ({item.voltage / result.rise:.0%} of the rise)"
    if item.other_foot is None:
        reach = length(
            next(metal.reach for metal in result.metals if metal.name == item.name), units
        )
        return (
            f"touch  {share} between '{item.name}' and the soil at "
            f"{place(item.foot, units)}, within {reach} of it"
        )
    return (
        f"step   {share} between the soil at {place(item.foot, units)} and at "
        f"{place(item.other_foot, units)}, {length(result.surface.pace, units)} apart"
    )


def _order_checks(result: Result) -> list[str]:
    """Handbook formulas beside the field result."""
    if not result.order_checks:
        return []
    lines = ["Order check by handbook formulas, which are the rougher of the two"]
    for check in result.order_checks:
        gap = check.formula_resistance / check.field_resistance - 1
        lines.append(
            f"  {check.electrode}: {check.formula} {quantity(check.formula_resistance, 'Ω')}, "
            f"{gap:+.1%} of the field's {quantity(check.field_resistance, 'Ω')} "
            f"[{check.source}]"
        )
    return lines


def _accuracy(result: Result) -> list[str]:
    """What shows that the numbers can be trusted."""
    accuracy, checks = result.accuracy, result.solution.checks
    return [
        "Numerical accuracy (of the model; soil data are usually far less certain)",
        f"  estimated error: resistance {accuracy.estimate(accuracy.resistance):.2%}, worst "
        f"touch {accuracy.estimate(accuracy.touch):.2%} and step "
        f"{accuracy.estimate(accuracy.step):.2%} of the rise "
        f"(from a coarser mesh of {accuracy.coarse_elements:,} elements)",
        f"  outer boundary at half its distance: resistance {checks.boundary:.2%}",
        f"  linear residual {checks.residual:.0e}, current balance {checks.balance:.0e}, "
        f"energy {checks.energy:.0e}, reciprocity {checks.symmetry:.0e}",
        f"  {len(result.solution.mesh.tetrahedra):,} elements, "
        f"{result.solution.potential.shape[1]:,} unknowns, "
        f"{max(checks.iterations)} iterations, {_total(result):.1f} s, "
        f"{result.peak_memory / 1e9:.1f} GB; "
        + ", ".join(f"{name} {number}" for name, number in result.versions.items()),
    ]


def _total(result: Result) -> float:
    steps = result.seconds.items()
    return sum(seconds for name, seconds in steps if not name.startswith("solution: "))
