"""Profile plots: potential along a line; voltages a person meets there, with their limits."""

from collections.abc import Iterator
from pathlib import Path
from textwrap import shorten
from typing import Any

import numpy as np

from ..solver.drives import in_phase
from ..solver.model import Flags, Floats
from ..solver.result import Profile, Result
from ..solver.verdict import Judgement
from .figures import dashes, figure_style, save_figure
from .wording import Unit, footer, length_unit, phasor_text, scaled_unit

_grey = "0.35"
_most_groups = 5
# Of panels one above the other, as on a page. [inch]
_left, _right, _above, _plot, _axis, _entry = 1.05, 0.3, 0.55, 3.3, 0.85, 0.293


def draw_profile(result: Result, *, profile: Profile, path: Path) -> Path:
    """Draw one profile.

    Parameters
    ----------
    result : Result
        For the electrodes, what can be touched, the verdict and units.
    profile : Profile
        The line.
    path : Path
        File to write; its ending, .png or .svg, says which kind.

    Returns
    -------
    path : Path
    """
    import matplotlib as mpl

    with mpl.rc_context(figure_style):
        figure = profile_figure(result, profile=profile, units=result.units)
        save_figure(figure, path, ending=path.suffix[1:])
    return path


def profile_figure(
    result: Result, *, profile: Profile, units: str, width: float | None = None
) -> Any:
    """Figure of one profile, for `draw_profile` and for pages.

    Parameters
    ----------
    result, profile
        As for `draw_profile`.
    units : {"SI", "US"}
        Of lengths.
    width : float, optional
        Of a figure for a page, which has its own heading: panels stand one above the other,
        as high as their keys need. [inch]
    """
    from matplotlib.figure import Figure  # no pyplot: nothing global, no window

    figure = Figure(figsize=(width or 20.0, 10.5), dpi=100, facecolor="white")
    panels = [_draw_potential]
    if (profile.points[:, 2] == 0).all():
        panels.append(_draw_voltages)
    axes = figure.subplots(
        1, len(panels), squeeze=False,
        gridspec_kw={"left": 0.07, "right": 0.98, "top": 0.8, "bottom": 0.36, "wspace": 0.17},
    )[0]  # fmt: skip
    for draw_panel, panel in zip(panels, axes, strict=True):
        draw_panel(panel, result=result, profile=profile, length=length_unit(units))
    if width is None:
        _write_heading(figure, result, profile=profile, length=length_unit(units))
    else:
        _stack(figure, axes)
    return figure


def _write_heading(figure: Any, result: Result, *, profile: Profile, length: Unit) -> None:
    title = shorten(" ".join(result.title.split()), 110, placeholder=" …")
    name, where = _heading(profile, length=length)
    figure.text(0.03, 0.955, title, fontsize=20, color=_grey)
    figure.text(0.03, 0.905, name, fontsize=26, weight="bold")
    figure.text(0.03, 0.868, where, fontsize=16)
    figure.text(0.03, 0.02, footer, fontsize=13, color=_grey)


def _stack(figure: Any, axes: Any) -> None:
    """Put panels one above the other, each with its key below."""
    width = figure.get_figwidth()
    keys = [_entry * len(panel.get_legend().get_texts()) for panel in axes]
    height = sum(_above + _plot + _axis + key for key in keys)
    figure.set_size_inches(width, height)
    top = height
    for panel, key in zip(axes, keys, strict=True):
        bottom = top - _above - _plot
        panel.set_position(
            (_left / width, bottom / height, 1 - (_left + _right) / width, _plot / height)
        )
        panel.get_legend().set_bbox_to_anchor((0.0, -(_axis - 0.1) / _plot))
        top = bottom - _axis - key


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
    profile : Profile
        The line.
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


def _dress(axes: Any, *, length: Unit, unit: Unit, title: str, name: str) -> None:
    """Axis names, grid, range from zero, key below."""
    axes.set_title(title, loc="left", fontsize=16, weight="bold")
    axes.set_xlabel(f"Distance along the line [{length.symbol}]")
    axes.set_ylabel(f"{name} [{unit.symbol}]")
    axes.margins(x=0)
    low, high = axes.get_ylim()
    below_zero = any(np.nanmin(line.get_ydata(), initial=0.0) < 0 for line in axes.lines)
    axes.set_ylim(low if below_zero else 0.0, max(high, 0.0))
    axes.grid(color="0.87")
    axes.set_axisbelow(True)
    axes.legend(
        loc="upper left", bbox_to_anchor=(0.0, -0.14), frameon=False, fontsize=14,
        handlelength=4.5, ncols=1, borderaxespad=0.0,
    )  # fmt: skip


def _draw_potential(axes: Any, *, result: Result, profile: Profile, length: Unit) -> None:
    """Potential along the line, with the rise of each electrode as a level."""
    distance = profile.distance * length.factor
    potential, rises = in_phase(profile.potential), in_phase(result.operating.voltage)
    unit = scaled_unit(float(np.abs([*potential, *rises]).max()), symbol="V")
    where = "soil surface" if profile.points[0, 2] == 0 else "soil at this depth"
    label = f"potential of the {where}"
    axes.plot(distance, potential * unit.factor, color="black", linewidth=3, label=label)
    for group in range(min(len(rises), _most_groups)):
        rise = phasor_text(result.operating.voltage[group], symbol="V")
        axes.axhline(
            rises[group] * unit.factor,
            color=_grey,
            linewidth=1.8,
            linestyle=dashes[(group + 1) % len(dashes)],
            label=f"rise of {_short(result.group_names[group])}: {rise}",
        )
    _dress(axes, length=length, unit=unit, title="To remote earth", name="Potential")


def _draw_voltages(axes: Any, *, result: Result, profile: Profile, length: Unit) -> None:
    """Touch where metal can be reached, step along the line, and what is permissible."""
    places = profile.points[:, :2]
    distance = profile.distance * length.factor
    factor = 1.0
    if result.verdict is not None:
        factor = result.verdict.growth_factor * result.verdict.decrement_factor
    voltages = factor * np.abs(result.operating.voltage[:, None] - profile.potential)
    steps = factor * step_along(profile, pace=result.surface.pace)
    limits = list(_limits(result, places=places))
    largest = [voltages.max(), *(np.nanmax(line) for _, line in limits[:1])]
    unit = scaled_unit(float(np.max(largest)), symbol="V")
    touched = False
    for group, voltage in enumerate(voltages[:_most_groups]):
        dash, name = dashes[group % len(dashes)], _short(result.group_names[group])
        axes.plot(
            distance, voltage * unit.factor, color="black", linewidth=1.5, linestyle=dash,
            label=f"between {name} and a foot",
        )  # fmt: skip
        reach = reachable(result, group=group, places=places)
        touched |= bool(reach.any())
        met = np.where(reach, voltage, np.nan) * unit.factor
        axes.plot(distance, met, color="black", linewidth=6, solid_capstyle="butt")
    if touched:
        axes.plot([], [], color="black", linewidth=6, label="thick: its metal can be reached")
    pace = result.surface.pace * length.factor
    axes.plot(
        distance, steps * unit.factor, color="0.5", linewidth=3, linestyle=(0, (3, 1)),
        label=f"step, to a foot {pace:.3g} {length.symbol} further on",
    )  # fmt: skip
    for number, (name, line) in enumerate(limits):
        axes.plot(
            distance, line * unit.factor, color="black", linewidth=1.5, marker="^v<>"[number],
            drawstyle="steps-mid", markevery=max(1, len(line) // 12), markersize=8,
            markerfacecolor="white", linestyle="-", label=f"permissible: {name}",
        )  # fmt: skip
    title = "What a person meets, prospective"
    if factor != 1.0:
        title += f", × {factor:.3g}: growth, decrement"
    _dress(axes, length=length, unit=unit, title=title, name="Voltage")


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
