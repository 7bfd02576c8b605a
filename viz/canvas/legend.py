"""What stands beside a picture: bands with their levels, and a key of lines and marks."""

from collections.abc import Sequence

import numpy as np

from ...solver.bodies import Body
from ...solver.model import Floats
from ...solver.results.result import Result
from ..wording import Unit, phasor_text, short, significant
from .boxes import Box
from .dashing import dashes
from .hatching import draw_body, draw_layer, draw_limit_key, draw_underlay
from .levels import Levels
from .sheet import Sheet, black, grey, heading_type, plain_type, title_type

_most_groups = len(dashes)
_most_lines, _spacing = 3, 37
_nothing = 1e-4  # of the largest value: not worth its figures


def draw_bands(
    sheet: Sheet, *, box: Box, title: str, levels: Levels, colours: Floats, unit: Unit
) -> float:
    """Draw the colours with the levels between them; gives the height left below. [pixel]"""
    top = sheet.paragraph(
        (box.left, box.top),
        f"{title} [{unit.symbol}]",
        size=plain_type,
        width=box.width,
        bold=True,
    )
    top -= 22
    height = min(48.0, (top - box.bottom) / levels.bands)
    bottom = top - height * levels.bands
    for k, colour in enumerate(colours):
        low = bottom + k * height
        block = Box(box.left, low, box.left + 70, low + height)
        sheet.area(block.corners()[:4], colour=tuple(colour))
        sheet.path(block.corners(), width=1.5)
    numbers = [short(value * unit.factor) for value in levels.inner]
    largest = max(abs(levels.low), abs(levels.high))
    ends = [
        _end_text(value * unit.factor if abs(value) > _nothing * largest else 0.0, numbers)
        for value in (levels.low, levels.high)
    ]
    stride = int(np.ceil(32 / height))  # narrower bands than type: name some of the levels
    for k, number in enumerate(numbers, start=1):
        if k % stride or (levels.bands - k) * height + 2 < 32:
            continue  # or no room below the highest value
        at = (box.left + 84, bottom + k * height)
        sheet.text(at, number, size=plain_type, anchor=(0, 0.5))
    # The ends lie off their line so that they never touch the nearest level.
    sheet.text(
        (box.left + 84, bottom - 2), f"{ends[0]} lowest", size=plain_type, anchor=(0, 0.5)
    )
    if levels.bands > 1:
        sheet.text(
            (box.left + 84, top + 2), f"{ends[1]} highest", size=plain_type, anchor=(0, 0.5)
        )
    return bottom - 44


def _end_text(value: float, numbers: list[str]) -> str:
    """Lowest or highest value, with a figure more where it would read as a level does."""
    text = significant(value)
    return significant(value, figures=4) if short(float(f"{value:.3g}")) in numbers else text


def group_dash(group: int) -> tuple[float, ...]:
    """Line pattern of an electrode group; groups differ by more than colour."""
    return dashes[group % len(dashes)]


def group_text(result: Result, *, group: int) -> str:
    """Name of a group, its rise, and whether it floats."""
    return result.group_names[group] + group_state(result, group=group)


def group_state(result: Result, *, group: int) -> str:
    """Rise of a group, and whether it floats, to stand after its name."""
    rise = phasor_text(result.operating.voltage[group], symbol="V")
    floats = ", floating" if result.drives[group].kind == "floating" else ""
    return f": {rise}{floats}"


def draw_group_key(sheet: Sheet, *, box: Box, result: Result) -> float:
    """Key of the electrodes, their line patterns and rise; gives the height left below."""
    sheet.text((box.left, box.top), "Electrodes", size=plain_type, bold=True, anchor=(0, 1))
    y = box.top - 54
    for number, lines in enumerate(_group_lines(sheet, result=result, width=box.width)):
        left = box.left
        if number < _most_groups:
            left += 84
            dash = group_dash(number)
            sheet.path([(box.left, y), (box.left + 70, y)], width=4, dash=dash)
        for line in lines:
            sheet.text((left, y), line, size=plain_type, anchor=(0, 0.5))
            y -= _spacing
        y -= 5
    return y


def group_key_height(sheet: Sheet, *, result: Result, width: float) -> float:
    """What the key of the electrodes takes. [pixel]"""
    entries = _group_lines(sheet, result=result, width=width)
    return 54 + sum(_spacing * len(lines) + 5 for lines in entries)


def _group_lines(sheet: Sheet, *, result: Result, width: float) -> list[list[str]]:
    """Entries of the key of the electrodes, a long name on a line of its own."""
    count, room, found = len(result.group_names), width - 84, []
    for group in range(min(count, _most_groups)):
        text = group_text(result, group=group)
        lines = [text]
        if sheet.text_size(text, size=plain_type)[0] > room:
            name = sheet.fit(result.group_names[group], size=plain_type, width=room)
            lines = [name, group_state(result, group=group).removeprefix(": ")]
        found.append(lines)
    if count > _most_groups:
        found.append([f"and {count - _most_groups} more, patterns repeat"])
    return found


def draw_key_line(
    sheet: Sheet,
    *,
    at: tuple[float, float],
    text: str,
    width: float,
    kind: str,
    bodies: Sequence[Body] = (),
) -> float:
    """One entry of the key: rod, metal, limit, line, level, layer, body, soil above, worst.

    Or the heading of those that follow.
    """
    x, y = at
    if kind == "heading":
        sheet.text((x, y), text, size=plain_type, bold=True, anchor=(0, 0.5))
        return y - key_line_height(sheet, text=text, width=width)
    centre = np.array([x + 35, y])
    if kind == "rod":
        sheet.dots(centre, radius=7, colour=black)
    elif kind in ("metal", "curve"):
        draw_outline(sheet, np.array([[[x, y], [x + 70, y]]]))
    elif kind.startswith("level "):
        number = int(kind.removeprefix("level "))
        draw_level(sheet, np.array([[[x, y], [x + 70, y]]]), number=number)
    elif kind == "post":
        draw_posts(sheet, centre)
    elif kind == "limit":
        draw_limit_key(sheet, Box(x, y - 13, x + 70, y + 13))
    elif kind == "raised":
        draw_raised(sheet, np.array([[[x, y], [x + 70, y]]]), joins=centre)
    elif kind == "above":
        ticks = [[[x + k, y], [x + k, y - 12]] for k in (10, 35, 60)]
        draw_above(sheet, np.array([[[x, y], [x + 70, y]], *ticks]))
    elif kind.startswith("body "):
        number = int(kind.removeprefix("body "))
        sample = Box(x, y - 13, x + 70, y + 13).corners()[:4]
        draw_body(sheet, sample, body=bodies[number], number=number)
    elif kind == "words":
        pass  # of all of the map
    elif kind == "layer":
        draw_layer(sheet, np.array([[[x, y], [x + 70, y]]]))
    elif kind == "underlay":
        draw_underlay(sheet, np.array([[[x, y], [x + 70, y]]]))
    else:
        draw_target(sheet, centre)
    lines = _key_lines(sheet, text=text, width=width)
    for number, line in enumerate(lines):
        at = (x + 84, y - _spacing * number)
        sheet.text(at, line, size=plain_type, anchor=(0, 0.5))
    return y - key_line_height(sheet, text=text, width=width)


def key_line_height(sheet: Sheet, *, text: str, width: float) -> float:
    """What one entry of the key takes. [pixel]"""
    return _spacing * len(_key_lines(sheet, text=text, width=width)) + 14


def _key_lines(sheet: Sheet, *, text: str, width: float) -> list[str]:
    """An entry of the key on three lines at most, the last cut with an ellipsis."""
    room = width - 84
    lines = sheet.wrap(text, size=plain_type, width=room)
    if len(lines) <= _most_lines:
        return lines
    last = sheet.fit(" ".join(lines[_most_lines - 1 :]), size=plain_type, width=room)
    return [*lines[: _most_lines - 1], last]


def draw_outline(sheet: Sheet, segments: Floats) -> None:
    """Edge of what can be touched, or of where steps are: white in black, unlike a limit."""
    sheet.lines(segments, width=9, colour=black)
    sheet.lines(segments, width=4, colour=(1.0, 1.0, 1.0))


def draw_level(sheet: Sheet, segments: Floats, *, number: int) -> None:
    """Outline of a level that was asked for: dashes in black, their pattern by its number."""
    sheet.lines(segments, width=9, colour=black)
    dash = level_dash(number)
    sheet.lines(segments, width=4, colour=(1.0, 1.0, 1.0), dash=dash)


def level_dash(number: int) -> tuple[float, ...]:
    """Pattern of the outline of a level; those of one map differ."""
    return dashes[1:][number % (len(dashes) - 1)]


def draw_above(sheet: Sheet, segments: Floats) -> None:
    """Where the soil is above the metal: a thin line with ticks."""
    sheet.lines(segments, width=7, colour=(1.0, 1.0, 1.0))
    sheet.lines(segments, width=3, colour=black)


def draw_posts(sheet: Sheet, centres: Floats) -> None:
    """Small squares: single places where metal can be touched."""
    for x, y in np.asarray(centres).reshape(-1, 2):
        outline = Box(x - 9, y - 9, x + 9, y + 9).corners()
        sheet.path(outline, width=9)
        sheet.path(outline, width=4, colour=(1.0, 1.0, 1.0))


def draw_raised(sheet: Sheet, segments: Floats, *, joins: Floats) -> None:
    """Metal above ground or insulated: dots in a line; rings where it meets other metal."""
    sheet.lines(segments, width=7, colour=(1.0, 1.0, 1.0))
    sheet.lines(segments, width=3, dash=(2.0, 2.0))
    sheet.dots(joins, radius=9, colour=black)
    sheet.dots(joins, radius=2, colour=(1.0, 1.0, 1.0))


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
    fitted = sheet.fit(title, size=title_type, width=room)
    sheet.text((left, height - 24), fitted, size=title_type, anchor=(0, 1), colour=grey)
    text = sheet.fit(lines[0], size=heading_type, width=room, bold=True)
    sheet.text((left, height - 70), text, size=heading_type, bold=True, anchor=(0, 1))
    wrapped = [
        part for line in lines[1:] for part in sheet.wrap(line, size=plain_type, width=room)
    ]
    for k, line in enumerate(wrapped[:2]):
        sheet.text((left, height - 132 - 38 * k), line, size=plain_type, anchor=(0, 1))
