"""Profile plots: potential along a line and, beside it, the voltage to each electrode."""

from pathlib import Path

import numpy as np

from ..solver.drives import in_phase
from ..solver.model import Floats
from ..solver.result import Profile, Result
from .frame import Frame
from .legend import draw_heading, group_dash
from .levels import round_step
from .sheet import Box, Sheet, grey
from .wording import Unit, footer, length_unit, phasor_text, scaled_unit

page_size = (2000, 1050)
_type = 24
_key_height = 40


def draw_profile(result: Result, *, profile: Profile, path: Path) -> Path:
    """Draw one profile as a PNG picture.

    Parameters
    ----------
    result : Result
        For the electrodes and units.
    profile : Profile
        The line.
    path : Path
        File to write.

    Returns
    -------
    path : Path
    """
    sheet = Sheet(page_size)
    length = length_unit(result.units)
    on_surface = bool((profile.points[:, 2] == 0).all())
    draw_heading(sheet, title=result.title, lines=_heading(profile, length=length), left=60)
    groups = list(range(len(result.group_names)))[:5]
    bottom = 150 + _key_height * (len(groups) + 1)
    rooms = [Box(170, bottom, 960, 800), Box(1170, bottom, 1960, 800)]
    if not on_surface:
        rooms = [Box(170, bottom, 1960, 800)]
    _draw_potential(sheet, result=result, profile=profile, room=rooms[0], groups=groups)
    if on_surface:
        _draw_voltage(sheet, result=result, profile=profile, room=rooms[1], groups=groups)
    sheet.text((60, 20), footer, size=20, colour=grey)
    return sheet.save(path)


def reachable(result: Result, *, group: int, places: Floats) -> np.ndarray:
    """Whether metal of a group can be touched from each place, shape (n,)."""
    metals = [metal for metal in result.metals if metal.group == group]
    reached = np.zeros(len(places), dtype=bool)
    for metal in metals:
        reached |= metal.within_reach(places)
    return reached


def _heading(profile: Profile, *, length: Unit) -> tuple[str, ...]:
    first, last = (
        f"({x * length.factor:.4g}, {y * length.factor:.4g}) {length.symbol}".replace("-", "−")
        for x, y in profile.points[[0, -1], :2]
    )
    depth = -float(profile.points[0, 2]) * length.factor
    level = "on the surface" if depth == 0 else f"{depth:.3g} {length.symbol} deep"
    return (
        f"Profile: {profile.name}",
        f"From {first} to {last}, {level}. Reference: remote earth.",
    )


def _frame(sheet: Sheet, *, room: Box, span: float, values: Floats, name: str, length: Unit
) -> tuple[Frame, Unit]:  # fmt: skip
    """Frame whose range ends on round values, with axes drawn; unit of its voltages."""
    low, high = min(0.0, float(values.min())), max(0.0, float(values.max()))
    unit = scaled_unit(max(-low, high), symbol="V")
    if high == low:
        high = 1.0
    step = round_step((high - low) * unit.factor, parts=6)
    bottom = np.floor(low * unit.factor / step) * step
    top = np.ceil(1.02 * high * unit.factor / step) * step
    frame = Frame(room, (0.0, float(bottom)), (span * length.factor, float(top)))
    across = f"Distance along the line [{length.symbol}]"
    frame.draw_axes(sheet, names=(across, f"{name} [{unit.symbol}]"), grid=True)
    return frame, unit


def _draw_potential(
    sheet: Sheet, *, result: Result, profile: Profile, room: Box, groups: list[int]
) -> None:
    """Potential along the line, with the rise of each electrode as a level."""
    length = length_unit(result.units)
    rises = result.operating.voltage[groups]
    distance = profile.distance
    potential = in_phase(profile.potential)
    values = np.concatenate([potential, in_phase(rises)])
    frame, unit = _frame(
        sheet, room=room, span=distance[-1], values=values, name="Potential", length=length
    )
    sheet.text((room.left, room.top + 14), "To remote earth", size=_type, bold=True)
    ends = np.array([0.0, distance[-1]]) * length.factor
    y = room.bottom - 110
    for group, rise in zip(groups, rises, strict=True):
        level = frame.page(np.column_stack([ends, np.full(2, np.real(rise) * unit.factor)]))
        dash = group_dash(group + 1)
        sheet.path(level, width=2.5, colour=grey, dash=dash)
        text = f"rise of {result.group_names[group]}: {phasor_text(rise, symbol='V')}"
        _key(sheet, at=(room.left, y), text=text, room=room, width=2.5, dash=dash, pale=True)
        y -= _key_height
    curve = np.column_stack([distance * length.factor, potential * unit.factor])
    sheet.path(frame.page(curve), width=4)
    sheet.path(room.corners(), width=2.5)
    where = "soil surface" if profile.points[0, 2] == 0 else "soil at this depth"
    _key(sheet, at=(room.left, y), text=f"potential of the {where}", room=room, width=4)


def _draw_voltage(
    sheet: Sheet, *, result: Result, profile: Profile, room: Box, groups: list[int]
) -> None:
    """Voltage between each electrode and the soil; thick where its metal can be touched."""
    length = length_unit(result.units)
    distance, places = profile.distance, profile.points[:, :2]
    voltages = np.abs(result.operating.voltage[groups][:, None] - profile.potential)
    frame, unit = _frame(
        sheet, room=room, span=distance[-1], values=voltages, name="Voltage", length=length
    )
    heading = "Between an electrode and a foot, prospective"
    sheet.text((room.left, room.top + 14), heading, size=_type, bold=True)
    y = room.bottom - 110
    touched = False
    for group, voltage in zip(groups, voltages, strict=True):
        curve = np.column_stack([distance * length.factor, voltage * unit.factor])
        segments = frame.page(np.stack([curve[:-1], curve[1:]], axis=1))
        reach = reachable(result, group=group, places=places)
        both = reach[:-1] & reach[1:]
        touched = touched or bool(both.any())
        sheet.lines(segments, width=2.5, dash=group_dash(group))
        sheet.lines(segments[both], width=9)
        text = f"to {result.group_names[group]}"
        _key(sheet, at=(room.left, y), text=text, room=room, dash=group_dash(group), width=2.5)
        y -= _key_height
    sheet.path(room.corners(), width=2.5)
    text = "touch voltage: its metal can be reached from there"
    if not touched:
        text = "no metal can be reached from this line: no touch voltage"
    _key(sheet, at=(room.left, y), text=text, room=room, width=9 if touched else 0)


def _key(
    sheet: Sheet,
    *,
    at: tuple[float, float],
    text: str,
    room: Box,
    width: float,
    dash: tuple[float, ...] = (),
    pale: bool = False,
) -> None:
    x, y = at
    if width:
        colour = grey if pale else (0.0, 0.0, 0.0)
        sheet.path([(x, y), (x + 90, y)], width=width, dash=dash, colour=colour)
    fitted = sheet.fit(text, size=_type, width=room.width - 110)
    sheet.text((x + 110, y), fitted, size=_type, anchor=(0, 0.5))
