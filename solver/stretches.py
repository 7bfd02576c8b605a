"""Stretches of metal near faces of bodies: shorter and finer the nearer the face is."""

from dataclasses import dataclass

from .arrays import Floats, Integers


@dataclass(frozen=True)
class Stretches:
    """What pieces of metal are cut into where bodies are near, n of them, piece by piece.

    Attributes
    ----------
    piece : ndarray of int, shape (n,)
        That each is part of; those of one follow one another from its start on.
    begin, end : ndarray of float, shape (n,)
        Where it begins and ends, as a share of the piece.
    element_size, spread : ndarray of float, shape (n,)
        As `Mesh` has them for whole pieces. [m]
    apart : ndarray of float, shape (n,)
        Most that balls of source may be apart in it. [m]
    """

    piece: Integers
    begin: Floats
    end: Floats
    element_size: Floats
    spread: Floats
    apart: Floats
