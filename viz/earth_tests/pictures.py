"""Pictures of predicted earth tests."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from ...solver.earth_tests import DrivenRodTest, FallOfPotential
from ...solver.model import Soil
from ..canvas.figures import figure_style, page_width, save_figure
from ..canvas.strips import Heading, Strip, axes_in, figure_of
from ..soil_survey.panels import grey, pale
from ..wording import Unit, length_unit
from .curves import draw_comparison, draw_parts, draw_readings

_left = 1.15  # of plots [inch]
_cautions = (
    "Predicted by a model: no measurement. Leads and probes can rise to kilovolts during a "
    "fault of the system; lifting a neutral or bond can put full voltage between its ends. "
    "For qualified people to check and to carry out; local codes and licensed practice decide."
)


def draw_fall_of_potential(
    test: FallOfPotential,
    *,
    compared: Sequence[tuple[str, FallOfPotential]],
    leads: int,
    title: str,
    subtitle: str,
    units: str,
    covered: float,
    path: Path,
) -> Path:
    """Draw a fall-of-potential test: readings, what pulls them off, other leads and soils.

    Parameters
    ----------
    compared : sequence of (str, FallOfPotential)
        Names for the key, and tests: the same first, then with other leads, then in other
        soil; one alone is not drawn.
    leads : int
        How many of these differ in the leads only.
    title, subtitle : str
        Heading; what was tested, in bold.
    units : {"SI", "US"}
        Lengths in metres or feet.
    covered : float
        How far the electrode reaches along the lead from its start. [m]
    path : Path
        File to write, .png or .svg.
    """
    strips = [_readings(test, units=units, covered=covered)]
    if len(compared) > 1:
        strips.append(_compared(compared, leads=leads))
    return _drawn(strips, title=title, subtitle=subtitle, path=path)


def fall_of_potential_figure(test: FallOfPotential, *, units: str, covered: float) -> Any:
    """Figure of a fall-of-potential test for pages: readings, and what pulls them off.

    Parameters
    ----------
    test, units, covered
        As for `draw_fall_of_potential`.
    """
    return figure_of([_readings(test, units=units, covered=covered)])


def compared_tests_figure(
    compared: Sequence[tuple[str, FallOfPotential]], *, leads: int
) -> Any:
    """Figure of a test with other leads and in other soils, for pages.

    Parameters
    ----------
    compared, leads
        As for `draw_fall_of_potential`.
    """
    return figure_of([_compared(compared, leads=leads)])


def _readings(test: FallOfPotential, *, units: str, covered: float) -> Strip:
    # Heights of what stands from top to bottom, plots and the room for their axes and keys.
    above, upper, gap, lower, key = 0.95, 3.9, 0.3, 2.4, 1.6
    unit = length_unit(units)

    def draw(part: Any) -> None:
        top = axes_in(part, above=above, tall=upper, left=_left)
        draw_readings(top, test, unit=unit, covered=covered)
        draw_parts(
            axes_in(part, above=above + upper + gap, tall=lower, left=_left), test, unit=unit
        )

    return Strip(above + upper + gap + lower + key, draw)


def _compared(compared: Sequence[tuple[str, FallOfPotential]], *, leads: int) -> Strip:
    above, plot = 0.15, 3.6

    def draw(part: Any) -> None:
        axes = axes_in(part, above=above, tall=plot, left=_left)
        draw_comparison(axes, compared, leads=leads)

    return Strip(above + plot + 0.95 + 0.3 * len(compared), draw)


def driven_rod_figure(test: DrivenRodTest, *, soil: Soil, units: str) -> Any:
    """Figure of a driven-rod test for pages.

    Parameters
    ----------
    test, soil, units
        As for `draw_driven_rod`.
    """
    return figure_of([_driven_rod(test, soil=soil, unit=length_unit(units))])


def draw_driven_rod(
    test: DrivenRodTest, *, soil: Soil, title: str, subtitle: str, units: str, path: Path
) -> Path:
    """Draw a driven-rod test: readings and apparent resistivity against driven length.

    Parameters
    ----------
    soil : Soil
        Layers; their planes are drawn.
    title, subtitle : str
        Heading; what was tested, in bold.
    units : {"SI", "US"}
        Lengths in metres or feet.
    path : Path
        File to write, .png or .svg.
    """
    strip = _driven_rod(test, soil=soil, unit=length_unit(units))
    return _drawn([strip], title=title, subtitle=subtitle, path=path)


def _driven_rod(test: DrivenRodTest, *, soil: Soil, unit: Unit) -> Strip:
    """Both panels, side by side."""
    above, tall, across = 0.15, 4.0, 4.6

    def draw(part: Any) -> None:
        right = page_width - _left - across
        left = axes_in(part, above=above, tall=tall, left=_left, right=right)
        other = axes_in(part, above=above, tall=tall, left=page_width - 0.3 - across)
        _draw_driven_rod((left, other), test, soil=soil, unit=unit)

    return Strip(above + tall + 0.85, draw)


def _draw_driven_rod(
    axes: tuple[Any, Any], test: DrivenRodTest, *, soil: Soil, unit: Unit
) -> None:
    left, right = axes
    depth = test.driven_length * unit.factor
    true = {"color": "0.4", "linewidth": 2, "linestyle": (0, (6, 2.5))}
    left.plot(depth, test.true_resistance, label="true resistance", **true)
    left.plot(depth, test.reading, label="reading", **_marks)
    left.set_ylim(0, None)
    left.set_ylabel("Resistance [Ω]")
    left.legend(frameon=False, fontsize=15)
    right.plot(depth, test.apparent_resistivity, **_marks)
    right.set_ylim(0, 1.3 * float(test.apparent_resistivity.max()))
    right.set_ylabel("Apparent resistivity [Ω·m]")
    for panel in axes:
        _driven_axis(panel, soil, unit=unit, longest=float(depth.max()))


_marks: dict[str, Any] = {
    "color": "black", "linewidth": 3, "marker": "o", "markersize": 10,
    "markerfacecolor": "white", "markeredgewidth": 2,
}  # fmt: skip


def _driven_axis(axes: Any, soil: Soil, *, unit: Unit, longest: float) -> None:
    axes.set_xlim(0, 1.05 * longest)
    axes.set_xlabel(f"Driven length [{unit.symbol}]")
    axes.grid(True, color=pale, linewidth=1.0)
    axes.set_axisbelow(True)
    for plane in np.asarray(soil.interface_depth) * unit.factor:
        if plane < 1.05 * longest:
            axes.axvline(plane, color=grey, linewidth=1.5, linestyle=(0, (6, 4)))
            axes.text(plane, 0.98, " layer", transform=axes.get_xaxis_transform(), va="top",
                      fontsize=14, color=grey)  # fmt: skip


def _drawn(strips: Sequence[Strip], *, title: str, subtitle: str, path: Path) -> Path:
    import matplotlib as mpl

    with mpl.rc_context(figure_style):
        figure = figure_of(strips, heading=Heading(title, subtitle, "", _cautions))
        save_figure(figure, path, ending=path.suffix[1:])
    return path
