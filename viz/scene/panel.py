"""What is written on and beside the 3-D view: depths, names, legends, layers."""

from typing import Any

import numpy as np

from ...solver.results.result import Result
from ..canvas.bodies import body_colour, edges
from ..canvas.boxes import Box
from ..canvas.figures import spread_out
from ..canvas.legend import draw_bands, group_state
from ..canvas.levels import Levels, band_colours
from ..canvas.sheet import Sheet, plain_type, small_type
from ..plates import has_plates
from ..wording import about, length_unit, scaled_unit
from ..words.bodies import made_of
from ..words.layers import layer_values
from .blocks import Block, layer_bounds
from .leakage import LeakageBands, leakage_name

scene_view = Box(40, 150, 1440, 1300)
_panel = Box(1480, 70, 1970, 1300)
_most_layers, _layer_line = 6, 42
# Light, hue-free enough to leave the colours to the potential; layers also carry names.
tints = ((0.93, 0.90, 0.84), (0.80, 0.75, 0.67), (0.88, 0.86, 0.84), (0.72, 0.69, 0.65))


def label_depths(sheet: Sheet, *, result: Result, shape: Block, where: Any) -> None:
    """Name all layers and write their depths beside the far right edge, thin ones too."""
    length = length_unit(result.units)
    x1, y1 = shape.high
    bounds = layer_bounds(result, shape=shape)
    texts, depths, bold = ["surface"], [0.0], [False]
    for k, (top, bottom) in enumerate(bounds):
        values = layer_values(result.solution.soil, k)
        texts += [f"{value} Ω·m" for value in values]
        texts.append(f"{about(bottom * length.factor)} {length.symbol}")
        depths += [*[(top + bottom) / 2] * len(values), bottom]
        bold += [*[True] * len(values), False]
    edge = where([(x1, y1, -depth) for depth in depths])
    low, high = scene_view.bottom, scene_view.top
    room = np.full(len(texts), 1.25 * small_type / (high - low))
    # From the top down; each is joined to the depth it is of.
    places = high - spread_out((high - edge[:, 1]) / (high - low), room) * (high - low)
    for text, (x, y), place, heavy in zip(texts, edge, places, bold, strict=True):
        moved = abs(place - y) > 2
        leader = [(x, y), (x + 13, y), (x + 40, place)][: 3 if moved else 2]
        if not heavy or moved:
            sheet.path(leader)
        at = (float(x) + (46 if moved else 20), float(place))
        sheet.text(at, text, size=small_type, bold=heavy, anchor=(0, 0.5))


def label_bodies(sheet: Sheet, *, result: Result, shape: Block, where: Any) -> None:
    """Write the names of the bodies in the soil at their edges."""
    for body in result.solution.soil.bodies:
        lines = edges(body.shape, low=shape.low, high=shape.high, depth=shape.depth)
        if not lines:
            continue
        name = sheet.fit(f"{body.name}: {made_of(body)}", size=small_type, width=420)
        style: dict[str, Any] = {"size": small_type, "anchor": (0.5, 0.5)}
        for x, y in where(np.concatenate(lines)):
            box = sheet.text_box((x, y), name, **style)
            if scene_view.holds(box) and sheet.is_free(box):
                sheet.text(
                    (x, y),
                    name,
                    size=small_type,
                    anchor=(0.5, 0.5),
                    colour=body_colour,
                    backed=True,
                )
                break


def draw_panel(sheet: Sheet, *, result: Result, levels: Levels, leakage: LeakageBands) -> None:
    """Legends of potential and leakage, and the layers."""
    per_length = f"A/{length_unit(result.units).symbol}"
    densities = leakage.levels
    volts = scaled_unit(max(abs(levels.low), abs(levels.high)), symbol="V")
    amperes = scaled_unit(max(abs(densities.low), abs(densities.high)), symbol=per_length)
    legends = (
        ("Surface potential", levels, band_colours(levels.bands), volts),
        (leakage_name, densities, leakage.colours, amperes),
    )
    text = (
        "The wider the line, the more. Edged in white: behind the cut, seen through the soil."
    )
    if densities.low < 0:
        text += " Negative: current enters the metal."
    if has_plates(result):
        text += " Hatched: plates, theirs per length of their outline."
    words = sheet.wrap(text, size=small_type, width=_panel.width)
    layers = min(len(result.solution.soil.resistivity), _most_layers + 1)
    below = 34 + 1.35 * small_type * len(words) + 54 + _layer_line * layers
    tall = min(450.0, (_panel.height - below) / 2 - 44)
    y = _panel.top
    for title, chosen, colours, unit in legends:
        box = Box(_panel.left, y - tall, _panel.right, y)
        y = draw_bands(sheet, box=box, title=title, levels=chosen, colours=colours, unit=unit)
    y = sheet.paragraph((_panel.left, y + 10), text, size=small_type, width=_panel.width) - 16
    _draw_layers(sheet, result=result, top=y)


def label_groups(sheet: Sheet, *, result: Result, where: Any) -> None:
    """Write names at electrodes, where there are several, and all their rises below."""
    groups = range(len(result.group_names))
    elements = result.elements
    for group in groups if len(groups) > 1 else ():
        chosen = elements.middle[elements.group == group]
        chosen = chosen[np.lexsort((-chosen[:, 0], np.round(chosen[:, 1], 3)))]
        at = where(chosen[:1])[0]
        name = sheet.fit(result.group_names[group], size=small_type, width=300)
        for across, up in ((0, -26), (-26, 0), (26, 0), (0, 26), (-26, -40), (26, -60)):
            place = (float(at[0]) + across, float(at[1]) + up)
            anchor = (0.5 - 0.5 * np.sign(across), 0.5 - 0.5 * np.sign(up))
            box = sheet.text_box(place, name, size=small_type, bold=True, anchor=anchor)
            if sheet.is_free(box) and scene_view.holds(box):
                sheet.text(place, name, size=small_type, bold=True, anchor=anchor, backed=True)
                break
    title = sheet.text((60, 130), "Electrodes", size=plain_type, bold=True, anchor=(0, 1))
    left = title.right + 24
    text = ";  ".join(
        sheet.fit(result.group_names[group], size=plain_type, width=360)
        + group_state(result, group=group)
        for group in groups
    )
    lines = sheet.wrap(text, size=plain_type, width=scene_view.right - left)
    for k, line in enumerate(lines[:2]):
        more = " …" if k == 1 and len(lines) > 2 else ""
        sheet.text((left, 130 - 38 * k), line + more, size=plain_type, anchor=(0, 1))


def _draw_layers(sheet: Sheet, *, result: Result, top: float) -> None:
    """List the layers with their tints."""
    length = length_unit(result.units)
    soil = result.solution.soil
    # Beside two values each there is no room for their unit.
    title = "Soil, from the surface down" if soil.isotropic else "Soil from the top [Ω·m]"
    sheet.text(
        (_panel.left, top),
        title,
        size=plain_type,
        bold=True,
        anchor=(0, 1),
    )
    y = top - 54
    edges = [0.0, *soil.interface_depth]
    for k in range(len(soil.resistivity[:_most_layers])):
        swatch = Box(_panel.left, y - 13, _panel.left + 70, y + 13).corners()
        sheet.area(swatch[:4], colour=tints[k % len(tints)])
        sheet.path(swatch, width=1.5)
        span = [about(edge * length.factor) for edge in edges[k : k + 2]]
        depth = " to ".join(span) if len(span) == 2 else f"below {span[0]}"
        text = " ".join(layer_values(soil, k)) + (" Ω·m" if soil.isotropic else "")
        text += f", {depth} {length.symbol}" if len(soil.resistivity) > 1 else ""
        text = sheet.fit(text, size=plain_type, width=_panel.width - 84)
        sheet.text((_panel.left + 84, y), text, size=plain_type, anchor=(0, 0.5))
        y -= _layer_line
    if len(soil.resistivity) > _most_layers:
        text = f"and {len(soil.resistivity) - _most_layers} more below"
        sheet.text((_panel.left, y), text, size=plain_type, anchor=(0, 0.5))
