r"""Least squares where a derivative may cost a field solution.

Columns of the Jacobian for unknowns that change the field are taken by differences once and
then kept up to date by what each step shows (Broyden 1965; from memory): with a step
:math:`\Delta x` and what it did to the residuals, :math:`\Delta r`,

.. math:: J \leftarrow J + \frac{(\Delta r - J \Delta x) \, \Delta x^T}{\Delta x^T \Delta x}

so that a step costs one field. When the search ends the columns are taken anew; if that moves
the end, it goes on.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import least_squares

from ..model import Flags, Floats

_most_rounds = 4
# Steps on one set of dear columns; in a bent valley they grow old.
_most_kept = 6
# A drop of the sum of squares that moves no unknown by more than a third of its standard
# deviation is not worth a new Jacobian.
_worth = 0.1


@dataclass
class Search:
    """Residuals of unknowns, and the Jacobian as it is known."""

    residuals: Callable[[Floats], Floats]  # residuals (n,) of unknowns (p,)
    low: Floats  # (p,): bounds
    high: Floats
    step: Floats  # (p,): steps of difference quotients
    dear: Flags  # (p,): unknowns whose change costs a field solution
    _last: list[Floats] = field(default_factory=list)

    def best(
        self,
        start: Floats,
        *,
        scale: Floats,
        tolerance: float,
        most_steps: int,
        renew: bool,
    ) -> tuple[Floats, Floats]:
        """Unknowns of the least sum of squares and the Jacobian there, shape (n, p).

        Starts within the bounds; `scale` is the natural size of each unknown. Ends where sum
        and unknowns change by less than the tolerance. `renew` takes dear columns anew at the
        end and goes on from there; without it the Jacobian is as far as the steps have shown
        it.
        """
        here, left = start, most_steps
        for _ in range(_most_rounds if renew and self.dear.any() else 1):
            self._last = []
            found = least_squares(
                self.residuals,
                here,
                jac=self._jacobian,
                bounds=(self.low, self.high),
                x_scale=scale,
                ftol=tolerance,
                xtol=tolerance,
                gtol=1e-9,
                max_nfev=min(left, _most_kept) if renew and self.dear.any() else left,
            )
            gained = float((self.residuals(here) ** 2).sum()) - 2 * found.cost
            here, left = found.x, left - found.nfev
            if left <= 0 or gained <= _worth * max(1.0, 2 * found.cost / len(found.fun)):
                break
        known = self._jacobian(here)
        return np.asarray(here), self.fresh_jacobian(here) if renew else known

    def fresh_jacobian(self, at: Floats) -> Floats:
        """All columns by differences, shape (n, p)."""
        return self._differences(at, np.ones(len(at), dtype=bool))

    def _differences(self, at: Floats, wanted: Flags) -> Floats:
        here = self.residuals(at)
        columns = np.zeros((len(here), len(at)))
        for k in np.flatnonzero(wanted):
            moved = at.copy()
            moved[k] += self.step[k]
            columns[:, k] = (self.residuals(moved) - here) / self.step[k]
        return columns

    def _jacobian(self, at: Floats) -> Floats:
        here = self.residuals(at)
        if not self._last:
            found = self.fresh_jacobian(at)
        else:
            before, residuals, kept = self._last
            found = self._differences(at, ~self.dear)
            found[:, self.dear] = kept[:, self.dear]
            step = at - before
            along = np.where(self.dear, step, 0.0)
            if (square := float(along @ along)) > 0:
                missed = here - residuals - found @ step
                found += np.outer(missed, along) / square
        self._last = [at.copy(), here, found]
        return found
