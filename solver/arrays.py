"""What the arrays that pass between the parts hold."""

from typing import Any

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]
# Effective values: real, with a sign, where all is in phase; complex where it is not.
Phasors = npt.NDArray[np.inexact[Any]]
