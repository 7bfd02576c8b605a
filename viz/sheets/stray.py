"""The sheet of stray voltages on farms and at pools: open, loaded, and what stands behind."""

from ...solver.earth_tests import SHUNT, FieldSheets
from ..report.contents import Bullets, Cell, Paragraph, Section
from ..wording import short, with_unit
from .common import sheet, to_fill

SUPPLY = (
    ("N1", "neutral bar of the main board", "pin in remote ground"),
    ("N2", "neutral at the transformer", "pin in remote ground"),
    ("N3", "neutral bar of the main board", "neutral bar of the last board"),
)
FARM = (
    ("F1", "drinking trough or water bowl", "floor where the animal stands"),
    ("F2", "feeder or manger", "floor where the animal stands"),
    ("F3", "stall pipe or stanchion", "floor at the hind feet"),
    ("F4", "milk line or parlour rail", "floor of the pit"),
    ("F5", "floor at the front feet", "floor at the hind feet"),
)
POOL = (
    ("W1", "ladder, rail or cover of a lamp", "deck where a wet foot stands"),
    ("W2", "water, by a plate in it", "deck where a wet foot stands"),
    ("W3", "water, by a plate in it", "ladder or rail"),
    ("W4", "pump or heater", "floor beside it"),
    ("W5", "deck", "lawn a stride off"),
)


def stray_sheet(sheets: FieldSheets) -> Section:
    """Contact points with an open and a loaded reading, and the resistance behind."""
    formula = Paragraph(
        f"Read open (voltmeter alone); below 50 V also with a resistor of {short(SHUNT)} Ω, "
        "10 W, across the same two places. Source resistance = "
        f"{short(SHUNT)} Ω × (open / loaded − 1). Current through somebody of {short(SHUNT)} Ω "
        f"= loaded / {short(SHUNT)} Ω: 1 V is 2 mA. A source of kilo-ohms is a weak contact "
        "or a meter that picks up fields; one of some ohms can drive what stands behind it."
    )
    known = {one.name: one.prospective for one in sheets.points}
    rows = [
        (*each, _volts(known.get(each[0])), "", "", "", "", "") for each in stray_rows(sheets)
    ]
    header: tuple[Cell, ...] = (
        "", "Between", "and", "In the case", "Open [V]", "Loaded [V]", "Source [Ω]",
        "Loaded [mA]", "Time, what ran",
    )  # fmt: skip
    return sheet(
        "stray", "Stray voltage: farm and pool", formula, to_fill(header, rows), _minded
    )


def stray_rows(sheets: FieldSheets) -> list[tuple[str, str, str]]:
    """Name of each contact point and what it is between; the worst of the case first."""
    of_case = [
        (one.name, one.metal, f"foot, {one.why}")
        for one in sheets.points
        if one.kind == "touch" and one.prospective is not None
    ]
    return [*of_case, *SUPPLY, *FARM, *POOL]


def _volts(value: float | None) -> str:
    return "–" if value is None else with_unit(value, symbol="V")


_minded = Bullets(
    (
        "Insulated test leads, rated for the voltage of the supply. At 50 V or more stop, keep "
        "all away and have the supply switched off: that is a fault, and no stray voltage.",
        "In the case: prospective, as it stands. Strike out what the site does not have, add "
        "what animals and bathers can reach.",
        "Read alternating and direct voltage; say which. Read over a day, with large motors "
        "starting, and with the main switch of the site off: what stays comes from outside.",
        "Nobody is in the water while readings are taken, and no animal in the stall. A tingle "
        "that anybody feels is reason enough to keep all out until it is found.",
        "Causes are for the utility and a licensed electrician to find. Never cure one by "
        "lifting a neutral or an earth.",
    )
)
