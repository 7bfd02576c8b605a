"""Drawings of the guide's page, worked out from closed forms: SVG, coloured by the page."""

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType

# A rod of 2.44 m, 16 mm thick, as in the lessons on one rod.
_length, _radius = 2.44, 0.0079
_left, _right, _top, _ground, _bottom = 70.0, 690.0, 30.0, 210.0, 300.0
_farthest = 6.0  # [m]


def _share(distance: float) -> float:
    """Potential of the soil over that of a rod, evenly leaking (Sunde 1949, from memory)."""
    of_rod = math.log(4 * _length / _radius) - 1
    return min(1.0, math.asinh(_length / max(distance, _radius)) / of_rod)


def _x(distance: float) -> float:
    return _left + (_right - _left) * distance / _farthest


def _y(share: float) -> float:
    return _ground - (_ground - _top) * share


def falling_off() -> str:
    """Potential beside a rod, with what a hand and two feet meet."""
    places = [_farthest * (k / 120) ** 2 for k in range(121)]
    curve = " ".join(f"{_x(place):.1f},{_y(_share(place)):.1f}" for place in places)
    bottom = _ground + (_bottom - _ground) * 0.8
    touch, near, far = _share(1.0), _share(3.0), _share(4.0)
    feet = "".join(
        f'<circle class="foot" cx="{_x(place):.1f}" cy="{_ground}" r="5"/>'
        for place in (1.0, 3.0, 4.0)
    )
    metres = "".join(
        f'<text x="{_x(place):.1f}" y="{_ground + 24}" text-anchor="middle">{place} m</text>'
        for place in range(1, int(_farthest) + 1)
    )
    return (
        f'<svg viewBox="0 0 720 {_bottom:.0f}" role="img">'
        f'<rect class="soil" x="0" y="{_ground}" width="720" height="{_bottom - _ground}"/>'
        f'<line class="metal" x1="{_left}" y1="{_ground}" x2="{_left}" y2="{bottom:.1f}"/>'
        f'<text x="{_left + 12}" y="{bottom:.1f}">rod</text>'
        f'<polyline class="curve" points="{curve}"/>'
        + _span(_x(1.0), 1.0, touch, f"hand to feet: {100 * (1 - touch):.0f} %")
        + _span(_x(3.0), near, far, f"foot to foot: {100 * (near - far):.0f} %")
        + f'<line class="level" x1="{_left}" y1="{_top}" x2="{_x(1):.1f}" y2="{_top}"/>'
        f'<line class="level" x1="{_x(3):.1f}" y1="{_y(far):.1f}" x2="{_x(4):.1f}" '
        f'y2="{_y(far):.1f}"/>'
        f'<text x="{_left - 8}" y="{_y(1) + 4:.1f}" text-anchor="end">100 %</text>'
        f'<text x="{_left - 8}" y="{_ground + 4}" text-anchor="end">0</text>'
        f"{feet}{metres}</svg>"
    )


def _span(x: float, upper: float, lower: float, words: str) -> str:
    """A voltage between two potentials, as an upright line with its size beside it."""
    middle = (_y(upper) + _y(lower)) / 2 if upper == 1.0 else _y(upper) - 14
    return (
        f'<line class="voltage" x1="{x:.1f}" y1="{_y(upper):.1f}" x2="{x:.1f}" '
        f'y2="{_y(lower):.1f}"/><text class="told" x="{x + 10:.1f}" y="{middle + 4:.1f}">'
        f"{words}</text>"
    )


FIGURES: Mapping[str, Callable[[], str]] = MappingProxyType({"falling-off": falling_off})
"""What draws a figure, by the address that the texts name it by."""
