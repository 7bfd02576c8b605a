"""A body in the soil: a shape, what it is made of, and what it lies in."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isinf

import numpy as np

from ..arrays import Floats, Integers
from ..errors import CaseError
from .ball import Ball
from .film import Film
from .shapes import Cylinder, HalfSpace, Prism

Shape = Prism | Cylinder | Ball | HalfSpace


@dataclass(frozen=True)
class Body:
    """A part of the ground with a resistivity of its own, whatever layers run through it.

    Attributes
    ----------
    name : str
        The user's own name.
    shape : Prism, Cylinder, Ball or HalfSpace
        Where it is.
    resistivity : float
        Resistivity, > 0; infinite for a void, which carries no current. [Ω·m]
    within : str or None
        Name of the body that it lies in, which it takes the place of.
    film : Film or None
        What covers some of its faces.

    Raises
    ------
    CaseError
        If the resistivity is not positive, or a void has a film.
    """

    name: str
    shape: Shape
    resistivity: float
    within: str | None = None
    film: Film | None = None

    def __post_init__(self) -> None:
        if not self.resistivity > 0:
            msg = (
                f"body {self.name!r} has a resistivity of {self.resistivity:g} Ω·m; it must "
                "be above 0, infinite for a void"
            )
            raise CaseError(msg)
        if self.void and self.film is not None:
            msg = f"body {self.name!r} is a void with a film; nothing crosses its faces anyway"
            raise CaseError(msg)

    @property
    def void(self) -> bool:
        """Whether it carries no current: a basement, a cut."""
        return isinf(self.resistivity)

    @property
    def conductivity(self) -> float:
        """Conductivity, 0 for a void. [S/m]"""
        return 1 / self.resistivity


def inner_last(bodies: Sequence[Body]) -> list[int]:
    """Indices of bodies so that each comes after the one it lies in.

    Raises
    ------
    CaseError
        If two have one name, or one lies in a body that is not there, or in itself.
    """
    places = {body.name: k for k, body in enumerate(bodies)}
    if len(places) < len(bodies):
        names = [body.name for body in bodies]
        twice = next(name for name in names if names.count(name) > 1)
        msg = f"two bodies are named {twice!r}; give each its own name"
        raise CaseError(msg)

    def depth(k: int) -> int:
        seen = [k]
        while (outer := bodies[seen[-1]].within) is not None:
            if outer not in places or places[outer] in seen:
                there = ", ".join(name for name in places if name != bodies[k].name)
                what = "that is not there" if outer not in places else "that lies in it"
                msg = (
                    f"body {bodies[seen[-1]].name!r} lies in {outer!r}, {what}; "
                    f"other bodies: {there or 'none'}"
                )
                raise CaseError(msg)
            seen.append(places[outer])
        return len(seen)

    return sorted(range(len(bodies)), key=depth)


def body_at(points: Floats, *, bodies: Sequence[Body]) -> Integers:
    """Index of the innermost body that holds each point, -1 where none does, shape (n,).

    On a face that two bodies share it is the one listed last.
    """
    found = np.full(len(points), -1, dtype=np.int64)
    for k in inner_last(bodies):
        found[bodies[k].shape.holds(points)] = k
    return found
