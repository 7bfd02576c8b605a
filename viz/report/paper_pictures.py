"""Pictures for paper, where nothing answers to the pointer: all maps, the soil cut open."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from ...solver.exposure.places import TouchableMetal, inside
from ...solver.model import Floats
from ...solver.results.result import Result
from ..canvas.figures import dashes
from ..canvas.line_labels import label_lines
from ..scene.blocks import shown_block
from ..wording import (
    Unit,
    between_samples,
    length_unit,
    scaled_unit,
    short,
    significant,
    with_unit,
)
from .contents import Live, Picture
from .map_layers import map_layers, map_marks, step_outline
from .pictures import draw_layout, drawing
from .text import Units, say

_raster = 260  # points along the longer side
_red = "#96140c"


def paper_pictures(live: Live, *, result: Result) -> Iterator[Picture]:
    """What stands on paper for a picture that the page draws itself.

    Parameters
    ----------
    live : Live
        Map or scene.
    result : Result
        Of the case as it stands: variants are on the page.
    """
    if live.name == "map":
        yield from _maps(result)
    else:
        yield _scene(result)


def _scene(result: Result) -> Picture:
    """The soil cut open, from a side that shows the section and most of the metal."""

    def draw(units: Units, ending: str) -> bytes:
        from ..scene.scene import draw_scene

        with TemporaryDirectory() as folder:
            path = Path(folder) / f"scene.{ending}"
            return draw_scene(
                replace(result, units=units), path=path, headed=False
            ).read_bytes()

    caption = say(
        "Front half of the soil cut away{}. On top the surface potential, to {remote}, in "
        "bands; on the cut its lines; metal in the colours of the current per length it lets "
        "out.",
        shown_block(result).stretch_words,
    )
    return Picture(draw, caption)


def _maps(result: Result) -> Iterator[Picture]:
    from matplotlib.tri import LinearTriInterpolator, Triangulation

    surface = result.surface
    triangles = Triangulation(surface.places[:, 0], surface.places[:, 1], surface.triangles)
    finder = triangles.get_trifinder()
    layers = {layer["key"]: layer for layer in map_layers(result)}
    metals = {metal.name: metal for metal in result.metals}
    judged = {item.name: item for item in (result.verdict.judgements if result.verdict else ())}
    for layer in layers.values():
        touched = layers[layer["of"]] if "of" in layer else layer
        metal = metals[touched["metal"]["name"]] if "metal" in touched else None
        x, y = _raster_over(result, metal=metal)
        found = LinearTriInterpolator(triangles, touched["values"], trifinder=finder)(x, y)
        values = np.ma.filled(found, np.nan)
        places = np.column_stack([x.ravel(), y.ravel()])
        if "of" in layer:
            limit = judged[layer["name"]].permissible(places).reshape(x.shape)
            values = 100 * layer["factor"] * values / limit
        shown = np.ones(len(places), dtype=bool)
        if metal is not None:
            shown &= metal.within_reach(places)
        if layer.get("outline") is not None:
            shown &= inside(places, outline=np.array(layer["outline"]))
        values = np.where(shown.reshape(x.shape), values, np.nan)
        if np.isfinite(values).any():
            yield _map(result, layer, x=x, y=y, values=values, metal=metal)


def _raster_over(result: Result, *, metal: TouchableMetal | None) -> tuple[Floats, Floats]:
    """Raster over the mapped area, or over what is within reach of a metal. [m]"""
    low, high = np.array(result.area.low), np.array(result.area.high)
    if metal is not None:
        margin = metal.reach + 0.5
        low = np.maximum(low, metal.vertices.min(axis=0) - margin)
        high = np.minimum(high, metal.vertices.max(axis=0) + margin)
    counts = np.maximum(2, np.round(_raster * (high - low) / (high - low).max())).astype(int)
    # Just inside the frame, where every point has a triangle round it.
    edge = 1e-6 * (high - low)
    ends = zip(low + edge, high - edge, counts, strict=True)
    x, y = np.meshgrid(*(np.linspace(a, b, n) for a, b, n in ends))
    return x, y


def _map(
    result: Result,
    layer: dict[str, Any],
    *,
    x: Floats,
    y: Floats,
    values: Floats,
    metal: TouchableMetal | None,
) -> Picture:
    words = {
        "potential": "between each point of the surface and {remote}",
        "touch": "between that metal and a foot within reach of it; prospective, blank out of "
        "reach",
        "step": "between a foot at each point and one a pace away, in the worst direction; "
        "prospective",
    }
    caption = say("{}: ", layer["title"]) + say(
        words.get(
            layer["kind"],
            "prospective voltage over what is {permissible} on the ground at each point; thick "
            "line: the limit, hatched: above it",
        )
    )
    outline = step_outline(result)
    if "pace" in layer and outline is not None:
        volts = with_unit(outline.voltage, symbol="V")
        caption = caption + f"; bold line: outside it every step is below {volts}"
    width, height = float(np.ptp(x)), float(np.ptp(y))
    # Two maps fit on a page, with axes, north and the key beside them.
    tall = float(np.clip(4.8 * height / width, 1.6, 3.1))
    size = (
        min(tall * width / height, 4.8) + 2.2,
        tall + (0.5 if result.north is None else 1.0),
    )
    draw = _map_drawing(result, layer, x=x, y=y, values=values, metal=metal)
    joined = f". {between_samples}" if "pace" in layer else "."
    return Picture(drawing(draw, size=size), caption + joined)


def _map_drawing(
    result: Result,
    layer: dict[str, Any],
    *,
    x: Floats,
    y: Floats,
    values: Floats,
    metal: TouchableMetal | None,
) -> Callable[[Any, Units], None]:
    def draw(figure: Any, units: Units) -> None:
        axes = figure.add_subplot()
        factor = length_unit(units).factor
        marks = [mark for mark in map_marks(result) if mark["layer"] == layer["key"]]
        levels, colours = layer["levels"], layer["colours"]
        # A raster may miss the worst place, and what is above the last level.
        shown = [float(np.nanmin(values)), float(np.nanmax(values)), *levels]
        low, high = min(shown), max([*shown, *(mark["value"] for mark in marks)])
        unit = Unit(1.0, "%")
        if layer["unit"] != "%":
            unit = scaled_unit(max(abs(low), abs(high)), symbol="V")
        bounds = [low - 1e-9 * abs(low) - 1e-30, *levels, high + 1e-9 * abs(high) + 1e-30]
        place = (x * factor, y * factor)
        axes.contourf(*place, values, levels=bounds, colors=colours)
        inner = [level for level in levels if np.nanmin(values) < level < np.nanmax(values)]
        lines = None
        if inner:
            lines = axes.contour(*place, values, levels=inner, colors="0.25", linewidths=0.6)
        if layer["unit"] == "%" and high > 100:
            axes.contourf(
                *place, values, levels=[100.0, high + 1], colors="none", hatches=["////"]
            )
            axes.contour(*place, values, levels=[100.0], colors=_red, linewidths=2)
        draw_layout(axes, result=result, units=units, lean=True)
        axes.set_xlim(place[0].min(), place[0].max())
        axes.set_ylim(place[1].min(), place[1].max())
        if metal is not None and metal.kind != "points":
            corners = metal.vertices * factor
            if metal.closed:
                corners = np.concatenate([corners, corners[:1]])
            axes.plot(*corners.T, color="#7a0f5e", linewidth=1.4, linestyle=dashes[1])
        outline = step_outline(result)
        if "pace" in layer and outline is not None:
            _draw_step_outline(axes, outline.segments * factor)
        notes = [
            _draw_worst(
                axes,
                mark,
                factor=factor,
                text=f"{significant(mark['value'] * unit.factor)} {unit.symbol}",
            )
            for mark in marks
        ]
        bar = figure.legend(
            handles=_band_keys(levels, colours, unit=unit),
            loc="outside right upper",
            fontsize=8,
            frameon=False,
        )
        bar.set_alignment("left")
        if lines is not None:
            feet = [np.array(mark["feet"]) for mark in marks]
            places = np.concatenate([_rods(result), *feet]) * factor
            _label_levels(figure, axes, lines, unit=unit, clear_of=places, notes=notes)

    return draw


def _rods(result: Result) -> Floats:
    """Plan places of metal that goes straight down, shape (n, 2). [m]"""
    metal = result.solution.conductors
    across = np.linalg.norm(metal.end[:, :2] - metal.start[:, :2], axis=1)
    return np.asarray(metal.start[across < 1e-3, :2])


def _draw_step_outline(axes: Any, segments: Floats) -> None:
    from matplotlib.collections import LineCollection

    for colour, width in (("white", 3.6), ("black", 1.8)):
        axes.add_collection(LineCollection(list(segments), colors=colour, linewidths=width))


def _label_levels(
    figure: Any, axes: Any, lines: Any, *, unit: Unit, clear_of: Floats, notes: Sequence[Any]
) -> None:
    """Values on the lines, clear of some places and of notes beside them."""
    from matplotlib.text import Text

    figure.draw_without_rendering()  # only then have the axes their size
    taken = [clear_of]
    for note in notes:
        box = Text.get_window_extent(note)  # that of a note would hold its arrow too
        x, y = np.meshgrid(np.linspace(box.x0, box.x1, 12), np.linspace(box.y0, box.y1, 3))
        pixels = np.column_stack([x.ravel(), y.ravel()])
        taken.append(axes.transData.inverted().transform(pixels))
    frame = axes.get_window_extent()
    label_lines(
        axes,
        lines,
        text_of=lambda level: f"{short(level * unit.factor)} {unit.symbol}",
        taken=np.concatenate(taken),
        size=(frame.width / figure.dpi, frame.height / figure.dpi),
        type_size=7.0,
    )


def _draw_worst(axes: Any, mark: dict[str, Any], *, factor: float, text: str) -> Any:
    """Ring round the worst place, with its value; gives the note."""
    feet = np.array(mark["feet"]) * factor
    axes.plot(*feet.T, "o-", color=_red, markerfacecolor="none", markersize=9, mew=1.8)
    box = {"boxstyle": "square,pad=0.2", "facecolor": "white", "edgecolor": _red}
    style = {"fontsize": 8, "color": _red, "bbox": box, "zorder": 9}
    # Towards the middle, so that it is not cut off.
    middle = np.array([np.mean(axes.get_xlim()), np.mean(axes.get_ylim())])
    side, up = np.sign(middle - feet[0])
    where = {"ha": "left" if side >= 0 else "right", "va": "center"}
    return axes.annotate(
        f"worst {text}",
        feet[0],
        (12 * (side or 1), 9 * up),
        textcoords="offset points",
        **where,
        **style,
    )


def _band_keys(levels: Sequence[float], colours: Sequence[str], *, unit: Unit) -> list[Any]:
    """Legend entries of the bands, highest on top, in the words of the page."""
    from matplotlib.patches import Patch

    at = [short(float(f"{level * unit.factor:.3g}")) for level in levels]
    if not levels:
        return [Patch(facecolor=colours[0], edgecolor="0.4", label="one value")]
    texts = [f"below {at[0]} {unit.symbol}"]
    texts += [f"{low} to {high} {unit.symbol}" for low, high in pairwise(at)]
    texts.append(f"{at[-1]} {unit.symbol} and above")
    entries = [
        Patch(facecolor=colour, edgecolor="0.4", label=text)
        for colour, text in zip(colours, texts, strict=True)
    ]
    return entries[::-1]
