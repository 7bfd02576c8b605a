"""What was understood of a case, before it is solved: for the eye to catch a slip."""

from collections.abc import Iterable
from os import PathLike

import numpy as np

from ..cases.case import Case
from ..cases.fitting import fit_soil
from ..cases.loading import case_of
from ..solver.earth_tests import ClampPlan, FallOfPotentialPlan
from ..solver.exposure.worst import within_area
from ..solver.model import same_metal
from ..solver.soil_survey.kinds import usual_kinds
from ..solver.uncertainty.answers import SHARES
from ..solver.wording import FOR_ENGINEERS_IN_SHORT, number_text, plain
from ..viz.canvas.north import north_text
from ..viz.cautions import HEAT
from ..viz.circuit_words import system_text
from ..viz.doubts import doubts_before
from ..viz.drawn_words import drawing_lines
from ..viz.heating_words import names_text
from ..viz.job import job_line
from ..viz.maps.level_lines import level_text
from ..viz.report.sections.heating import TITLE, heating_blocks
from ..viz.report.sections.site import fitted_soil
from ..viz.report.terminal_lines import block_lines, section_lines
from ..viz.soil_survey.from_sounding import soil_text
from ..viz.terminal.along_metal import along_read
from ..viz.terminal.circuit import circuit_read
from ..viz.wording import (
    area_text,
    length_text,
    length_unit,
    ohms_text,
    place_in,
    significant,
    with_unit,
)
from ..viz.words.bodies import bodies_in_short, body_text
from ..viz.words.lines import hanging, terminal_text
from .expected_time import Cost, ExpectedRun, expected_run
from .heating import heating_known
from .solving import mapped_area
from .steps import touchable_metals
from .trying import drawing_time, trying_time
from .ways import kind_of_ways, remedy_costs

_as_minutes = 180  # seconds
# Designs that `size` solved by finite elements: 16 of 60, 13 of 480.
_usual_proofs = 15


def understood(case: Case | str | PathLike[str]) -> str:
    """Text that says how a case was read and what solving it will cost.

    Raises
    ------
    BudgetError
        If the mesh would be larger than the case allows.
    MeshError
        If layers are so thin beside the elements that a run would be refused.
    """
    case = fit_soil(case_of(case))
    expected = expected_run(case)
    doubts = _doubts(case)
    blocks = [
        [case.title, *hanging(job_line(case.job))],
        _soil(case),
        _survey(case),
        drawing_lines(case.drawn),
        _metal(case),
        [] if case.system is None else [system_text(case.system)],
        circuit_read(case.circuit, electrodes=case.conductors.group_names),
        along_read(case.wiring, case.places, conductors=case.conductors),
        _heat(case),
        _study(case),
        _distances(case),
        _variants(case),
        _options(case),
        _earth_tests(case),
        _survey_plan(case),
        _measured(case),
        _designs(case, expected),
        _remedies(case, expected),
        _uncertainty(case, expected),
        _cost(expected, case),
        doubts,
        [
            f"{case.source.file} can be solved as it stands"
            f"{', BUT see above' if doubts else ''} (SHA-256 {case.source.sha256[:16]}…)"
        ],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _doubts(case: Case) -> list[str]:
    """What of the case and its variants cannot be, and metal that nobody on the map reaches."""
    found: list[str] = []
    for each in (case, *case.variants):
        of = f" (variant '{each.variant}')" if each.variant else ""
        # How much leads take of the current is not known before it is solved.
        divided = each.wiring is not None and bool(each.wiring.leads)
        texts = (
            []
            if divided
            else doubts_before(
                each.conductors,
                soil=each.soil,
                drives=each.drives,
                bonds=[bond.groups for bond in each.bonds if bond.closed],
                circuit=each.circuit,
                system=each.system,
                contact_resistance=each.contact_resistance,
            )
        )
        area = mapped_area(each)
        texts += [
            f"touch of '{metal.name}' will be NOT EVALUATED: nobody in the mapped area can "
            "reach it, make study.area larger"
            for metal in touchable_metals(each)
            if not within_area(metal, area=area)
        ]
        found += [f"{text}{of}" for text in texts if text not in found]
    lines = [line for text in found for line in hanging(f"! {text}.", indent="  ")]
    return ["Cannot be, or not be found", *lines] if lines else []


def _soil(case: Case) -> list[str]:
    """Layers from the surface down, with the metal in each."""
    soil, metal = case.soil, case.conductors
    deepest = -min(metal.start[:, 2].min(), metal.end[:, 2].min())
    lines = ["Soil, from the surface down"]
    top = 0.0
    for k, resistivity in enumerate(soil.resistivity):
        last = k == len(soil.thickness)
        bottom = np.inf if last else top + soil.thickness[k]
        extent = f"{length_text(top, case.units)} to {length_text(bottom, case.units)}"
        if last:
            extent = f"below {length_text(top, case.units)}" if k else "from the surface down"
        lines.append(
            f"  {with_unit(resistivity, symbol='Ω·m'):>11}  {extent}; {_usual(resistivity)}"
        )
        if soil.upright[k] != resistivity:
            times = significant(soil.upright[k] / resistivity, figures=2)
            upright = with_unit(soil.upright[k], symbol="Ω·m")
            lines.append(f"  {upright:>11}  vertically, {times} times that")
        top = bottom
    lines += [
        line
        for body in soil.bodies
        for line in hanging(terminal_text(body_text(body), units=case.units), indent="  ")
    ]
    lines.append("  Usual ranges by EN 50522 annex J (from memory); water and frost move them.")
    lines.append(f"  The metal reaches down to {length_text(deepest, case.units)}.")
    return lines


def _usual(resistivity: float) -> str:
    """What usually has such a resistivity."""
    kinds = usual_kinds(resistivity)
    if kinds:
        return f"usual for {', '.join(kinds)}"
    return "NOT usual for any soil, check value and unit (100 ohm*cm is 1 ohm*m)"


def _survey(case: Case) -> list[str]:
    """Survey that the layers were fitted to."""
    if case.survey is None:
        return []
    return section_lines(fitted_soil(case.survey.found), units=case.units)


def _heat(case: Case) -> list[str]:
    """How hot metal gets, as far as the case itself tells."""
    if case.heating is None:
        return []
    heating, unknown = heating_known(case)
    lines = [TITLE]
    for block in () if heating is None else heating_blocks(heating):
        lines += block_lines(block, units=case.units)
    if unknown:
        lines += hanging(f"  A run has to tell: {names_text(unknown)}.")
    if heating is not None:
        lines += hanging(f"! {HEAT} {FOR_ENGINEERS_IN_SHORT}", indent="  ")
    return lines


def _distances(case: Case) -> list[str]:
    """Levels and separations that a run will look for."""
    plan = case.distances
    if plan is None:
        return []
    lines = ["Distances, growth and decrement included"]
    lines += [f"  Level '{item.name}': {level_text(item)}" for item in plan.levels]
    for item in plan.separations:
        may = f"{item.transfer:g} of the largest rise" if item.transfer else ""
        may = may or with_unit(item.voltage or 0.0, symbol="V")
        rod = f", rod of {length_text(item.rod, case.units)}" if item.rod else ""
        where = "in the worst direction" if item.azimuth is None else "in a direction given"
        lines.append(f"  Electrode of others '{item.name}'{rod}: may take on {may}, {where}")
    return lines


def _variants(case: Case) -> list[str]:
    """What is solved beside the case."""
    lines = ["Variants, solved in the same run"] if case.variants else []
    for variant in case.variants:
        differs = [_change(item, variant, case) for item in variant.changes]
        lines += hanging(f"{variant.variant}: {'; '.join(differs)}", indent="  ")
        own = variant.survey
        if own is not None and (case.survey is None or own.found is not case.survey.found):
            found = section_lines(fitted_soil(own.found), units=case.units)
            lines += ["    " + line for line in found[1:]]
    return lines


def _options(case: Case) -> list[str]:
    """What is built in the case and its variants, each with its price."""
    priced = [each.option for each in (case, *case.variants) if each.option is not None]
    first = {option.name: option for option in reversed(priced)}
    lines = []
    for name in dict.fromkeys(option.name for option in priced):
        conditions = [option.condition for option in priced if option.name == name]
        counted = number_text(len(conditions), "condition")
        price = f"{first[name].price:,.0f} {first[name].currency}"
        lines.append(f"  {name or 'as it is'}: {price}, in {counted}")
    return ["Options by the prices of the case, set side by side by a run", *lines] * bool(
        lines
    )


def _change(change: str, variant: Case, case: Case) -> str:
    """One thing that sets a variant apart, with what came of it."""
    if change == "electrodes" and same_metal(variant.conductors, case.conductors):
        return _other_contacts(variant, case) or "the same metal"
    if change == "soil":
        return soil_text(variant.soil, units=variant.units) + bodies_in_short(variant.soil)
    if change == "electrodes":
        return f"other metal, in all {_metal_in_all(variant)}"
    return change if " " in change else f"differs in its {change.replace('_', ' ')}"


def _other_contacts(variant: Case, case: Case) -> str:
    """Contact resistances of a variant that the case does not have."""
    names = variant.conductors.group_names
    each = zip(names, variant.contact_resistance, case.contact_resistance, strict=True)
    found = [f"{name} {ohms_text(ohms)}" for name, ohms, before in each if ohms != before]
    return f"contact of {', '.join(found)}" if found else ""


def _earth_tests(case: Case) -> list[str]:
    """Tests that `earth-test` predicts; `run` does not."""
    lines = ["Earth tests, predicted by `ohmscape earth-test`"] if case.earth_tests else []
    for test in case.earth_tests:
        if isinstance(test, ClampPlan):
            lines.append(f"  {test.name}: two clamps round {test.around}")
            continue
        what = "driven rod"
        if isinstance(test, FallOfPotentialPlan):
            start = place_in(test.leads.start, case.units)
            what = f"fall of potential at {test.electrode}, leads from {start}"
        probe = place_in(test.leads.current_place, case.units)
        lines.append(f"  {test.name}: {what}, current probe at {probe}")
    return lines


def _survey_plan(case: Case) -> list[str]:
    """Traverses that `survey` simulates; `run` does not."""
    plan = case.survey_plan
    lines = ["Soil survey, simulated by `ohmscape survey`"] if plan else []
    for each in plan:
        middle, count = place_in(each.midpoints[0], case.units), len(each.midpoints)
        where = f"about {middle}" + f" and {count - 1} more" * (count > 1)
        counted = number_text(count * len(each.pins), "reading")
        lines.append(f"  {each.name}: {counted} {where}")
    return lines


def _measured(case: Case) -> list[str]:
    """Readings that `compare` holds the model against; `run` does not."""
    if case.measured is None:
        return []
    lines = ["Field readings, for `ohmscape compare`"]
    for number, series in enumerate(case.measured.series):
        count = sum(note.series == number for note in case.measured.notes)
        lines.append(
            f"  {series.name}: {count} of {series.across[0]!r} over {series.across[1]!r}, "
            f"current from {series.electrode!r} to {series.returns}"
        )
    return lines + [f"  ! {warning}" for warning in case.measured.warnings]


def _designs(case: Case, expected: ExpectedRun) -> list[str]:
    """Designs that `size` chooses from, and what that takes; `run` does not."""
    space = case.design
    if space is None:
        return []
    lines = ["Designs, for `ohmscape size` and `ohmscape curve`"]
    lines += _hanging(f"{choice.name}: {', '.join(choice.options)}" for choice in space.choices)
    possible = sum(1 for _ in space.designs())
    whole = possible <= space.most_tried
    how = "all tried" if whole else f"{space.most_tried:,} of them tried, found by a search"
    lines.append(f"  {possible:,} designs are possible; {how}")
    trying = trying_time(case, designs=min(possible, space.most_tried)) * expected.pace
    seconds = trying + min(possible, _usual_proofs) * expected.proof + expected.plain.seconds
    conditions = number_text(1 + len(case.variants), "condition")
    lines += _hanging(
        [
            f"about {_time_text(seconds)} on two cores in {conditions}: {_time_text(trying)} "
            f"to try them by thin conductors, {_time_text(expected.proof)} for each that is "
            f"proven by finite elements, some {_usual_proofs} as a rule"
        ]
    )
    if space.prices is None:
        lines.append("  No prices: designs are ranked by metres of metal")
    return lines


def _remedies(case: Case, expected: ExpectedRun) -> list[str]:
    """What it takes `batch` to find what would make a row pass; `run` does not."""
    kind = kind_of_ways(case)
    if not kind:
        return []
    trying, solving = remedy_costs(case, pace=expected.pace, run=expected.plain.seconds)
    return [
        "As a template of `ohmscape batch`",
        *_hanging(
            [
                f"to find the cheapest {kind} that passes, each row that does not takes at "
                f"most {_time_text(trying)} of a core by thin conductors, and "
                f"{_time_text(solving)} for each {kind} near a limit by finite elements; "
                "--no-remedies leaves it out"
            ]
        ),
    ]


def _uncertainty(case: Case, expected: ExpectedRun) -> list[str]:
    """What `uncertainty` draws, and what that takes; `run` does not."""
    plan = case.uncertainty
    if plan is None:
        return []
    lines = ["Uncertainty, for `ohmscape uncertainty`: 5, 50 and 95 % of what is drawn"]
    for item in plan.inputs:
        shown = ", ".join(item.words(share) for share in SHARES)
        lines += _hanging([f"{item.name}: {shown}"])
    if plan.from_survey:
        lines += _hanging(["soil: as probable as the readings of its survey leave it"])
    readings = ", ".join(item.name for item in plan.next_readings)
    lines += _hanging([f"readings that could come next: {readings}"] if readings else [])
    drawing = expected.pace * drawing_time(case, draws=plan.draws)
    proofs = len(SHARES) * expected.plain.seconds
    lines += _hanging(
        [
            f"about {_time_text(drawing + proofs)} on two cores: {_time_text(drawing)} for "
            f"{plan.draws:,} draws by thin conductors, {_time_text(proofs)} for {len(SHARES)} "
            "by finite elements"
        ]
    )
    return lines


def _hanging(texts: Iterable[str]) -> list[str]:
    """Lines set in, long ones hanging."""
    return [line for text in texts for line in hanging(text, indent="  ")]


def _metal_in_all(case: Case) -> str:
    """Length and pieces of round metal, and plates with their area."""
    metal, flat = case.conductors, case.conductors.flat
    total = length_text(float(metal.length[~flat].sum()), case.units)
    found = [f"{total} in {number_text(int((~flat).sum()), 'straight piece')}"]
    if flat.any():
        plates = sum(part.plates for part in case.parts)
        text = _plates(plates, sum(part.area for part in case.parts), case.units)
        found = [*found, text] if not flat.all() else [text]
    return " and ".join(found)


def _plates(count: int, area: float, units: str) -> str:
    """Number and area of plates; empty where there are none."""
    if not count:
        return ""
    number = number_text(count, "plate face" if count > 1 else "plate")
    return f"{number}, {area_text(area, units)} on one side"


def _metal(case: Case) -> list[str]:
    """Parts of each electrode with their totals."""
    units, metal = case.units, case.conductors
    lines = ["Electrodes"]
    for group, (name, drive) in enumerate(zip(metal.group_names, case.drives, strict=True)):
        symbol = {"voltage": "V", "current": "A"}.get(drive.kind)
        driven = "floating, no net current" if case.wiring is None else "fed by leads alone"
        if drive.kind == "circuit":
            driven = "in the fault circuit"
        elif symbol is not None:
            driven = f"given {drive.kind}, {with_unit(drive.value, symbol=symbol)}"
        if ohms := case.contact_resistance[group]:
            driven += f"; contact {ohms_text(ohms)} in series, as of the day it was measured"
        lines.append(f"  {name}: {driven}")
        for part in (item for item in case.parts if item.group == group):
            rods = number_text(part.rods, "rod")
            rods = f"{rods}, {length_text(part.rod_length, units)}" if part.rods else ""
            wire = part.conductor_length
            other = f"{length_text(wire, units)} of conductor" if wire else ""
            flat = _plates(part.plates, part.area, units)
            both = "; ".join(piece for piece in (rods, other, flat) if piece)
            lines.append(f"    {part.name} ({part.kind}): {both}")
    low = np.minimum(metal.start, metal.end).min(axis=0)
    high = np.maximum(metal.start, metal.end).max(axis=0)
    lines.append(
        f"  In all {_metal_in_all(case)} with {number_text(case.joints, 'joint')}, from "
        f"{place_in(low[:2], units)} to {place_in(high[:2], units)}"
    )
    lines += [
        f"  Bond '{bond.name}' is {'closed' if bond.closed else 'open'}: "
        + " and ".join(metal.group_names[k] for k in bond.groups)
        for bond in case.bonds
    ]
    return lines


def _study(case: Case) -> list[str]:
    """What will be mapped and touched."""
    units, study, area = case.units, case.study, mapped_area(case)
    lines = [
        "Study",
        f"  Map from {place_in(area.low, units)} to {place_in(area.high, units)} every "
        f"{length_text(area.spacing, units)}",
        f"  Pace {length_text(study.pace, units)}, reach {length_text(study.reach, units)}",
    ]
    if case.north is not None:
        lines.append(f"  In plan, {north_text(case.north)}")
    for item in study.touchables:
        name = case.conductors.group_names[item.group]
        shape = "the electrode seen from above" if item.footprint else item.shape
        lines.append(f"  Touch: '{item.name}', {shape}, at the potential of '{name}'")
    lines += [
        f"  Profile: '{item.name}' from {place_in(item.start, units)} to "
        f"{place_in(item.end, units)}"
        for item in study.profiles
    ]
    return lines


def _cost(expected: ExpectedRun, case: Case) -> list[str]:
    """Size of the mesh and what the whole command takes, its variants and files included."""
    planned = expected.planned
    size, unit = planned.element_size, length_unit(case.units)
    ends = dict.fromkeys(f"{end * unit.factor:.3g}" for end in (size.min(), size.max()))
    sizes = f"{' to '.join(ends)} {unit.symbol}"
    return [
        "Expected cost",
        f"  about {rounded(planned.elements):,} elements, {sizes} along the metal, out to "
        f"{plain(planned.outer_radius * unit.factor)} {unit.symbol}",
        f"  about {_cost_text(expected.drawn)} to run it on this machine",
        f"  about {_cost_text(expected.plain)} without pictures and report (--no-pictures)",
        *(
            ["  Plates are counted as wires; it may take three times as long."]
            if case.conductors.flat.any()
            else []
        ),
    ]


def _cost_text(cost: Cost) -> str:
    """Time and memory, no finer than they are known."""
    return f"{_time_text(cost.seconds)} and {cost.memory / 1e9:.1f} GB of memory"


def _time_text(time: float) -> str:
    seconds = rounded(time)
    return f"{seconds} s" if seconds < _as_minutes else f"{rounded(time / 60)} min"


def rounded(value: float) -> int:
    """Whole number near a value that is known to a fifth or so, with two figures at most."""
    step = 10 ** max(0, int(np.floor(np.log10(max(value, 1.0)))) - 1)
    return max(1, round(value / step) * step)
