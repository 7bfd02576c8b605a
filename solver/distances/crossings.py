"""Where functions pass zero, many of them at once."""

from collections.abc import Callable

import numpy as np

from ..model import Floats

_close = 1e-6  # two ends of an interval, relative to the outer one


def crossings(function: Callable[[Floats], Floats], *, inner: Floats, outer: Floats) -> Floats:
    """Where each of some functions passes zero between two ends, shape (n,).

    By secants, where the value at an end that stays is halved so that it moves as well
    (Dowell and Jarratt, BIT 11, 1971, from memory).

    Parameters
    ----------
    function : callable
        Values of all functions, each at its own place; above zero at the inner ends and not at
        the outer ones.
    inner, outer : ndarray of float, shape (n,)
        Ends, 0 <= inner < outer.
    """
    at_inner, at_outer = function(inner), function(outer)
    before = np.zeros(len(inner))
    while np.any(outer - inner > _close * outer):
        least = 0.4 * _close * outer
        secant = (inner * at_outer - outer * at_inner) / (at_outer - at_inner)
        tried = np.clip(secant, inner + least, outer - least)
        value = function(tried)
        above = value > 0
        at_inner = np.where(above, value, np.where(before < 0, at_inner / 2, at_inner))
        at_outer = np.where(above, np.where(before > 0, at_outer / 2, at_outer), value)
        inner, outer = np.where(above, tried, inner), np.where(above, outer, tried)
        before = np.where(above, 1.0, -1.0)
    return np.asarray((inner + outer) / 2)
