"""Which draws to make: even points in the unit cube, laid out so that inputs can be told apart.

Saltelli 2010 (Comput. Phys. Commun. 181, 259-270; from memory): two sets A and B of points, and
for each input the points of A with that input from B. Every one of them is a fair draw. They
come in independent scramblings of Sobol' points, whose scatter is the sampling error.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from ..errors import CaseError
from ..model import Floats

SCRAMBLINGS = 8
_edge = 1e-9  # keeps shares off 0 and 1, where some distributions have no end


@dataclass(frozen=True)
class DrawPlan:
    """Draws in the unit cube.

    Attributes
    ----------
    shares : ndarray of float, shape (scramblings · base · (d + 2), d)
        Share of the probability of each input, one draw a row: for each point of A, that
        point, those with one input from B each, that of B.
    base : int
        Points of A in each scrambling, a power of 2.
    inputs : int
        Number d of inputs.
    """

    shares: Floats
    base: int
    inputs: int

    def __len__(self) -> int:
        return len(self.shares)


def problem_of(inputs: int) -> dict[str, Any]:
    """Inputs as SALib names them."""
    return {
        "num_vars": inputs,
        "names": [f"x{k}" for k in range(inputs)],
        "bounds": [[0.0, 1.0]] * inputs,
    }


def draw_plan(inputs: int, *, draws: int, seed: int) -> DrawPlan:
    """Plan of about so many draws, rounded up to what evens out.

    Parameters
    ----------
    inputs : int
        Number of inputs, 1 or more.
    draws : int
        Draws wanted.
    seed : int
        Of the scramblings; the same gives the same draws.

    Raises
    ------
    CaseError
        If there is no input or no draw.
    """
    if inputs < 1 or draws < 1:
        msg = f"{inputs} inputs and {draws} draws: need one at the least"
        raise CaseError(msg)
    from SALib.sample import sobol  # takes seconds to load

    each = SCRAMBLINGS * (inputs + 2)
    base = 1 << max(0, int(np.ceil(np.log2(draws / each))))
    rows = [
        sobol.sample(
            problem_of(inputs), base, calc_second_order=False, scramble=True, seed=seed + k
        )
        for k in range(SCRAMBLINGS)
    ]
    return DrawPlan(np.clip(np.concatenate(rows), _edge, 1 - _edge), base, inputs)
