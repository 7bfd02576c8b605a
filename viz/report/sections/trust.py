"""How far the numbers of a report can be trusted: mesh, balances, other methods."""

import re
from collections.abc import Sequence

from ....solver.results.result import Accuracy, Result
from ...one_potential_words import drop_text
from ...row_data import second_rows, standing_words
from ...words.amounts import length, ohms, signed_percent, small_percent, tiny, volts
from ...words.text import in_units, say
from ..contents import Block, Cell, Paragraph, Section, Table


def accuracy_section(results: Sequence[Result], *, field: bool = False) -> Section:
    """Mesh, estimated errors and balances.

    Parameters
    ----------
    field : bool
        Whether the report has what the case holds for the field.
    """
    caption = "Errors of the arithmetic only: soil data are usually far less certain."
    table = Table(("Check", "Found"), tuple(_checks(results[0])), caption)
    beside = () if field else _reports_beside(results[0])
    notes = tuple(Paragraph(text, "note") for text in beside)
    return Section("accuracy", "Mesh and numerical accuracy", (table, *notes))


def _reports_beside(result: Result) -> list[str]:
    """Where else to look: what a case has for the field takes solving of its own."""
    beside = {
        "measured": "The case holds field readings: 'ohmscape compare' sets them beside this "
        "model and fits it to them",
        "earth_tests": "The case holds earth tests: 'ohmscape earth-test' predicts what a "
        "tester reads in them",
    }
    blocks = set(re.findall(r"^(\w+):", result.case_text, flags=re.MULTILINE))
    more = ", with a report of its own; 'ohmscape report FOLDER --field CASE' puts it here."
    return [text + more for block, text in beside.items() if block in blocks]


def _surface_error(accuracy: Accuracy) -> list[tuple[Cell, ...]]:
    """How good maps and profiles are; nothing where that was not looked for."""
    error = accuracy.surface_estimate
    if error is None:
        return []
    label = f"Error of maps and profiles, the most at {accuracy.surface_places:,} places"
    return [(f"{label}, in % of the rise", small_percent(error))]


def _checks(result: Result) -> list[tuple[Cell, ...]]:
    accuracy, checks = result.accuracy, result.solution.checks
    mesh = result.solution.mesh
    smallest, largest = float(mesh.element_size.min()), mesh.outer_radius
    resistance, *voltages = accuracy.estimates
    rows: list[tuple[Cell, ...]] = [
        (
            "Tolerance of touch and step voltages, in % of the rise",
            _kept(max(voltages), accuracy.tolerance),
        ),
        ("Tolerance of resistances", _kept(resistance, accuracy.resistance_tolerance)),
        (
            "Estimated error",
            f"resistance {small_percent(resistance)}, worst touch {small_percent(voltages[0])} "
            f"and step {small_percent(voltages[1])} of the rise",
        ),
        *_surface_error(accuracy),
        (
            "Found by",
            f"a coarser mesh of {accuracy.coarse_elements:,} elements; asked for: "
            f"{small_percent(accuracy.resistance_tolerance)} and "
            f"{small_percent(accuracy.tolerance)} of the rise",
        ),
        (
            "Mesh",
            f"{len(mesh.tetrahedra):,} tetrahedra, {result.solution.unknowns.shape[1]:,} "
            f"unknowns, {max(checks.iterations)} iterations at most",
        ),
        ("Elements at the metal", say("from {}", length(smallest))),
        (
            "Outer boundary",
            say(
                "{} away; at half of that resistance moves by {}",
                length(largest),
                small_percent(checks.boundary),
            ),
        ),
        (
            "Checks of the field",
            f"linear residual {tiny(checks.residual)}, current balance {tiny(checks.balance)}, "
            f"energy {tiny(checks.energy)}, reciprocity {tiny(checks.symmetry)}",
        ),
    ]
    if result.along is not None:
        met = result.along.checks
        rows.append(
            (
                "Checks along the metal",
                f"linear residual {tiny(met.residual)}, currents {tiny(met.current)} at nodes "
                f"and {tiny(met.balance)} into the soil, power {tiny(met.power)}, reciprocity "
                f"{tiny(met.symmetry)}",
            )
        )
    along = result.one_potential
    if along is not None and along.standing(along.largest) != "even":
        text = in_units(lambda units: f"It {drop_text(along, units=units)}")
        rows.append(("Metal at one potential", text))
    operation = result.operation
    if operation is not None:
        found = f"of currents {tiny(operation.residual)}, of power "
        rows.append(("Balance in the circuit", found + tiny(operation.power_balance)))
    seconds = sum(
        time for name, time in result.seconds.items() if not name.startswith("solution: ")
    )
    rows.append(
        ("Time and memory of the run", f"{seconds:.1f} s, {result.peak_memory / 1e9:.1f} GB")
    )
    versions = (f"{name} {number}" for name, number in result.versions.items())
    rows.append(("Made with", ", ".join(versions)))
    return rows


def _kept(reached: float, asked: float) -> str:
    """What was asked for beside what was reached."""
    mark = "✓" if reached <= asked else "✕"
    return f"{mark} {small_percent(asked)} asked for, {small_percent(reached, asked)} reached"


def second_opinion_section(results: Sequence[Result]) -> Section:
    """The result beside thin conductors without a mesh, and beside handbook formulas."""
    result = results[0]
    blocks: list[Block] = []
    if result.solution.soil.bodies:
        blocks += _without_bodies(result)
    elif result.agreement is None:
        text = (
            "No second opinion was made; numerics.second_opinion: always asks for one where it "
            "takes long."
        )
        if result.solution.conductors.flat.any():
            text += (
                " Nor is the voltage along the metal worked out where there are plates: all "
                "metal of an electrode is taken as at one potential."
            )
        blocks.append(Paragraph(text, "warning"))
    else:
        blocks += _second_opinion(result)
    if result.order_checks:
        rows: list[tuple[Cell, ...]] = []
        for check in result.order_checks:
            gap = check.formula_resistance / check.field_resistance - 1
            rows.append(
                (
                    check.electrode,
                    f"{check.formula} {ohms(check.formula_resistance)}",
                    ohms(check.field_resistance),
                    signed_percent(gap),
                    check.source,
                )
            )
        header = (
            say("{Electrode}"),
            "By the formula",
            "By the field",
            "Apart",
            "Source",
        )
        caption = "Order check by handbook formulas, which are the rougher of the two."
        blocks.append(Table(header, tuple(rows), caption))
    return Section("opinion", "Second opinion", tuple(blocks))


def _without_bodies(result: Result) -> list[Block]:
    """That no other method knows bodies, and what they change of the layers alone."""
    names = ", ".join(f"'{body.name}'" for body in result.solution.soil.bodies)
    text = (
        f"Does not apply: bodies in the soil ({names}). Thin conductors, the axisymmetric "
        "method and handbook formulas know layers only, so that NOTHING BUT ITS OWN MESHES "
        "CHECKS THIS RESULT."
    )
    found = result.without_bodies
    if found is None:
        return [Paragraph(text, "warning")]
    beside = (
        "Below: the same metal in the layers WITHOUT the bodies, by thin conductors: no check "
        "of this result, but how much the bodies change. The gap holds the errors of both, "
        f"{small_percent(found.resistance_error)} of a resistance by thin conductors."
    )
    header = ("Quantity", "This result", "Without the bodies", "What they change")
    table = Table(header, _both(result), "With the bodies, and without them.")
    return [Paragraph(text, "warning"), Paragraph(beside), table]


def _both(result: Result) -> tuple[tuple[Cell, ...], ...]:
    """Rows of both methods."""
    rows: list[tuple[Cell, ...]] = []
    for row in second_rows(result):
        gap = signed_percent(row.apart)
        if row.resistance:
            name = say("{Resistance} of {}", row.name)
            rows.append((name, ohms(row.own), ohms(row.other), f"{gap} from it"))
        else:
            values = (volts(row.own), volts(row.other), f"{gap} of the rise from it")
            rows.append((f"Worst {row.name}", *values))
    return tuple(rows)


def _second_opinion(result: Result) -> list[Block]:
    found = result.agreement
    assert found is not None
    flat = bool(result.solution.conductors.flat.any())
    metal = "thin conductors and panels of plates" if flat else "thin conductors"
    caption = (
        f"Second opinion by {metal} in layers and their images: no mesh, no code of the field. "
        f"Its own estimated error is {small_percent(found.resistance_error)} of a resistance; "
        f"{found.wires:,} wires{' and panels' if flat else ''}, {found.seconds:.1f} s."
    )
    header = ("Quantity", "This result", "Second opinion", "Apart")
    marks = {"pass": "✓", "warning": "–", "fail": "✕"}
    said = [Paragraph(f"{marks[tone]} {text}", tone) for text, tone in standing_words(result)]
    return [*said, Table(header, _both(result), caption)]
