"""Contact resistances of electrodes, shared over their metal in the soil."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import scipy.sparse as sparse

from ..metal.contacts import in_series
from .elements import LineElements
from .linear import TwoLevel
from .short_range import ShortRange
from .system import System


def behind_contacts(
    near: ShortRange,
    *,
    contact: Sequence[float],
    ground: sparse.csr_matrix,
    average: sparse.csr_matrix,
    elements: LineElements,
    preconditioner: TwoLevel,
) -> ShortRange:
    """The short-range matrix with the contact of each group in series, by solutions for it.

    Parameters
    ----------
    contact : sequence of float
        Of each group. [Ω]
    ground : csr_matrix
        Stiffness plus open boundary. [S]
    average : csr_matrix
        Averages under the balls of source.

    Raises
    ------
    TrustError
        If some of an electrode draws current while all of it is driven.
    """
    system = System(ground, average=average, short_range=near, piece=elements.piece)
    groups = range(len(contact))
    current = np.array(
        [
            system.solve((elements.group == k).astype(float), preconditioner=preconditioner)[1]
            for k in groups
        ]
    )
    alone = np.linalg.inv(elements.by_group(current)) @ current
    lines, line = elements.lines()
    member = sparse.csr_matrix((np.ones(len(line)), (line, np.arange(len(line)))))
    ohms = np.zeros(len(lines))
    for group, resistance in enumerate(contact):
        mine = lines.group == group
        ohms[mine] = in_series(resistance, share=(member @ alone[group])[mine])
    series = member.T @ sparse.diags_array(ohms) @ member
    return replace(near, wires=sparse.csr_matrix(near.wires + series))
