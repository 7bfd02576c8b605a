"""What is said of a case whose inputs are not known."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Literal

import numpy as np

from ..model import Floats
from .answers import Chance, Importance, Spread, chance_of, importance_of, spread_of
from .draw import Draw
from .narrowing import Narrowing
from .plan import DrawPlan

What = Literal["resistance", "rise", "share", "worst"]


@dataclass(frozen=True)
class Answer:
    """One quantity over all draws.

    Attributes
    ----------
    what : {"resistance", "rise", "share", "worst"}
        "share" is what an exposure takes of its limit, "worst" the largest of any.
    exposure, condition : str
        Which exposure; which variant, empty for the case as it stands.
    values : ndarray of float, shape (n,)
        [Ω], [V] or 1.
    spread : Spread
    passes : Chance or None
        How probable it is that the limit is kept; None where there is none.
    importance : Importance
        Of the variance of its logarithm.
    swings : ndarray of float, shape (d, 2)
        With one input at 5 and at 95 % of its probability, all others at their median.
    middle : float
        With all of them there.
    """

    what: What
    exposure: str
    condition: str
    values: Floats
    spread: Spread
    passes: Chance | None
    importance: Importance
    swings: Floats
    middle: float


@dataclass(frozen=True)
class Proof:
    """One draw by both methods: thin conductors, finite elements.

    Attributes
    ----------
    number : int
        Of the draw, from 1.
    at : str
        Which it is: near 5, 50 or 95 %.
    resistance, share : tuple of float, length 2
        Of the worst condition. [Ω], 1
    """

    number: int
    at: str
    resistance: tuple[float, float]
    share: tuple[float, float]


@dataclass(frozen=True)
class NextReading:
    """What a reading not yet taken is expected to narrow.

    Attributes
    ----------
    name : str
    resistance : Narrowing
        Of the resistance of the case as it stands.
    worst : Narrowing or None
        Of the largest share of a limit; None where nothing is judged.
    """

    name: str
    resistance: Narrowing
    worst: Narrowing | None


@dataclass(frozen=True)
class Uncertainty:
    """All that is said.

    Attributes
    ----------
    title, case_file, units : str
    inputs : tuple of str, length d
        What was drawn.
    drawn : tuple of tuple of str
        Each input at 5, 50 and 95 % of its probability.
    shares : ndarray of float, shape (n, d)
        Share of the probability of each input in each draw.
    answers : tuple of Answer
    unjudged : tuple of str
        Exposures that could not be judged in some draw.
    proofs : tuple of Proof
    next_readings : tuple of NextReading
        The one that narrows most first.
    seed : int
    soils : float
        Effective number of soils of the survey; 0 where the soil is not drawn from one.
    """

    title: str
    case_file: str
    units: str
    inputs: tuple[str, ...]
    drawn: tuple[tuple[str, str, str], ...]
    shares: Floats
    answers: tuple[Answer, ...]
    unjudged: tuple[str, ...]
    proofs: tuple[Proof, ...]
    next_readings: tuple[NextReading, ...]
    seed: int
    soils: float = 0.0

    def answer(self, what: What) -> Answer | None:
        """The first answer of a kind."""
        return next((item for item in self.answers if item.what == what), None)


def answers_of(
    draws: Sequence[Draw],
    *,
    swings: Sequence[Draw],
    plan: DrawPlan,
    exposures: Sequence[str],
    conditions: Sequence[str],
) -> tuple[tuple[Answer, ...], tuple[str, ...]]:
    """Answers over the draws of a plan, and exposures that cannot be judged in all of them.

    Parameters
    ----------
    swings : sequence of Draw, length 2 d + 1
        All inputs at their medians; then each at 5 and at 95 %.
    """
    found: list[Answer] = []
    unjudged: list[str] = []

    def add(what: What, exposure: str, condition: str, of: Callable[[Draw], float]) -> None:
        values, moved = (np.array([of(draw) for draw in some]) for some in (draws, swings))
        if not (np.isfinite(values).all() and np.isfinite(moved).all()):
            unjudged.append(exposure)
            return
        logs = np.log(np.maximum(values, 1e-300))
        found.append(
            Answer(
                what,
                exposure,
                condition,
                values,
                spread_of(values),
                chance_of(values <= 1.0) if what in ("share", "worst") else None,
                importance_of(logs, plan=plan),
                moved[1:].reshape(-1, 2),
                float(moved[0]),
            )
        )

    for row, condition in enumerate(conditions):
        add("resistance", "", condition, partial(_resistance, row))
        add("rise", "", condition, partial(_rise, row))
        for column, name in enumerate(exposures):
            add("share", name, condition, partial(_share, row, column))
    if exposures and not unjudged:
        add("worst", "", "", lambda draw: draw.worst)
    return tuple(found), tuple(dict.fromkeys(unjudged))


def _resistance(row: int, draw: Draw) -> float:
    return draw.resistance[row]


def _rise(row: int, draw: Draw) -> float:
    return draw.rise[row]


def _share(row: int, column: int, draw: Draw) -> float:
    return draw.shares[row][column]
