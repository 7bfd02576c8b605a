"""Pictures of predicted earth tests."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from ...solver.earth_tests import DrivenRodTest, FallOfPotential, Prediction
from ...solver.model import Soil
from ..canvas.figures import figure_style, page_width, save_figure
from ..canvas.strips import Heading, Strip, axes_in, figure_of
from ..cautions import BELOW_EARTH_TESTS
from ..soil_survey.panels import grey, pale
from ..wording import Unit, length_unit, short
from .curves import draw_comparison, draw_parts, draw_readings

_left = 1.15  # of plots [inch]


def draw_test(
    item: Prediction, predictions: Sequence[Prediction], *, title: str, units: str, path: Path
) -> Path:
    """Draw a fall-of-potential or driven-rod test, with other leads and soils beside it.

    Parameters
    ----------
    predictions : sequence of Prediction
        All tests of the case; those of the same plan are drawn beside it.
    title : str
        Heading.
    units : {"SI", "US"}
        Lengths in metres or feet.
    path : Path
        File to write, .png or .svg.
    """
    import matplotlib as mpl  # takes a tenth of a second

    if isinstance(item.found, FallOfPotential):
        kind, strips = "fall of potential", [readings_strip(item, units=units)]
        if len(compared_tests(item, predictions, units=units)) > 1:
            strips.append(comparison_strip(item, predictions, units=units))
    else:
        kind, strips = "driven rod", [driven_rod_strip(item, units=units)]
    heading = Heading(title, f"{item.plan.name}: {kind}", "", BELOW_EARTH_TESTS)
    with mpl.rc_context(figure_style):
        save_figure(figure_of(strips, heading=heading), path, ending=path.suffix[1:])
    return path


def readings_strip(item: Prediction, *, units: str) -> Strip:
    """Readings of a fall-of-potential test, and what pulls them off."""
    # Heights of what stands from top to bottom, plots and the room for their axes and keys.
    above, upper, gap, lower, key = 0.95, 3.9, 0.3, 2.4, 1.6
    unit, test = length_unit(units), item.found
    assert isinstance(test, FallOfPotential)

    def draw(part: Any) -> None:
        top = axes_in(part, above=above, tall=upper, left=_left)
        draw_readings(top, test, unit=unit, covered=item.covered)
        draw_parts(
            axes_in(part, above=above + upper + gap, tall=lower, left=_left), test, unit=unit
        )

    return Strip(above + upper + gap + lower + key, draw)


def comparison_strip(
    item: Prediction, predictions: Sequence[Prediction], *, units: str
) -> Strip:
    """A fall-of-potential test with other leads and in other soils."""
    above, plot = 0.15, 3.6
    tests = compared_tests(item, predictions, units=units)

    def draw(part: Any) -> None:
        axes = axes_in(part, above=above, tall=plot, left=_left)
        draw_comparison(axes, tests, leads=1 + len(item.others))

    return Strip(above + plot + 0.95 + 0.3 * len(tests), draw)


def compared_tests(
    item: Prediction, predictions: Sequence[Prediction], *, units: str
) -> list[tuple[str, FallOfPotential]]:
    """The test itself, then with longer leads, then in the soil of each variant, named."""
    unit = length_unit(units)
    name = item.plan.name
    variants = [each for each in predictions if each.plan.name == name and each.variant]
    tests = [("", test) for test in (item.found, *item.others)]
    tests += [(f": {each.variant}", each.found) for each in variants]
    return [
        (
            f"current probe at {short(round(test.leads.distance * unit.factor, 1))} "
            f"{unit.symbol}{variant}",
            test,
        )
        for variant, test in tests
        if isinstance(test, FallOfPotential)
    ]


def driven_rod_strip(item: Prediction, *, units: str) -> Strip:
    """Readings and apparent resistivity of a rod against its driven length, side by side."""
    above, tall, across = 0.15, 4.0, 4.6
    test = item.found
    assert isinstance(test, DrivenRodTest)

    def draw(part: Any) -> None:
        right = page_width - _left - across
        left = axes_in(part, above=above, tall=tall, left=_left, right=right)
        other = axes_in(part, above=above, tall=tall, left=page_width - 0.3 - across)
        _draw_driven_rod((left, other), test, soil=item.soil, unit=length_unit(units))

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
