"""Pictures of predicted earth tests."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from ..solver.earth_test import DrivenRodTest, FallOfPotential
from ..solver.model import Soil
from .earth_test_curves import draw_comparison, draw_parts, draw_readings
from .figures import figure_style, save_figure
from .sounding_panels import grey, pale
from .wording import Unit, length_unit

_size, _dots = (20.0, 13.0), 100
_cautions = (
    "Predicted by a model: no measurement. Leads and probes can rise to kilovolts during a "
    "fault of the system; lifting a neutral or bond can put full voltage between its ends.\n"
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
    test : FallOfPotential
        The test.
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
    unit, alone = length_unit(units), len(compared) < 2
    width = 0.86 if alone else 0.53

    def drawn(figure: Any) -> None:
        upper = figure.add_axes((0.075, 0.47, width, 0.36))
        lower = figure.add_axes((0.075, 0.22, width, 0.2))
        draw_readings(upper, test, unit=unit, covered=covered)
        draw_parts(lower, test, unit=unit)
        if not alone:
            draw_comparison(figure.add_axes((0.7, 0.33, 0.27, 0.5)), compared, leads=leads)

    return _drawn(drawn, title=title, subtitle=subtitle, path=path)


def fall_of_potential_figure(
    test: FallOfPotential, *, units: str, covered: float, width: float
) -> Any:
    """Figure of a fall-of-potential test for pages: readings, and what pulls them off.

    Parameters
    ----------
    test, units, covered
        As for `draw_fall_of_potential`.
    width : float
        [inch]
    """
    # Heights of what stands from top to bottom, plots and the room for their axes and keys.
    above, upper, gap, lower, key = 0.95, 3.9, 0.3, 2.4, 1.6
    figure = _page(width, height=above + upper + gap + lower + key)
    unit = length_unit(units)
    draw_readings(_axes_below(figure, above, tall=upper), test, unit=unit, covered=covered)
    draw_parts(_axes_below(figure, above + upper + gap, tall=lower), test, unit=unit)
    return figure


def compared_tests_figure(
    compared: Sequence[tuple[str, FallOfPotential]], *, leads: int, width: float
) -> Any:
    """Figure of a test with other leads and in other soils, for pages.

    Parameters
    ----------
    compared, leads
        As for `draw_fall_of_potential`.
    width : float
        [inch]
    """
    above, plot = 0.15, 3.6
    figure = _page(width, height=above + plot + 0.95 + 0.3 * len(compared))
    draw_comparison(_axes_below(figure, above, tall=plot), compared, leads=leads)
    return figure


def _page(width: float, *, height: float) -> Any:
    from matplotlib.figure import Figure  # no pyplot: nothing global, no window

    return Figure(figsize=(width, height), dpi=_dots, facecolor="white")


def _axes_below(figure: Any, top: float, *, tall: float) -> Any:
    """Axes of some height that begin some way below the top of a page. [inch]"""
    width, height = figure.get_size_inches()
    where = (1.15 / width, (height - top - tall) / height, 1 - 1.45 / width, tall / height)
    return figure.add_axes(where)


def driven_rod_figure(
    test: DrivenRodTest, *, soil: Soil, units: str, width: float, height: float
) -> Any:
    """Figure of a driven-rod test for pages.

    Parameters
    ----------
    test, soil, units
        As for `draw_driven_rod`.
    width, height : float
        [inch]
    """
    figure = _page(width, height=height)
    _draw_driven_rod(
        figure, test, soil=soil, unit=length_unit(units), bottom=0.85 / height,
        tall=1 - 1.0 / height,
    )  # fmt: skip
    return figure


def draw_driven_rod(
    test: DrivenRodTest, *, soil: Soil, title: str, subtitle: str, units: str, path: Path
) -> Path:
    """Draw a driven-rod test: readings and apparent resistivity against driven length.

    Parameters
    ----------
    test : DrivenRodTest
        The test.
    soil : Soil
        Layers; their planes are drawn.
    title, subtitle : str
        Heading; what was tested, in bold.
    units : {"SI", "US"}
        Lengths in metres or feet.
    path : Path
        File to write, .png or .svg.
    """
    unit = length_unit(units)

    def drawn(figure: Any) -> None:
        _draw_driven_rod(figure, test, soil=soil, unit=unit, bottom=0.2, tall=0.63)

    return _drawn(drawn, title=title, subtitle=subtitle, path=path)


def _draw_driven_rod(
    figure: Any, test: DrivenRodTest, *, soil: Soil, unit: Unit, bottom: float, tall: float
) -> None:
    """Both panels, side by side."""
    left = figure.add_axes((0.085, bottom, 0.39, tall))
    right = figure.add_axes((0.585, bottom, 0.39, tall))
    depth = test.driven_length * unit.factor
    true = {"color": "0.4", "linewidth": 2, "linestyle": (0, (6, 2.5))}
    left.plot(depth, test.true_resistance, label="true resistance", **true)
    left.plot(depth, test.reading, label="reading", **_marks)
    left.set_ylim(0, None)
    left.set_ylabel("Resistance [Ω]")
    left.legend(frameon=False, fontsize=15)
    right.plot(depth, test.apparent_resistivity, **_marks)
    right.set_ylim(0, 1.3 * float(test.apparent_resistivity.max()))
    right.set_ylabel("Apparent resistivity by the readings [Ω·m]")
    for axes in (left, right):
        _driven_axis(axes, soil, unit=unit, longest=float(depth.max()))


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


def _drawn(draw: Any, *, title: str, subtitle: str, path: Path) -> Path:
    import matplotlib as mpl
    from matplotlib.figure import Figure  # no pyplot: nothing global, no window

    with mpl.rc_context(figure_style):
        figure = Figure(figsize=_size, dpi=_dots, facecolor="white")
        figure.text(0.035, 0.964, title, fontsize=20, color=grey)
        figure.text(0.035, 0.926, subtitle, fontsize=24, fontweight="bold")
        figure.text(0.035, 0.018, _cautions, fontsize=13, color=grey, linespacing=1.4)
        draw(figure)
        save_figure(figure, path, ending=path.suffix[1:])
    return path
