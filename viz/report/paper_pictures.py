"""Pictures for paper, where nothing answers to the pointer: all maps, the soil cut open."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import groupby, pairwise
from textwrap import shorten
from typing import Any

import numpy as np
from matplotlib.collections import LineCollection
from matplotlib.patches import Patch, PathPatch
from matplotlib.path import Path as Outline
from matplotlib.text import Text

from ...solver.model import Floats
from ...solver.results.result import Result
from ..canvas.figures import PictureFile, dashes, laid_out
from ..canvas.line_labels import label_lines
from ..canvas.sheet import small_type
from ..maps.contoured import Ring
from ..maps.plans import PlanMap
from ..scene.blocks import shown_block
from ..scene.scene import draw_scene
from ..wording import (
    Unit,
    between_samples,
    length_unit,
    scaled_unit,
    short,
    significant,
)
from ..words.text import Units, say
from .contents import Live, Picture
from .map_layers import map_layers
from .pictures import dots, draw_layout, draw_touchable, drawing

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
        file = PictureFile(f"scene.{ending}")
        drawn = result if units == result.units else replace(result, units=units)
        draw_scene(drawn, path=file, headed=False)
        return file.getvalue()

    caption = say(
        "Front half of the soil cut away{}. On top the surface potential, to {remote}, in "
        "bands; on the cut its lines. All metal is shown, behind the cut with a white edge, "
        "the darker and wider the more current per length leaks from it.",
        shown_block(result).stretch_words,
    )
    return Picture(draw, caption, type_size=small_type * 72 / dots)


def _maps(result: Result) -> Iterator[Picture]:
    for layer in map_layers(result):
        words = {
            "potential": "between each point of the surface and {remote}",
            "touch": "between that metal and a foot within reach of it; prospective, blank out "
            "of reach",
            "step": "between a foot at each point and one a pace away, in the worst direction; "
            "prospective",
        }
        plan: PlanMap = layer["plan"]
        caption = say("{}: ", layer["title"]) + say(
            words.get(
                layer["kind"],
                "prospective voltage over what is {permissible} on the ground at each point; "
                "bold line: the limit, hatched: not kept with the numerical error"
                f"{' and the voltage along the metal' if layer.get('uneven') else ''}",
            )
        )
        if plan.metal is not None:
            caption = caption + "; white in black: the metal touched"
        if plan.above is not None:
            caption = caption + f"; {plan.above.words}"
        if plan.outlines:
            caption = caption + "; dotted: edge of a surface layer"
        if plan.curve is not None:
            caption = caption + f"; white in black: {plan.curve_name}"
        for line in plan.levels:
            caption = caption + f"; dashes in black, {line.words}"
        width, height = np.subtract(*_view(plan)[::-1])
        # Two maps fit on a page, with axes, north and the key beside them.
        tall = float(np.clip(4.8 * height / width, 1.6, 3.1))
        size = (
            min(tall * width / height, 4.8) + 2.2,
            tall + (0.5 if result.north is None else 1.0),
        )
        joined = f". {between_samples}" if "pace" in layer else "."
        picture = drawing(_map_drawing(result, layer), size=size)
        yield Picture(picture, caption + joined, type_size=7.0)


def _view(plan: PlanMap) -> tuple[Floats, Floats]:
    """Corners of a map on paper: all of it, or what is within reach of a metal. [m]"""
    if plan.metal is None:
        return np.array(plan.low), np.array(plan.high)
    low, high = plan.contours.view(beside=0.5)
    return np.maximum(low, plan.low), np.minimum(high, plan.high)


def _map_drawing(result: Result, layer: dict[str, Any]) -> Callable[[Any, Units], None]:
    plan: PlanMap = layer["plan"]

    def draw(figure: Any, units: Units) -> None:
        axes = figure.add_subplot()
        factor = length_unit(units).factor
        unit = Unit(1.0, "%")
        if layer["unit"] != "%":
            levels = plan.contours.levels
            unit = scaled_unit(max(abs(levels.low), abs(levels.high)), symbol="V")
        lines = _draw_contours(axes, layer, factor=factor)
        draw_layout(axes, result=result, units=units, lean=True)
        low, high = (corner * factor for corner in _view(plan))
        axes.set_xlim(low[0], high[0])
        axes.set_ylim(low[1], high[1])
        for outline in plan.outlines:
            closed = np.concatenate([outline, outline[:1]]) * factor
            _stroke(axes, [closed], width=1.2, linestyle=(0, (1, 2)))
        if plan.metal is not None:
            draw_touchable(axes, plan.metal, factor=factor, scale=0.7)
        if plan.above is not None:
            _stroke(axes, list(plan.above.line * factor), width=0.8)
        if plan.curve is not None:
            _stroke(axes, list(plan.curve * factor), width=1.0, colours=("white", "black"))
        asked = [
            (level, [np.concatenate([one, one[:1]]) * factor for one in level.polygons])
            for level in plan.levels
        ]
        for number, (_, sides) in enumerate(asked):
            dash = dashes[1:][number % (len(dashes) - 1)]
            _stroke(axes, sides, width=1.1, colours=("white", "black"), linestyle=[dash])
        notes, feet = [], []
        if plan.worst is not None:
            feet = [np.array(plan.worst.feet)]
            text = f"{significant(plan.worst.value * unit.factor)} {unit.symbol}"
            notes = [_draw_worst(axes, feet[0] * factor, text=text)]
        bar = figure.legend(
            handles=_band_keys(layer["levels"], layer["colours"], unit=unit),
            loc="outside right upper",
            fontsize=8,
            frameon=False,
        )
        bar.set_alignment("left")
        places = np.concatenate([_rods(result), *feet]) * factor
        texts = [(shorten(level.name, 30, placeholder="…"), named) for level, named in asked]
        texts += [(f"{short(level * unit.factor)} {unit.symbol}", at) for level, at in lines]
        _label_levels(figure, axes, texts, clear_of=places, notes=notes)

    return draw


def _draw_contours(
    axes: Any, layer: dict[str, Any], *, factor: float
) -> list[tuple[float, list[Floats]]]:
    """Bands, lines between them and what is unsafe; gives each level with its lines."""
    found: list[tuple[float, list[Floats]]] = []
    contours = layer["plan"].contours
    for band, rings in groupby(contours.rings, key=lambda ring: ring.band):
        filled = list(rings)
        _fill(axes, filled, factor=factor, facecolor=layer["colours"][band])
        lines = [line * factor for ring in filled for line in ring.contours()]
        # What is below the lowest level is all of the map: it has an edge and no lines.
        if band and lines and band > contours.rings[0].band:
            axes.add_artist(LineCollection(lines, colors="0.25", linewidths=0.6))
            found.append((layer["levels"][band - 1], lines))
    if contours.unsafe:
        _fill(axes, contours.unsafe, factor=factor, facecolor="none", hatch="////")
    for level, lines in found:
        if level == layer["plan"].limit:
            _stroke(axes, lines, width=2.0)
    # The limit has a line of its own that needs no number.
    return [item for item in found if item[0] != layer["plan"].limit]


def _fill(axes: Any, rings: Sequence[Ring], *, factor: float, **style: Any) -> None:
    """Fill outlines; those that run clockwise are holes."""
    paths = [
        Outline(np.concatenate([ring.points, ring.points[:1]]) * factor, closed=True)
        for ring in rings
    ]
    # As an artist: how far a patch reaches, curve by curve, takes longer than to fill it.
    axes.add_artist(PathPatch(Outline.make_compound_path(*paths), linewidth=0, **style))


def _stroke(
    axes: Any,
    lines: Sequence[Floats],
    *,
    width: float,
    colours: tuple[str, str] = ("black", "white"),
    **style: Any,
) -> None:
    """A line in one of twice its width."""
    for colour, wide, more in zip(colours[::-1], (2 * width, width), ({}, style), strict=True):
        axes.add_artist(LineCollection(lines, colors=colour, linewidths=wide, **more))


def _rods(result: Result) -> Floats:
    """Plan places of metal that goes straight down, shape (n, 2). [m]"""
    metal = result.solution.conductors
    across = np.linalg.norm(metal.end[:, :2] - metal.start[:, :2], axis=1)
    return np.asarray(metal.start[(across < 1e-3) & ~metal.flat, :2])


def _label_levels(
    figure: Any, axes: Any, lines: Any, *, clear_of: Floats, notes: Sequence[Any]
) -> None:
    """Texts on the lines, clear of some places and of notes beside them."""
    laid_out(figure)
    axes.apply_aspect()  # only then have the axes their size
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
        taken=np.concatenate(taken),
        size=(frame.width / figure.dpi, frame.height / figure.dpi),
        type_size=7.0,
    )


def _draw_worst(axes: Any, feet: Floats, *, text: str) -> Any:
    """Ring round the worst place, with its value; gives the note."""
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
