"""The words of a result: what was found, between which points, how good, what to mind."""

from collections.abc import Sequence

from ...solver.exposure.worst import WorstVoltage
from ...solver.results.result import Accuracy, Result
from ...solver.results.variants import Comparison
from ...solver.wording import percent_text
from ..cautions import caution_texts
from ..job import job_line
from ..report.sections.limits import limits_section
from ..report.sections.trust import second_opinion_section
from ..report.terminal_lines import section_lines
from ..row_data import electrode_rows
from ..soil_survey.text import survey_lines
from ..variants import quantity_text
from ..wording import length_text, ohms_text, phasor_text, place_in, with_unit
from ..words.lines import aligned, hanging, listed, page
from .circuit import circuit_lines
from .verdict import clearing_lines, verdict_lines


def summary(result: Result, *, variants: Sequence[Result] = ()) -> str:
    """Summary of a result as lines of text.

    Parameters
    ----------
    result : Result
        What `run_case` gave.
    variants : sequence of Result, optional
        Of its variants, whose verdicts are told beside its own.

    Returns
    -------
    text : str
        Electrodes, fault circuit, worst voltages, order checks, accuracy and cautions.
    """
    blocks = [
        hanging(job_line(result.job)),
        verdict_lines([result, *variants]),
        _electrodes(result),
        circuit_lines(result),
        _worst(result),
        clearing_lines(result),
        section_lines(limits_section([result]), units=result.units) if result.verdict else [],
        survey_lines(result.sounding, units=result.units),
        _accuracy(result),
        section_lines(second_opinion_section([result]), units=result.units),
        listed("Mind", caution_texts([result])),
    ]
    return page(result.title, blocks)


def comparison_table(compared: Comparison) -> str:
    """Variants side by side as lines of text, the worst of each quantity marked.

    Parameters
    ----------
    compared : Comparison
        What `comparison` gave.
    """
    columns = [["Variants side by side (* the worst)", *compared.names]]
    for quantity in compared.quantities:
        cells = [quantity_text(quantity, row) for row in range(len(compared.names))]
        cells[quantity.worst] += " *"
        columns.append([quantity.name, *cells])
    heading, *rows = aligned(list(zip(*columns, strict=True)), right=0)
    return "\n".join([heading, *("  " + row for row in rows)])


def _electrodes(result: Result) -> list[str]:
    """Resistance, rise and current of each group, to remote earth."""
    width = max(len(name) for name in result.group_names)
    lines = ["Electrodes (voltages and resistances are to remote earth, which is 0 V)"]
    held = {
        "voltage": "voltage given",
        "current": "current given",
        "circuit": "in the circuit",
        "floating": "floating",
    }
    for row, drive in zip(electrode_rows(result), result.drives, strict=True):
        with_others = f", bonded to {', '.join(row.bonded)}" if row.bonded else ""
        rise, fed = phasor_text(row.voltage, symbol="V"), phasor_text(row.current, symbol="A")
        lines.append(
            f"  {row.name:<{width}}  resistance {ohms_text(row.resistance):>9}   rise "
            f"{rise:>9}   current into the soil {fed:>9}   ({held[drive.kind]}{with_others})"
        )
        if row.contact > 0:
            lines.append(
                f"  {'':<{width}}  of which contact {ohms_text(row.contact)} in series, as of "
                f"its day; {phasor_text(row.over_contact, symbol='V')} of the rise over it"
            )
    if len(result.group_names) > 1:
        lines.append("  A resistance holds with no net current in the electrodes not bonded.")
    return lines


def _worst(result: Result) -> list[str]:
    """Worst touch and step voltages, each between named points."""
    lines = ["Worst prospective (open-circuit) voltages in the mapped area"]
    lines += [f"  {worst_line(result, item)}" for item in result.worst]
    evaluated = {item.name for item in result.worst}
    return lines + [
        f"  NOT EVALUATED: touch of '{metal.name}'; nobody in the mapped area can reach it, "
        "make study.area larger"
        for metal in result.metals
        if metal.name not in evaluated
    ]


def worst_line(result: Result, item: WorstVoltage) -> str:
    """One worst voltage in words: how large, and between which two points.

    Parameters
    ----------
    result : Result
        For what is within reach, the largest rise and its units of length.
    item : WorstVoltage
        One of its worst voltages.
    """
    units = result.units
    voltage = with_unit(item.voltage, symbol="V")
    share = f"{voltage} ({percent_text(item.voltage / result.rise)} of the largest rise)"
    if item.other_foot is None:
        reach = length_text(
            next(metal.reach for metal in result.metals if metal.name == item.name), units
        )
        return (
            f"touch  {share} between '{item.name}' and the soil at "
            f"{place_in(item.foot, units)}, within {reach} of it"
        )
    return (
        f"step   {share} between the soil at {place_in(item.foot, units)} and at "
        f"{place_in(item.other_foot, units)}, {length_text(result.surface.pace, units)} apart"
    )


def _accuracy(result: Result) -> list[str]:
    """What shows that the numbers can be trusted."""
    accuracy, checks = result.accuracy, result.solution.checks
    resistance, touch, step = (percent_text(error, decimals=2) for error in accuracy.estimates)
    asked = percent_text(accuracy.resistance_tolerance, decimals=2)
    boundary = percent_text(checks.boundary, decimals=2)
    return [
        "Numerical accuracy (of the model; soil data are usually far less certain)",
        f"  estimated error: resistance {resistance}, worst touch {touch} and step {step} "
        f"of the rise (from a coarser mesh of {accuracy.coarse_elements:,} elements); asked "
        f"for: {asked} and {percent_text(accuracy.tolerance, decimals=2)} of the rise",
        *_surface_error(accuracy),
        f"  outer boundary at half its distance: resistance {boundary}",
        f"  linear residual {checks.residual:.0e}, current balance {checks.balance:.0e}, "
        f"energy {checks.energy:.0e}, reciprocity {checks.symmetry:.0e}",
        f"  {len(result.solution.mesh.tetrahedra):,} elements, "
        f"{result.solution.unknowns.shape[1]:,} unknowns, "
        f"{max(checks.iterations)} iterations, {_total(result):.1f} s, "
        f"{result.peak_memory / 1e9:.1f} GB; "
        + ", ".join(f"{name} {number}" for name, number in result.versions.items()),
    ]


def _surface_error(accuracy: Accuracy) -> list[str]:
    """How good maps and profiles are; nothing where that was not looked for."""
    error = accuracy.surface_estimate
    if error is None:
        return []
    return [
        f"  potential on maps and profiles: {percent_text(error, decimals=2)} of the rise, the "
        f"most at {accuracy.surface_places:,} places over shallow metal and all over"
    ]


def _total(result: Result) -> float:
    steps = result.seconds.items()
    return sum(seconds for name, seconds in steps if not name.startswith("solution: "))
