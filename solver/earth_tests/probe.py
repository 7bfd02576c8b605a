"""The current probe of a test as one more electrode beside those of the case."""

from dataclasses import dataclass, replace

import numpy as np

from ..errors import CaseError
from ..model import Conductors, Floats


@dataclass(frozen=True)
class Pin:
    """Vertical rod that serves as a probe, its top at the surface.

    Attributes
    ----------
    place : tuple of float, length 2
        (x, y). [m]
    depth : float
        Length in the soil, at least 5 radii. [m]
    radius : float
        Radius, > 0. [m]

    Raises
    ------
    CaseError
        If it is no slender rod.
    """

    place: tuple[float, float]
    depth: float
    radius: float

    def __post_init__(self) -> None:
        if not (self.radius > 0 and self.depth >= 5 * self.radius and np.isfinite(self.depth)):
            msg = (
                f"probe {self.depth:g} m deep with a radius of {self.radius:g} m; its radius "
                "must be above 0 and its depth at least 5 radii"
            )
            raise CaseError(msg)

    @property
    def ends(self) -> tuple[Floats, Floats]:
        """Top and tip, z up. [m]"""
        return np.array([*self.place, 0.0]), np.array([*self.place, -self.depth])


def with_pin(conductors: Conductors, pin: Pin, *, name: str) -> Conductors:
    """The metal with a pin as a group of its own, the last one.

    Raises
    ------
    CaseError
        If a group has that name, or the pin is nearer to other metal than its own depth.
    """
    if name in conductors.group_names:
        msg = f"an electrode is called {name!r}, as the probe of the test; rename it"
        raise CaseError(msg)
    gap = clearance(conductors, pin)
    if not gap > pin.depth:
        msg = (
            f"the probe at ({pin.place[0]:g}, {pin.place[1]:g}) m is {gap:.3g} m from the "
            f"metal of the case and {pin.depth:g} m deep; put it farther away than it is deep"
        )
        raise CaseError(msg)
    top, tip = pin.ends
    one = Conductors.bare(top, end=tip, radius=pin.radius)
    arrays = {
        key: np.concatenate([getattr(conductors, key), getattr(one, key)])
        for key in (
            "start", "end", "radius", "contact", "sheath_radius", "sheath_resistivity",
            "sheath_cover",
        )
    }  # fmt: skip
    if conductors.plate is not None and conductors.corners is not None:
        arrays["plate"] = np.append(conductors.plate, -1)
        arrays["corners"] = np.concatenate([conductors.corners, np.zeros((1, 4, 3))])
    return replace(
        conductors,
        **arrays,
        group=np.append(conductors.group, len(conductors.group_names)),
        part=np.append(conductors.part, len(conductors.part_names)),
        group_names=(*conductors.group_names, name),
        part_names=(*conductors.part_names, name),
    )


def clearance(conductors: Conductors, pin: Pin) -> float:
    """Least horizontal distance between a pin and any metal. [m]"""
    flat, place = conductors.flat, np.array(pin.place)
    gaps = _in_plan(place, conductors.start[~flat], conductors.end[~flat])
    least = float((gaps - conductors.sheath_radius[~flat]).min(initial=np.inf))
    if conductors.corners is None or not flat.any():
        return least
    # Over a plate it is nearer to an edge of a patch than that is wide.
    corners = conductors.corners[flat]
    ends = np.roll(corners, -1, axis=1)
    return min(
        least, *(float(_in_plan(place, corners[:, k], ends[:, k]).min()) for k in range(4))
    )


def _in_plan(place: Floats, start: Floats, end: Floats) -> Floats:
    """Distance in plan of a place from lines, shape (n,). [m]"""
    start, whole = start[:, :2], (end - start)[:, :2]
    square = np.einsum("ni,ni->n", whole, whole)
    along = np.einsum("ni,ni->n", place - start, whole)
    # Vertical pieces are points in plan.
    share = np.clip(along / np.where(square > 0, square, 1.0), 0.0, 1.0)
    gap = place - start - share[:, None] * whole
    return np.asarray(np.hypot(*gap.T))
