"""The errors ohmscape raises, below all other modules.

::

    OhmscapeError
    ├── CaseError (ValueError)         the input is wrong: every problem of it at once
    │   └── BudgetError                the input asks for more than the size limits allow
    ├── MissingLibraryError (OSError)  a system library is not installed
    ├── MeshError (RuntimeError)       the mesh generator failed or gave a bad mesh
    ├── TrustError (ArithmeticError)   a result misses its own limits and is not returned
    │   ├── ConvergenceError           the linear solver did not reach its tolerance
    │   ├── LayersOnlyError            a method for layers was asked for soil with bodies
    │   ├── RoundMetalOnlyError        a method for round metal was asked for plates
    │   └── ToleranceError             the estimated error is above the tolerance of the case
    ├── DrawingError (RuntimeError)    pictures or report of a result were not drawn
    └── ResultError (ValueError)       a result file is damaged, foreign or of another version
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any


class OhmscapeError(Exception):
    """Base of every error this package raises on purpose."""


@dataclass(frozen=True)
class Problem:
    """One thing wrong with a case: where it stands and what to do about it."""

    message: str  # what was given, what is allowed, what to do
    # The user's own place in the file, for example ``soil.layers[1].resistivity``.
    path: str = ""
    file: str = ""  # file name; empty when the case did not come from a file
    line: int | None = None  # line in the file, counted from 1

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        return ": ".join(piece for piece in (place, self.path, self.message) if piece)


class CaseError(OhmscapeError, ValueError):
    """The case cannot be run as it stands; `problems` lists all that is wrong with it.

    Parameters
    ----------
    problems : sequence of Problem, or str
        Everything found wrong, in the order of the file; a lone message becomes one problem.
    """

    def __init__(self, problems: Sequence[Problem] | str) -> None:
        self.problems = (Problem(problems),) if isinstance(problems, str) else tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class BudgetError(CaseError):
    """The case asks for more conductors, elements or memory than its limits allow."""


class MissingLibraryError(OhmscapeError, OSError):
    """A system library that a dependency needs is not installed."""


class MeshError(OhmscapeError, RuntimeError):
    """The mesh generator failed, or its mesh is not fit to compute on."""


class TrustError(OhmscapeError, ArithmeticError):
    """A result misses its own limits (balance, energy, error estimate); it is not returned."""


class ConvergenceError(TrustError):
    """The linear solver did not reach its tolerance."""


class LayersOnlyError(TrustError):
    """A method that knows layers only was asked for soil with bodies; another may know them."""


class RoundMetalOnlyError(TrustError):
    """A method that knows round metal only was asked for plates; another may know them."""


class ToleranceError(TrustError):
    """The estimated error of a result is above the tolerance asked for.

    Parameters
    ----------
    excess : dict of str to float
        Estimated error over what is allowed, of resistance, touch and step; one is above 1 or
        not a number.
    places : dict of str to ndarray of float, shape (n, 2)
        Where on the surface touch and step were looked at. [m]
    """

    def __init__(
        self, message: str, *, excess: Mapping[str, float], places: Mapping[str, Any]
    ) -> None:
        super().__init__(message)
        self.excess = dict(excess)
        self.places = dict(places)


class DrawingError(OhmscapeError, RuntimeError):
    """Pictures or the report of a result could not be drawn; its numbers are not touched."""


class ResultError(OhmscapeError, ValueError):
    """A result file is damaged, not ours, or of another version."""
