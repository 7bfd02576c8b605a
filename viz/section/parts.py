"""What a vertical section is made of: bands, equipotentials, layers, metal, and their key."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from textwrap import shorten
from typing import Any

import numpy as np

from ...solver.bodies import Body
from ...solver.model import Floats
from ...solver.results.result import Result
from ..canvas.bodies import body_colour_name, cut_outlines, film_lines, hatch_of, inner_place
from ..canvas.figures import dashes, markers, spread_out
from ..canvas.legend import group_text
from ..canvas.levels import Levels, band_colours
from ..wording import Unit, about, length_unit, short, significant
from ..words.bodies import depths, made_of
from ..words.layers import layer_label
from ..words.lines import terminal_text
from ..words.text import say
from .plane import SectionPlane
from .samples import SectionMetal, SectionSamples


@dataclass(frozen=True)
class Quantity:
    """What a section shows in bands.

    Attributes
    ----------
    title : str
        Heading of its picture.
    name : str
        What it is.
    values : ndarray of float, shape (n,)
        At the samples of the section.
    levels : Levels
        That bound the bands.
    unit : Unit
        In which values are written.
    highest : str
        What is written at the upper end of the bands.
    """

    title: str
    name: str
    values: Floats
    levels: Levels
    unit: Unit
    highest: str = "highest"


_soft = "0.55"
_plane: dict[str, Any] = {"color": "black", "linewidth": 2.4, "linestyle": (0, (7, 3))}
_leader = {"arrowstyle": "-", "color": _soft, "linewidth": 1, "shrinkA": 2, "shrinkB": 0}
_text_height = 0.27  # of a line beside the plot [inch]


def draw_quantity(
    axes: Any, samples: SectionSamples, *, plane: SectionPlane, shown: Quantity, units: str
) -> Any:
    """Bands of a quantity on axes of one scale; gives the lines between them."""
    levels = shown.levels
    unit = length_unit(units)
    x, z = samples.flat.T * unit.factor
    edge = 1e-9 * max(levels.high - levels.low, abs(levels.high), 1e-30)
    bounds = [levels.low - edge, *levels.inner, levels.high + edge]
    from matplotlib.tri import Triangulation  # loads matplotlib

    mesh = (Triangulation(x, -z, samples.triangles), shown.values)
    bands = axes.tricontourf(
        *mesh, levels=bounds, colors=[tuple(colour) for colour in band_colours(levels.bands)]
    )
    bands.set_rasterized(True)  # flat areas of thousands of corners: a tenth of the size
    lines = None
    if len(levels.inner):
        lines = axes.tricontour(*mesh, levels=levels.inner, colors="0.2", linewidths=1.0)
    axes.set_xlim(plane.start * unit.factor, plane.end * unit.factor)
    axes.set_ylim(plane.depth * unit.factor, 0)
    for axis, low, high in (
        (axes.xaxis, *axes.get_xlim()),
        (axes.yaxis, 0.0, plane.depth * unit.factor),
    ):
        axis.set_ticks([at for at in axis.get_ticklocs() if low <= at <= high])
    axes.set_xlabel(f"Distance along the section [{unit.symbol}], to the same scale as depth")
    axes.set_ylabel(f"Depth [{unit.symbol}]")
    return lines


def draw_layers(
    axes: Any, result: Result, *, plane: SectionPlane, units: str, size: tuple[float, float]
) -> Floats:
    """Planes between layers, named beside the plot; gives places along them, shape (n, 2)."""
    unit, soil = length_unit(units), result.solution.soil
    depth = plane.depth
    planes = [float(d) for d in soil.interface_depth if d < depth]
    for edge in planes:
        axes.axhline(edge * unit.factor, **_plane)
    edges = [0.0, *planes, depth]
    middles = np.array([0.5 * (a + b) / depth for a, b in pairwise(edges)])
    room = np.full(len(middles), _text_height / size[1])
    for number, (middle, place) in enumerate(
        zip(middles, spread_out(middles, room), strict=True)
    ):
        text = layer_label(soil, number)
        if number < len(planes):
            text += f", to {about(planes[number] * unit.factor)} {unit.symbol}"
        axes.annotate(
            text, (1.0, 1 - middle), (1 + 0.45 / size[0], 1 - place),
            xycoords="axes fraction", textcoords="axes fraction", va="center", fontsize=14,
            arrowprops=_leader, annotation_clip=False,
        )  # fmt: skip
    along = np.linspace(plane.start, plane.end, 120)
    found = np.array([[x, edge] for edge in planes for x in along]).reshape(-1, 2)
    return np.asarray(found * unit.factor)


def draw_bodies(
    axes: Any, result: Result, *, plane: SectionPlane, units: str, size: tuple[float, float]
) -> Floats:
    """Bodies that the section cuts, hatched; gives places along them, shape (n, 2)."""
    factor = length_unit(units).factor
    found = [np.zeros((0, 2))]
    named: list[Floats] = []
    outer = {body.within for body in result.solution.soil.bodies}
    # Room for a name: as wide as some letters, as high as a line.
    room = np.array([plane.width / size[0], plane.depth / size[1]]) * [1.2, _text_height]
    for number, body, outline in cut_bodies(result, plane=plane):
        axes.fill(*(outline * factor).T, **_body_style(body, number))
        for side in film_lines(body, outline):
            axes.plot(*(side * factor).T, color=body_colour_name, linewidth=5, zorder=2)
        tall = float(np.ptp(outline[:, 1])) / plane.depth * size[1]
        inner, lowest = inner_place(outline), outline[:, 1].max()
        # Below what holds other bodies, or has no room for its name.
        full = body.name in outer or tall < 1.8 * _text_height
        full |= any((np.abs(inner - other) < room).all() for other in named)
        below = full and lowest < 0.9 * plane.depth
        place = np.array([inner[0], lowest if below else inner[1]])
        named.append(place)
        place = place * factor
        axes.text(
            *place, shorten(body.name, 30, placeholder=" …"), ha="center",
            va="top" if below else "center",
            fontsize=13, color=body_colour_name, clip_on=True, zorder=6,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.5, "alpha": 0.85},
        )  # fmt: skip
        found += [outline * factor, place[None]]
    return np.concatenate(found)


def cut_bodies(result: Result, *, plane: SectionPlane) -> Iterator[tuple[int, Body, Floats]]:
    """Number, body and outline in (distance, depth) of all that a section cuts. [m]"""
    for number, body in enumerate(result.solution.soil.bodies):
        for outline in cut_outlines(
            body.shape,
            origin=plane.origin,
            direction=plane.direction,
            start=plane.start,
            end=plane.end,
            depth=plane.depth,
        ):
            yield number, body, outline


def _body_style(body: Body, number: int) -> dict[str, Any]:
    return {
        # In a void no soil has a potential: it covers bands and their lines.
        "facecolor": "white" if body.void else "none",
        "zorder": 3 if body.void else 1,
        "edgecolor": body_colour_name,
        "hatch": hatch_of(body, number=number),
        "linewidth": 2.0,
        "linestyle": (0, (8, 3, 2, 3)),
    }


def draw_metal(axes: Any, metal: SectionMetal, *, units: str) -> Floats:
    """Metal that the section meets; gives the places it is drawn at, shape (n, 2)."""
    factor = length_unit(units).factor
    flip = np.array([factor, -factor])
    for line, group, inside in zip(metal.lines, metal.line_group, metal.inside, strict=True):
        style = {"linestyle": dashes[group % len(dashes)], "solid_capstyle": "butt"}
        axes.plot(*(line * flip).T, color="white", linewidth=7 if inside else 4)
        axes.plot(*(line * flip).T, color="black", linewidth=4.5 if inside else 1.8, **style)
    for place, group in zip(metal.crossings, metal.crossing_group, strict=True):
        axes.plot(
            *(place * flip), marker=markers[group % len(markers)], markersize=9, color="black",
            markeredgecolor="white", clip_on=False, zorder=5,
        )  # fmt: skip
    along = metal.lines[:, :1] + np.linspace(0, 1, 20)[:, None] * np.diff(metal.lines, axis=1)
    return np.concatenate([metal.crossings, along.reshape(-1, 2)]) * flip


def draw_bands(bar: Any, *, shown: Quantity, across: float) -> None:
    """Colours of the bands in a row, the levels between them below."""
    levels, unit = shown.levels, shown.unit
    count = levels.bands
    for number, colour in enumerate(band_colours(count)):
        bar.axvspan(number, number + 1, facecolor=tuple(colour), edgecolor="0.3", linewidth=1)
    bar.set_xlim(0, count)
    bar.set_yticks([])
    numbers = [short(value * unit.factor) for value in levels.inner]
    ends = [significant(value * unit.factor) for value in (levels.low, levels.high)]
    texts = [f"{ends[0]}\nlowest", *numbers, f"{ends[1]}\n{shown.highest}"]
    # About 0.13 inch a figure; where they would touch, every second or third is written.
    stride = int(np.ceil(0.14 * (2 + max(map(len, numbers), default=0)) * count / across))
    places = [k for k in range(count + 1) if k in (0, count) or k % stride == 0]
    places = [k for k in places if k in (0, count) or count - k >= 1.0 * stride]
    bar.set_xticks(places, [texts[k] for k in places], fontsize=14)
    bar.set_title(f"{shown.name} [{unit.symbol}]", loc="left", fontsize=15, pad=6)


def key_entries(
    result: Result, *, metal: SectionMetal, plane: SectionPlane, units: str
) -> Iterator[Any]:
    """Legend entries: each electrode that is met, and how metal, layers, bodies are drawn."""
    from matplotlib.lines import Line2D  # loads matplotlib
    from matplotlib.patches import Patch

    unit = length_unit(units)
    near = f"{about(plane.near * unit.factor)} {unit.symbol}"
    for group in sorted({*metal.crossing_group.tolist(), *metal.line_group.tolist()}):
        number = group % len(dashes)
        text = shorten(group_text(result, group=group), 70, placeholder=" …")
        style = {"linestyle": dashes[number], "linewidth": 3, "color": "black"}
        if (metal.crossing_group == group).any():
            style |= {"marker": markers[number], "markersize": 9}
        yield Line2D([], [], label=f"electrode {text}", **style)
    looks: list[tuple[str, dict[str, Any]]] = []
    if metal.inside.any():
        looks.append(("metal in the section", {"linewidth": 4.5}))
    if not metal.inside.all():
        looks.append((f"metal up to {near} beside it", {"linewidth": 1.8}))
    if len(metal.crossings):
        through = {"linestyle": "none", "marker": markers[0], "markersize": 9}
        looks.append(("metal that goes through it", through))
    if not looks:
        looks.append((f"no metal in the section or within {near} of it", {"linestyle": "none"}))
    for text, style in looks:
        yield Line2D([], [], color="black", label=text, **style)
    if len(result.solution.soil.thickness):
        yield Line2D([], [], label="plane between layers", **_plane)
    met = {number: body for number, body, _ in cut_bodies(result, plane=plane)}
    for number, body in met.items():
        words = terminal_text(say("{}, {}", made_of(body), depths(body)), units=units)
        name = shorten(body.name, 40, placeholder=" …")
        yield Patch(label=f"{name}: {words}", **_body_style(body, number))
