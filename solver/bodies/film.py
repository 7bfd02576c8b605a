"""A thin poor layer on faces of a body: a vapour barrier, a liner, a shell of plastic."""

from dataclasses import dataclass
from math import isfinite

from ..errors import CaseError

every_face = ("top", "walls", "bottom")


@dataclass(frozen=True)
class Film:
    """A layer too thin to be meshed; no current runs along it.

    Attributes
    ----------
    resistance : float
        Its resistivity times its thickness, > 0. [Ω·m²]
    faces : tuple of {"top", "walls", "bottom"}
        Where it is; a ball has it all round.

    Raises
    ------
    CaseError
        If the resistance is not positive and finite, or a face is not known or twice there.
    """

    resistance: float
    faces: tuple[str, ...] = every_face

    def __post_init__(self) -> None:
        if not (isfinite(self.resistance) and self.resistance > 0):
            msg = (
                f"a film of {self.resistance:g} Ω·m²; it must be above 0 and finite: leave "
                "out a film that does nothing, and give one that insulates what its seams pass"
            )
            raise CaseError(msg)
        known = set(self.faces) <= set(every_face)
        if not self.faces or not known or len(set(self.faces)) < len(self.faces):
            given, allowed = ", ".join(self.faces), ", ".join(every_face)
            msg = f"a film on faces ({given}); name one or more of {allowed}, each once"
            raise CaseError(msg)
