"""Vertical section: potential in the soil below a line, with the layers and the metal."""

from dataclasses import dataclass
from pathlib import Path
from textwrap import shorten
from typing import Any

import numpy as np

from ..solver.result import Result
from .figures import figure_style, save_figure
from .levels import contour_levels
from .line_labels import label_lines
from .section_parts import (
    draw_bands,
    draw_layers,
    draw_metal,
    draw_potential,
    key_entries,
)
from .section_plane import SectionPlane, section_plane
from .section_samples import SectionMetal, SectionSamples, section_metal, section_samples
from .wording import footer, scaled_unit, short

_grey = "0.35"
# Room round the plot. [inch]
_left, _right, _line = 1.1, 2.75, 0.31
_heading, _no_heading = 2.1, 0.3


@dataclass(frozen=True)
class Section:
    """A vertical section of a result, ready to be drawn in either unit system."""

    plane: SectionPlane
    metal: SectionMetal
    samples: SectionSamples


def section_of(result: Result) -> Section:
    """The vertical section that shows most of a result; see `section_plane`.

    Parameters
    ----------
    result : Result
        What to cut through.
    """
    plane = section_plane(result)
    metal, samples = (
        section_metal(result, plane=plane),
        section_samples(result, plane=plane),
    )
    return Section(plane, metal, samples)


def draw_section(result: Result, *, section: Section, path: Path) -> Path:
    """Draw a section.

    Parameters
    ----------
    result : Result
        For the layers, the names of the electrodes and units.
    section : Section
        What `section_of` gave.
    path : Path
        File to write; its ending, .png or .svg, says which kind.

    Returns
    -------
    path : Path
    """
    import matplotlib as mpl

    with mpl.rc_context(figure_style):
        figure = section_figure(result, section=section, units=result.units)
        save_figure(figure, path, ending=path.suffix[1:])
    return path


def section_figure(
    result: Result,
    *,
    section: Section,
    units: str,
    width: float = 20.0,
    headed: bool = True,
) -> Any:
    """Figure of a section, for `draw_section` and for pages.

    Parameters
    ----------
    result, section
        As for `draw_section`.
    units : {"SI", "US"}
        Of lengths.
    width : float
        Of the figure. [inch]
    headed : bool
        Whether title, place and footer stand on it; a page has its own.
    """
    from matplotlib.figure import Figure  # no pyplot: nothing global, no window

    plane = section.plane
    across = width - _left - _right
    down = across * plane.depth / plane.width
    notes = list(key_entries(result, metal=section.metal, plane=plane, units=units))
    top = _heading if headed else _no_heading
    below = 2.35 + _line * len(notes) + (0.6 if headed else 0.05)
    height = top + down + below
    figure = Figure(figsize=(width, height), dpi=100, facecolor="white")
    axes = figure.add_axes((_left / width, below / height, across / width, down / height))
    levels = contour_levels(section.samples.potential, weights=section.samples.weights)
    unit = scaled_unit(max(abs(levels.low), abs(levels.high)), symbol="V")
    lines = draw_potential(axes, section.samples, plane=plane, levels=levels, units=units)
    planes = draw_layers(axes, result, plane=plane, units=units, size=(across, down))
    taken = np.concatenate([planes, draw_metal(axes, section.metal, units=units)])
    if lines is not None:
        label_lines(
            axes,
            lines,
            text_of=lambda level: short(level * unit.factor),
            taken=taken,
            size=(across, down),
        )
    bar = figure.add_axes(
        (_left / width, (below - 1.55) / height, across / width, 0.3 / height)
    )
    draw_bands(bar, levels=levels, unit=unit, across=across)
    figure.legend(
        handles=notes, loc="upper left", frameon=False, fontsize=14, handlelength=3,
        bbox_to_anchor=(_left / width, (below - 2.2) / height), borderaxespad=0, borderpad=0,
        labelspacing=0.5,
    )  # fmt: skip
    if headed:
        _write_heading(figure, result, plane=plane, size=(width, height))
    return figure


def _write_heading(
    figure: Any, result: Result, *, plane: SectionPlane, size: tuple[float, float]
) -> None:
    width, height = size
    left = _left / width
    title = shorten(" ".join(result.title.split()), 110, placeholder=" …")
    figure.text(left, 1 - 0.55 / height, title, fontsize=20, color=_grey)
    figure.text(
        left,
        1 - 1.08 / height,
        "Vertical section: potential of the soil",
        fontsize=26,
        weight="bold",
    )
    figure.text(left, 1 - 1.5 / height, plane.words(result.units), fontsize=16)
    figure.text(left, 0.22 / height, footer, fontsize=13, color=_grey)
