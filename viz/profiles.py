"""Profile plots: potential along a line; voltages a person meets there, with their limits."""

from collections.abc import Iterator
from dataclasses import dataclass
from textwrap import shorten
from typing import Any

import numpy as np

from ..solver.drives import in_phase
from ..solver.model import Flags, Floats
from ..solver.results.result import Profile, Result
from ..solver.verdict import Judgement
from .canvas.figures import dashes
from .canvas.strips import Heading, Strip, axes_in, figure_of
from .cautions import BELOW_PICTURES
from .profile_scale import Stretch, stretch_near_metal
from .wording import Unit, length_unit, phasor_text, scaled_unit, short, significant

_grey = "0.35"
_most_groups = 5
_left, _above, _plot, _axis, _entry = 1.05, 0.55, 3.3, 0.85, 0.293  # [inch]


@dataclass(frozen=True)
class _Panel:
    """One of the plots of a profile: its lines with their looks, each (x, y, look)."""

    title: str
    name: str
    unit: Unit
    lines: list[tuple[Floats, Floats, dict[str, Any]]]


def profile_figure(
    result: Result, *, profile: Profile, units: str, headed: bool = False
) -> Any:
    """Figure of one profile, for files and for pages: panels one above the other.

    Parameters
    ----------
    result : Result
        For the electrodes, what can be touched and the verdict.
    units : {"SI", "US"}
        Of lengths.
    headed : bool
        Whether title, place and cautions stand on it; a page has its own.
    """
    length = length_unit(units)
    panels = [_potential(result, profile, length=length)]
    if (profile.points[:, 2] == 0).all():
        panels.append(_voltages(result, profile, length=length))
    heading = Heading(result.title, *_heading(profile, length=length), BELOW_PICTURES)
    stretch = stretch_near_metal(result, profile=profile, factor=length.factor)
    strips = [_strip(panel, length=length, stretch=stretch) for panel in panels]
    return figure_of(strips, heading=heading if headed else None)


def _strip(panel: _Panel, *, length: Unit, stretch: Stretch | None) -> Strip:
    """Panel with its key below, as high as the key needs."""
    entries = sum("label" in look for _, _, look in panel.lines)

    def draw(part: Any) -> None:
        axes = axes_in(part, above=_above, tall=_plot, left=_left)
        for x, y, look in panel.lines:
            axes.plot(x, y, **look)
        _dress(axes, panel, length=length)
        if stretch is not None:
            _stretch(axes, stretch, length=length)

    return Strip(_above + _plot + _axis + _entry * entries, draw)


def reachable(result: Result, *, group: int, places: Floats) -> Flags:
    """Whether metal of a group can be touched from each place, shape (n,)."""
    metals = [metal for metal in result.metals if metal.group == group]
    reached = np.zeros(len(places), dtype=bool)
    for metal in metals:
        reached |= metal.within_reach(places)
    return reached


def step_along(profile: Profile, *, pace: float) -> Floats:
    """Voltage from each point to a pace further on; not a number where the line ends. [V]

    Parameters
    ----------
    pace : float
        Distance between the feet. [m]
    """
    at, potential = profile.distance, profile.potential
    real = np.interp(at + pace, at, np.real(potential), right=np.nan)
    imaginary = np.interp(at + pace, at, np.imag(potential), right=np.nan)
    return np.asarray(np.abs(potential - (real + 1j * imaginary)))


def _heading(profile: Profile, *, length: Unit) -> tuple[str, str]:
    first, last = (
        f"({x * length.factor:.4g}, {y * length.factor:.4g}) {length.symbol}".replace("-", "−")
        for x, y in profile.points[[0, -1], :2]
    )
    depth = -float(profile.points[0, 2]) * length.factor
    level = "on the surface" if depth == 0 else f"{depth:.3g} {length.symbol} deep"
    return (
        f"Profile: {shorten(profile.name, 60, placeholder=' …')}",
        f"From {first} to {last}, {level}. Reference: remote earth.",
    )


def _dress(axes: Any, panel: _Panel, *, length: Unit) -> None:
    """Axis names, grid, range from zero, key below."""
    axes.set_title(panel.title, loc="left", fontsize=16, weight="bold")
    axes.set_xlabel(f"Distance along the line [{length.symbol}]")
    axes.set_ylabel(f"{panel.name} [{panel.unit.symbol}]")
    axes.margins(x=0)
    low, high = axes.get_ylim()
    below_zero = any(np.nanmin(line.get_ydata(), initial=0.0) < 0 for line in axes.lines)
    axes.set_ylim(low if below_zero else 0.0, max(high, 0.0))
    axes.grid(color="0.87")
    axes.set_axisbelow(True)
    axes.legend(
        loc="upper left", bbox_to_anchor=(0.0, -(_axis - 0.1) / _plot), frameon=False,
        fontsize=14, handlelength=4.5, ncols=1, borderaxespad=0.0,
    )  # fmt: skip


def _stretch(axes: Any, stretch: Stretch, *, length: Unit) -> None:
    """Axis with what is near metal stretched, on a grey ground."""
    axes.set_xscale("function", functions=(stretch.forward, stretch.inverse))
    axes.set_xlim(stretch.knots[0], stretch.knots[-1])
    ticks = stretch.ticks()
    axes.set_xticks(ticks, [short(tick) for tick in ticks])
    axes.minorticks_off()
    for low, high in stretch.near:
        axes.axvspan(low, high, facecolor="0.94", edgecolor="0.5", linewidth=1, zorder=0)
    axes.set_xlabel(
        f"Distance along the line [{length.symbol}]; on grey, near metal, "
        f"drawn {significant(stretch.times, figures=2)} times larger"
    )


def _potential(result: Result, profile: Profile, *, length: Unit) -> _Panel:
    """Potential along the line, with the rise of each electrode as a level."""
    distance = profile.distance * length.factor
    potential, rises = in_phase(profile.potential), in_phase(result.operating.voltage)
    unit = scaled_unit(float(np.abs([*potential, *rises]).max()), symbol="V")
    where = "soil surface" if profile.points[0, 2] == 0 else "soil at this depth"
    look: dict[str, Any] = {"color": "black", "linewidth": 3}
    look["label"] = f"potential of the {where}"
    lines = [(distance, potential * unit.factor, look)]
    for group in range(min(len(rises), _most_groups)):
        rise = phasor_text(result.operating.voltage[group], symbol="V")
        look = {
            "color": _grey, "linewidth": 1.8, "linestyle": dashes[(group + 1) % len(dashes)],
            "label": f"rise of {_short(result.group_names[group])}: {rise}",
        }  # fmt: skip
        lines.append((distance[[0, -1]], np.full(2, rises[group] * unit.factor), look))
    return _Panel("Potential of the soil", "Potential", unit, lines)


def _voltages(result: Result, profile: Profile, *, length: Unit) -> _Panel:
    """Touch where metal can be reached, step along the line, and what is permissible."""
    places = profile.points[:, :2]
    distance = profile.distance * length.factor
    factor = 1.0
    if result.verdict is not None:
        factor = result.verdict.growth_factor * result.verdict.decrement_factor
    held = [
        result.field.metal_voltage(group, places=places)
        for group in range(len(result.group_names))
    ]
    voltages = factor * np.abs(np.array(held) - profile.potential)
    steps = factor * step_along(profile, pace=result.surface.pace)
    limits = list(_limits(result, places=places))
    largest = [voltages.max(), *(np.nanmax(line) for _, line in limits[:1])]
    unit = scaled_unit(float(np.max(largest)), symbol="V")
    lines: list[tuple[Floats, Floats, dict[str, Any]]] = []
    thick = {"color": "black", "linewidth": 6, "solid_capstyle": "butt"}
    said = {"label": "thick: its metal can be reached"}
    for group, voltage in enumerate(voltages[:_most_groups]):
        look = {"color": "black", "linewidth": 1.5, "linestyle": dashes[group % len(dashes)]}
        look["label"] = f"between {_short(result.group_names[group])} and a foot"
        lines.append((distance, voltage * unit.factor, look))
        reach = reachable(result, group=group, places=places)
        if reach.any():
            met = np.where(reach, voltage, np.nan) * unit.factor
            lines.append((distance, met, thick | said))
            said = {}
    pace = result.surface.pace * length.factor
    look = {"color": "0.5", "linewidth": 3, "linestyle": (0, (3, 1))}
    look["label"] = f"step, to a foot {pace:.3g} {length.symbol} further on"
    lines.append((distance, steps * unit.factor, look))
    for number, (name, line) in enumerate(limits):
        look = {
            "color": "black", "linewidth": 1.5, "marker": "^v<>"[number],
            "drawstyle": "steps-mid", "markevery": max(1, len(line) // 12), "markersize": 8,
            "markerfacecolor": "white", "linestyle": "-", "label": f"limit: {name}",
        }  # fmt: skip
        lines.append((distance, line * unit.factor, look))
    title = "What a person meets, prospective"
    if factor != 1.0:
        title += f", × {factor:.3g}: growth, decrement"
    return _Panel(title, "Voltage", unit, lines)


def _limits(result: Result, *, places: Floats) -> Iterator[tuple[str, Floats]]:
    """Permissible voltage of each exposure along the line, where it can be met there."""
    judgements = () if result.verdict is None else result.verdict.judgements
    shown = 0
    for judgement in judgements:
        met = _met(judgement, result=result, places=places)
        if met.any() and shown < 4:
            shown += 1
            line = np.where(met, judgement.permissible(places), np.nan)
            yield _short(judgement.name), line


def _met(judgement: Judgement, *, result: Result, places: Floats) -> Flags:
    """Whether an exposure can be met at each place."""
    if judgement.kind == "step":
        return judgement.stands(places)
    if judgement.kind != "touch":
        return np.zeros(len(places), dtype=bool)
    metal = next((item for item in result.metals if item.name == judgement.metals[0]), None)
    if metal is None:
        return np.zeros(len(places), dtype=bool)
    return metal.within_reach(places) & judgement.stands(places)


def _short(name: str) -> str:
    return shorten(name, 44, placeholder=" …")
