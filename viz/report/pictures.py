"""Line drawings of a report, once in metres and once in feet."""

from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from io import BytesIO
from typing import Any

import numpy as np

from ...solver.exposure.places import TouchableMetal
from ...solver.model import Floats
from ...solver.results.along_metal import AlongTold
from ...solver.results.result import Profile, Result
from ...solver.results.variants import Comparison
from ...solver.soil_survey import Sounding
from ..along_metal import along_figure
from ..canvas.bodies import body_colour_name, hatch_of, plan_outline
from ..canvas.figures import dashes, figure_style, laid_out, markers, save_figure
from ..canvas.hatching import light_left
from ..canvas.north import north_in, north_text
from ..plates import as_lines
from ..profiles import profile_figure
from ..raised import draw_raised
from ..section.deciding import deciding_figure
from ..section.plane import section_plane
from ..section.section import section_figure, section_of
from ..soil_survey.from_sounding import sounding_picture
from ..soil_survey.picture import curve_figure, layer_figure
from ..variants import comparison_figure
from ..wording import length_unit
from ..words.bodies import depths, made_of
from ..words.text import Units, in_units, say
from .contents import Cell, Picture

_style = {**figure_style, "font.size": 10, "axes.titlesize": 11, "axes.linewidth": 0.8}
dots = 300
"""Of pictures on paper. [1/inch]"""
_soft = "0.55"
_edge = 0.1  # of white round a drawing [inch]


def drawing(
    draw: Callable[[Any, Units], None], *, size: tuple[float, float]
) -> Callable[[Units, str], bytes]:
    """What gives a drawing as SVG or PNG in either unit system.

    Parameters
    ----------
    draw : callable
        Draws into a matplotlib figure in the units it is given.
    size : tuple of float, length 2
        Inches.
    """

    @lru_cache(1)  # to be saved as one kind and then as another
    def figure_of(units: Units) -> tuple[Any, Any]:
        from matplotlib.figure import Figure  # no pyplot: nothing global, no window

        figure = Figure(figsize=size, dpi=dots, facecolor="white", layout="constrained")
        draw(figure, units)
        box = laid_out(figure).get_tightbbox()
        return figure, box.padded(_edge)

    def rendered(units: Units, ending: str) -> bytes:
        import matplotlib as mpl  # loads matplotlib

        with mpl.rc_context(_style):
            file = BytesIO()
            figure, box = figure_of(units)
            save_figure(figure, file, ending=ending, dpi=dots, bbox_inches=box)
        return file.getvalue()

    return rendered


def figure_picture(figure_of: Callable[[Units], Any], caption: Cell) -> Picture:
    """A figure of the folders of pictures, as a page shows it.

    Parameters
    ----------
    figure_of : callable
        Gives a matplotlib figure in a unit system.
    """
    latest = lru_cache(1)(figure_of)  # to be saved as one kind and then as another

    def rendered(units: Units, ending: str) -> bytes:
        import matplotlib as mpl  # loads matplotlib

        with mpl.rc_context(figure_style):
            file = BytesIO()
            save_figure(latest(units), file, ending=ending, dpi=0.6 * dots)  # for 7.2 inches
        return file.getvalue()

    return Picture(rendered, caption, type_size=7.5)  # 12.5 at the width of a figure


def layout_picture(result: Result) -> Picture:
    """Plan of the metal in the soil, what can be touched, surface layers, profiles."""
    width, height = np.subtract(result.area.high, result.area.low)
    # No higher than half a page, which then has room for the verdict too.
    tall = float(np.clip(6.4 * height / width, 2.2, 4.6))

    def draw(figure: Any, units: Units) -> None:
        axes = figure.add_subplot()
        draw_layout(axes, result=result, units=units)
        figure.legend(loc="outside lower center", ncols=2, fontsize=9, frameon=False)

    where = "y points up; whether that is north the case does not say."
    if result.north is not None:
        where = f"y points up; {north_text(result.north)}."
    caption = f"Plan. Dots are rods or other metal that goes straight down. {where}"
    return Picture(drawing(draw, size=(7.0, tall + 1.0)), caption, type_size=9.0)


def draw_layout(axes: Any, *, result: Result, units: Units, lean: bool = False) -> None:
    """Draw the plan into axes.

    Parameters
    ----------
    units : {"SI", "US"}
        Metres or feet.
    lean : bool, default False
        Metal in the soil only, as on a map.
    """
    unit = length_unit(units)
    low, high = (
        np.array(corner) * unit.factor for corner in (result.area.low, result.area.high)
    )
    _draw_ground(axes, result, unit.factor)
    _draw_underlay(axes, result, unit.factor, lean=lean)
    _draw_metal(axes, result, unit.factor, lean=lean)
    draw_raised(axes, result, unit.factor, named=not lean)
    if not lean:
        _surroundings(axes, result, unit.factor)
        corners = np.array([low, [high[0], low[1]], high, [low[0], high[1]], low])
        axes.plot(
            *corners.T, color=_soft, linewidth=1, linestyle=dashes[2], label="mapped area"
        )
        metal = result.solution.conductors
        ends = np.concatenate([metal.start, metal.end])[:, :2] * unit.factor
        edge, half = 0.04 * (high - low), 0.5 * (high - low)
        # A profile may lead far out of the map; then its line is cut.
        lines = [profile.points[[0, -1], :2] * unit.factor for profile in result.profiles]
        ends = np.concatenate(
            [ends, *(np.clip(line, low - half, high + half) for line in lines)]
        )
        low, high = np.minimum(low, ends.min(axis=0)), np.maximum(high, ends.max(axis=0))
        low, high = low - edge, high + edge
    axes.set_aspect("equal")
    axes.set_xlim(low[0], high[0])
    axes.set_ylim(low[1], high[1])
    if not lean:
        _draw_bodies(axes, result, units)
    axes.set_xlabel(f"x [{unit.symbol}]")
    axes.set_ylabel(f"y [{unit.symbol}]")
    if result.north is not None:
        north_in(axes, north=result.north)


def _draw_metal(axes: Any, result: Result, factor: float, *, lean: bool) -> None:
    """Electrodes as lines, or dots where they go straight down; named unless lean."""
    metal = as_lines(result.solution.conductors)
    for group, name in enumerate(result.group_names):
        mine = metal.group == group
        start, end = metal.start[mine, :2] * factor, metal.end[mine, :2] * factor
        flat = np.linalg.norm(end - start, axis=1) > 0.02 * metal.length[mine] * factor
        start, end = start[flat | ~metal.flat[mine]], end[flat | ~metal.flat[mine]]
        flat = flat[flat | ~metal.flat[mine]]
        label = None if lean else f"electrode: {name}"
        if flat.any():
            style = {"linewidth": 0.8 if lean else 1.4, "linestyle": dashes[group % 5]}
            axes.plot(*_polyline(start[flat], end[flat]), color="black", label=label, **style)
            label = None
        if (~flat).any():
            marker, size = markers[group % 5], 2.5 if lean else 5
            style = {"markersize": size, "linestyle": ""}
            axes.plot(*start[~flat].T, marker, color="black", label=label, **style)


def _draw_ground(axes: Any, result: Result, factor: float) -> None:
    """Picture of the ground: black that lets through what it leaves of the light."""
    picture = result.ground_picture
    if picture is None:
        return
    shade = np.zeros((*picture.grey.shape, 4), dtype=np.uint8)
    shade[:, :, 3] = np.round(255 * (1 - light_left(picture, picture.grey)))
    (left, bottom), (right, top) = (
        np.multiply(corner, factor) for corner in (picture.low, picture.high)
    )
    # Over the bands of a map, below its lines.
    axes.imshow(shade, extent=(left, right, bottom, top), interpolation="none", zorder=1.2)


def _draw_underlay(axes: Any, result: Result, factor: float, *, lean: bool) -> None:
    """Lines of the drawing of the case, grey with white beside it; named unless lean."""
    if result.underlay is None or not len(result.underlay):
        return
    line = _polyline(*np.moveaxis(result.underlay * factor, 1, 0))
    axes.plot(*line, color="white", linewidth=1.6, zorder=1.5)
    label = None if lean else "lines of the drawing"
    axes.plot(*line, color="0.5", linewidth=0.7, zorder=1.5, label=label)


def _polyline(start: Floats, end: Floats) -> Floats:
    """Pieces as one line with gaps, shape (2, 3 n)."""
    gap = np.full_like(start, np.nan)
    return np.stack([start, end, gap], axis=1).reshape(-1, 2).T


def _draw_bodies(axes: Any, result: Result, units: Units) -> None:
    """Bodies in the soil in what is shown so far: outline, hatching, name."""
    factor = length_unit(units).factor
    low, high = np.array([axes.get_xlim(), axes.get_ylim()]).T / factor
    for number, body in enumerate(result.solution.soil.bodies):
        outline = plan_outline(body.shape, low=low, high=high)
        if not len(outline):
            continue
        words = say("{}, in the soil: {}, {}", body.name, made_of(body), depths(body))
        axes.fill(
            *(outline * factor).T,
            facecolor="none",
            edgecolor=body_colour_name,
            hatch=hatch_of(body, number=number),
            linewidth=1.2,
            linestyle=(0, (8, 3, 2, 3)),
            label=words.plain(units=units, vocabulary="earth"),
            zorder=0.5,
        )


def _surroundings(axes: Any, result: Result, factor: float) -> None:
    """Surface layers, metal that can be touched, and profiles."""
    grounds: dict[str, Floats] = {}
    for item in result.verdict.judgements if result.verdict else ():
        grounds |= {g.name: g.outline for g in item.grounds if g.outline is not None}
    for number, (name, outline) in enumerate(grounds.items()):
        axes.fill(
            *(outline * factor).T,
            facecolor="0.93",
            edgecolor="0.7",
            hatch=("..", "//", "\\\\", "xx")[number % 4],
            linewidth=0.8,
            label=f"surface: {name}",
            zorder=0,
        )
    for number, metal in enumerate(result.metals):
        label = f"can be touched: {metal.name}"
        draw_touchable(axes, metal, factor=factor, number=number, label=label)
    for profile in result.profiles:
        ends = profile.points[[0, -1], :2] * factor
        arrow = axes.annotate(
            "",
            xy=ends[1],
            xytext=ends[0],
            arrowprops={"arrowstyle": "->", "color": "#1b4f8a", "linewidth": 1.2},
            annotation_clip=False,
        )
        arrow.arrow_patch.set_clip_path(axes.patch)  # a line may lead out of the map
        axes.plot(*ends.T, color="#1b4f8a", linewidth=0.8, label=f"profile: {profile.name}")


def draw_touchable(
    axes: Any,
    metal: TouchableMetal,
    *,
    factor: float,
    scale: float = 1.0,
    number: int = 0,
    label: str | None = None,
) -> None:
    """Metal that can be touched, as on all maps: white in black; dashes tell several apart."""
    from matplotlib.patheffects import Normal, Stroke  # loads matplotlib

    corners = metal.vertices * factor
    casing, core = 3.2 * scale, 1.4 * scale
    if metal.kind == "points":
        style: dict[str, Any] = {"markersize": 7, "linestyle": "", "markerfacecolor": "none"}
        axes.plot(*corners.T, "s", color="black", mew=casing, label=label, **style)
        axes.plot(*corners.T, "s", color="white", mew=core, **style)
        return
    if metal.closed:
        corners = np.concatenate([corners, corners[:1]])
    axes.plot(*corners.T, color="black", linewidth=casing)
    dash = dashes[number % len(dashes)]
    (line,) = axes.plot(*corners.T, color="white", linewidth=core, linestyle=dash, label=label)
    line.set_path_effects([Stroke(linewidth=casing, foreground="black"), Normal()])


def comparison_picture(compared: Comparison) -> Picture:
    """The case and its variants side by side."""
    caption = "The case and its variants side by side, from zero; filled and bold: the worst."
    picture = figure_picture(lambda units: comparison_figure(compared), caption)
    once = lru_cache(lambda ending: picture.draw("SI", ending))  # it has no lengths
    return replace(picture, draw=lambda units, ending: once(ending))


def section_picture(result: Result) -> Picture:
    """Potential in a vertical section, with the layers and the metal it meets."""
    section = section_of(result)

    def figure_of(units: Units) -> Any:
        return section_figure(result, section=section, units=units)

    caption = say(
        "Vertical section. {} Lines join points of equal potential to {remote}; metal is drawn "
        "where it lies in the section or near it.",
        in_units(section.plane.words),
    )
    return figure_picture(figure_of, caption)


def deciding_picture(result: Result) -> Picture:
    """Where in a vertical section the resistance comes from."""

    def figure_of(units: Units) -> Any:
        return deciding_figure(result, units=units)

    caption = say(
        "Where the resistance comes from. {} The soil takes the larger a share of all power, "
        "and decides the resistance the more, the lighter the band.",
        in_units(section_plane(result).words),
    )
    return figure_picture(figure_of, caption)


def sounding_pictures(result: Result, sounding: Sounding) -> tuple[Picture, Picture]:
    """The sounding with its curve and residuals, and the layers."""

    def figure_by(draw: Callable[..., Any]) -> Callable[[Units], Any]:
        return lambda units: draw(sounding_picture(sounding, title=result.title, units=units))

    return (
        figure_picture(
            figure_by(curve_figure), "Readings and fitted curves, what is left of each reading."
        ),
        figure_picture(figure_by(layer_figure), "Layers and their range."),
    )


def along_picture(result: Result, *, told: AlongTold) -> Picture:
    """Voltage and current along the metal."""

    def figure_of(units: Units) -> Any:
        return along_figure(result, told=told, units=units)

    caption = say(
        "Metal in plan, coloured by its voltage to {remote} and the wider the more current is "
        "along it, with the largest (▲) and smallest (▼) {rise} of each {electrode}; below it "
        "voltage and current along the parts whose voltage differs most."
    )
    return figure_picture(figure_of, caption)


def profile_picture(result: Result, profile: Profile) -> Picture:
    """Potential along a line, and the voltages a person meets there with their limits."""

    def figure_of(units: Units) -> Any:
        return profile_figure(result, profile=profile, units=units)

    words = "Potential of the soil along the line to {remote}"
    if (profile.points[:, 2] == 0).all():
        words += "; below it the touch voltage, thick where metal can be reached, and the step "
        words += "voltage, with what is {permissible} for those who may stand there"
    caption = say("Profile '{}'. " + words + ". Prospective voltages.", profile.name)
    return figure_picture(figure_of, caption)
