"""Measured beside simulated: bias, scatter, and what alone would explain the rest."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from ..model import Floats
from .fitting import Fit, fit, misfit_of, needs_field
from .prediction import predicted
from .readings import Readings
from .state import State, Unknown
from .transfer import FieldModel

# Readings smaller than this share of the largest are left out of relative differences.
_least_share = 0.05
# For a ranking, where each step costs a field solution.
_enough, _most_steps = 1e-2, 8


@dataclass(frozen=True)
class Agreement:
    """Simulated values beside the readings.

    Attributes
    ----------
    predicted : ndarray of float, shape (n,)
        What the meter would show, in the units of the readings.
    difference : ndarray of float, shape (n,)
        Measured less simulated, in the units of the readings.
    weighted : ndarray of float, shape (n,)
        Difference over standard deviation.
    bias, scatter : float
        Mean and standard deviation of difference over simulated value, of readings above a
        twentieth of the largest of their kind; nan without any.
    misfit : float
        Root mean square of `weighted`.
    """

    predicted: Floats
    difference: Floats
    weighted: Floats
    bias: float
    scatter: float
    misfit: float

    @classmethod
    def of(cls, readings: Readings, values: Floats) -> "Agreement":
        """Agreement of readings with simulated values, shape (n,)."""
        difference = readings.value - values
        share = [item.per == "source" for item in readings.items]
        counts = np.zeros(len(values), dtype=bool)
        for kind in (np.array(share), ~np.array(share)):
            if kind.any():
                counts |= kind & (np.abs(values) > _least_share * np.abs(values[kind]).max())
        relative = difference[counts] / np.abs(values[counts])
        return cls(
            predicted=values,
            difference=difference,
            weighted=difference / readings.deviation,
            bias=float(relative.mean()) if len(relative) else float("nan"),
            scatter=float(relative.std(ddof=1)) if len(relative) > 1 else float("nan"),
            misfit=misfit_of(readings, values),
        )


@dataclass(frozen=True)
class Explanation:
    """One unknown fitted alone, all else as the case has it.

    Attributes
    ----------
    fit : Fit
        The fit of that one unknown.
    before : float
        Value of the unknown in the case.
    explained : float
        Share of the sum of squares that it takes away, 0 to 1.
    """

    fit: Fit
    before: float
    explained: float

    @property
    def unknown(self) -> Unknown:
        """The unknown."""
        return self.fit.unknowns[0]


def explanations(
    readings: Readings, *, model: FieldModel, start: State, unknowns: Sequence[Unknown]
) -> tuple[Explanation, ...]:
    """Each unknown fitted alone, the one that explains most first."""
    before = misfit_of(readings, predicted(readings, model=model, state=start))
    found = []
    for unknown in unknowns:
        dear = needs_field(unknown, model)
        alone = fit(
            readings,
            model=model,
            start=start,
            unknowns=[unknown],
            tolerance=_enough if dear else 1e-6,
            most_steps=_most_steps if dear else 100,
            renew=not dear,
        )
        explained = 1 - (alone.misfit / before) ** 2 if before > 0 else 0.0
        value = unknown.of(start, start=start)
        found.append(Explanation(alone, value, max(explained, 0.0)))
    return tuple(sorted(found, key=lambda item: item.fit.misfit))


def pairs(
    readings: Readings, *, model: FieldModel, start: State, unknowns: Sequence[Unknown]
) -> tuple[Fit, ...]:
    """Each two unknowns fitted together that need no new field, the best pair first."""
    cheap = [unknown for unknown in unknowns if not needs_field(unknown, model)]
    if len(readings) < 3:  # two unknowns would fit anything
        return ()
    found = [
        fit(readings, model=model, start=start, unknowns=two) for two in combinations(cheap, 2)
    ]
    return tuple(sorted(found, key=lambda item: item.misfit))
