"""What stands beside a picture: bands with their levels, and a key of lines and marks."""

import numpy as np

from ..solver.model import Floats
from ..solver.result import Result
from .hatching import draw_curve, draw_layer, draw_limit_key
from .levels import Levels
from .sheet import Box, Sheet, black, dashes, grey
from .wording import Unit, phasor_text, short, significant

_type = 24
_most_groups = len(dashes)


def draw_bands(
    sheet: Sheet, *, box: Box, title: str, levels: Levels, colours: Floats, unit: Unit
) -> float:
    """Draw the colours with the levels between them; gives the height left below. [pixel]"""
    top = sheet.paragraph(
        (box.left, box.top), f"{title} [{unit.symbol}]", size=_type, width=box.width, bold=True
    )
    top -= 22
    height = min(46.0, (top - box.bottom) / levels.bands)
    bottom = top - height * levels.bands
    for k, colour in enumerate(colours):
        low = bottom + k * height
        block = Box(box.left, low, box.left + 70, low + height)
        sheet.area(block.corners()[:4], colour=tuple(colour))
        sheet.path(block.corners(), width=1.5)
    numbers = [short(value * unit.factor) for value in levels.inner]
    ends = [significant(value * unit.factor) for value in (levels.low, levels.high)]
    stride = int(np.ceil(28 / height))  # narrower bands than type: name some of the levels
    for k, number in enumerate(numbers, start=1):
        if k % stride:
            continue
        at = (box.left + 84, bottom + k * height)
        sheet.text(at, number, size=_type, anchor=(0, 0.5))
    # The ends lie off their line so that they never touch the nearest level.
    sheet.text((box.left + 84, bottom - 2), f"{ends[0]} lowest", size=_type, anchor=(0, 0.5))
    if levels.bands > 1:
        sheet.text((box.left + 84, top + 2), f"{ends[1]} highest", size=_type, anchor=(0, 0.5))
    return bottom - 40


def group_dash(group: int) -> tuple[float, ...]:
    """Line pattern of an electrode group; groups differ by more than colour."""
    return dashes[group % len(dashes)]


def group_text(result: Result, *, group: int) -> str:
    """Name of a group, its rise, and whether it floats."""
    rise = phasor_text(result.operating.voltage[group], symbol="V")
    floats = ", floating" if result.drives[group].kind == "floating" else ""
    return f"{result.group_names[group]}: {rise}{floats}"


def draw_group_key(sheet: Sheet, *, box: Box, result: Result) -> float:
    """Key of the electrodes, their line patterns and rise; gives the height left below."""
    sheet.text((box.left, box.top), "Electrodes", size=_type, bold=True, anchor=(0, 1))
    y = box.top - 48
    count = len(result.group_names)
    for group in range(min(count, _most_groups)):
        sheet.path([(box.left, y), (box.left + 70, y)], width=4, dash=group_dash(group))
        text = sheet.fit(group_text(result, group=group), size=_type, width=box.width - 84)
        sheet.text((box.left + 84, y), text, size=_type, anchor=(0, 0.5))
        y -= 36
    if count > _most_groups:
        more = f"and {count - _most_groups} more, patterns repeat"
        sheet.text((box.left, y), more, size=_type, anchor=(0, 0.5))
        y -= 36
    return y


def draw_key_line(
    sheet: Sheet, *, at: tuple[float, float], text: str, width: float, kind: str
) -> float:
    """One entry of the key: rod, touched metal, limit, line, layer, or the worst place."""
    x, y = at
    centre = np.array([x + 35, y])
    if kind == "rod":
        sheet.dots(centre, radius=7, colour=black)
    elif kind == "metal":
        draw_outline(sheet, np.array([[[x, y], [x + 70, y]]]))
    elif kind == "post":
        draw_posts(sheet, centre)
    elif kind == "limit":
        draw_limit_key(sheet, Box(x, y - 13, x + 70, y + 13))
    elif kind == "curve":
        draw_curve(sheet, np.array([[[x, y], [x + 70, y]]]))
    elif kind == "layer":
        draw_layer(sheet, np.array([[[x, y], [x + 70, y]]]))
    else:
        draw_target(sheet, centre)
    for line in sheet.wrap(text, size=_type, width=width - 84)[:3]:
        sheet.text((x + 84, y), line, size=_type, anchor=(0, 0.5))
        y -= 32
    return y - 16


def draw_outline(sheet: Sheet, segments: Floats) -> None:
    """Edge of metal that can be touched: a white line in a black one."""
    sheet.lines(segments, width=9, colour=black)
    sheet.lines(segments, width=4, colour=(1.0, 1.0, 1.0))


def draw_posts(sheet: Sheet, centres: Floats) -> None:
    """Small squares: single places where metal can be touched."""
    for x, y in np.asarray(centres).reshape(-1, 2):
        outline = Box(x - 9, y - 9, x + 9, y + 9).corners()
        sheet.path(outline, width=9)
        sheet.path(outline, width=4, colour=(1.0, 1.0, 1.0))


def draw_target(sheet: Sheet, centre: Floats) -> None:
    """Ring with a cross: the worst place."""
    angle = np.linspace(0, 2 * np.pi, 49)
    circle = np.asarray(centre) + 15 * np.column_stack([np.cos(angle), np.sin(angle)])
    reach = 24 * np.array([[[-1, 0], [1, 0]], [[0, -1], [0, 1]]])
    for colour, width in (((1.0, 1.0, 1.0), 9), (black, 3.5)):
        sheet.path(circle, width=width, colour=colour)
        sheet.lines(centre + reach, width=width, colour=colour)


def draw_heading(sheet: Sheet, *, title: str, lines: tuple[str, ...], left: float) -> None:
    """Title of the case, what is drawn, and between which points."""
    width, height = sheet.size
    room = width - 2 * left
    fitted = sheet.fit(title, size=30, width=room)
    sheet.text((left, height - 28), fitted, size=30, anchor=(0, 1), colour=grey)
    text = sheet.fit(lines[0], size=38, width=room, bold=True)
    sheet.text((left, height - 72), text, size=38, bold=True, anchor=(0, 1))
    wrapped = [part for line in lines[1:] for part in sheet.wrap(line, size=_type, width=room)]
    for k, line in enumerate(wrapped[:2]):
        sheet.text((left, height - 128 - 34 * k), line, size=_type, anchor=(0, 1))
