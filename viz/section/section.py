"""Vertical section: potential in the soil below a line, with the layers and the metal."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from ...solver.results.result import Result
from ..canvas.figures import page_width
from ..canvas.levels import contour_levels
from ..canvas.line_labels import label_lines
from ..canvas.strips import Heading, Strip, axes_in, figure_of
from ..cautions import BELOW_PICTURES
from ..kept import kept
from ..wording import scaled_unit, short
from .parts import (
    Quantity,
    draw_bands,
    draw_bodies,
    draw_layers,
    draw_metal,
    draw_quantity,
    key_entries,
)
from .plane import SectionPlane, section_plane
from .samples import SectionMetal, SectionSamples, section_metal, section_samples

_left, _right, _above, _line = 1.1, 2.75, 0.3, 0.31  # room round the plot [inch]


@dataclass(frozen=True)
class Section:
    """A vertical section of a result, ready to be drawn in either unit system."""

    plane: SectionPlane
    metal: SectionMetal
    samples: SectionSamples


@kept
def section_of(result: Result) -> Section:
    """The vertical section that shows most of a result; see `section_plane`."""
    plane = section_plane(result)
    metal, samples = (
        section_metal(result, plane=plane),
        section_samples(result, plane=plane),
    )
    return Section(plane, metal, samples)


def potential_of(section: Section) -> Quantity:
    """The potential in a section."""
    samples = section.samples
    levels = contour_levels(samples.potential, weights=samples.weights)
    unit = scaled_unit(max(abs(levels.low), abs(levels.high)), symbol="V")
    title = "Vertical section: potential of the soil"
    return Quantity(title, "Potential", samples.potential, levels, unit)


def section_figure(
    result: Result,
    *,
    section: Section,
    units: str,
    shown: Quantity | None = None,
    headed: bool = False,
) -> Any:
    """Figure of a section, for files and for pages.

    Parameters
    ----------
    result : Result
        For the layers and the names of the electrodes.
    units : {"SI", "US"}
        Of lengths.
    shown : Quantity, optional
        What is drawn; the potential where it is left out.
    headed : bool
        Whether title, place and cautions stand on it; a page has its own.
    """
    plane, shown = section.plane, shown or potential_of(section)
    across = page_width - _left - _right
    down = across * plane.depth / plane.width
    notes = list(key_entries(result, metal=section.metal, plane=plane, units=units))
    below = 2.4 + _line * len(notes)

    def draw(part: Any) -> None:
        axes = axes_in(part, above=_above, tall=down, left=_left, right=_right)
        bar = axes_in(part, above=_above + down + 1.25, tall=0.3, left=_left, right=_right)
        _draw(
            axes,
            bar,
            result=result,
            section=section,
            shown=shown,
            units=units,
            size=(across, down),
        )
        part.legend(
            handles=notes, loc="upper left", frameon=False, fontsize=14, handlelength=3,
            bbox_to_anchor=(_left / page_width, (below - 2.2) / (_above + down + below)),
            borderaxespad=0, borderpad=0, labelspacing=0.5,
        )  # fmt: skip

    heading = Heading(result.title, shown.title, plane.words(result.units), BELOW_PICTURES)
    strip = Strip(_above + down + below, draw)
    return figure_of([strip], heading=heading if headed else None)


def _draw(
    axes: Any,
    bar: Any,
    *,
    result: Result,
    section: Section,
    shown: Quantity,
    units: str,
    size: tuple[float, float],
) -> None:
    """Bands, lines, layers and metal in some axes, what the bands mean in others."""
    samples, plane = section.samples, section.plane
    lines = draw_quantity(axes, samples, plane=plane, shown=shown, units=units)
    planes = draw_layers(axes, result, plane=plane, units=units, size=size)
    bodies = draw_bodies(axes, result, plane=plane, units=units, size=size)
    taken = np.concatenate([planes, bodies, draw_metal(axes, section.metal, units=units)])
    if lines is not None:
        label_lines(
            axes,
            [
                (short(float(level) * shown.unit.factor), drawn)
                for level, drawn in zip(lines.levels, lines.allsegs, strict=True)
            ],
            taken=taken,
            size=size,
        )
    draw_bands(bar, shown=shown, across=size[0])
