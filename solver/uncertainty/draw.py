"""What one draw gives, as plain numbers."""

from dataclasses import asdict, dataclass
from typing import Any

from ..model import Soil


@dataclass(frozen=True)
class Draw:
    """A case as one draw has it, by one method.

    Attributes
    ----------
    soil : Soil
        Of the case as it stands.
    resistance : tuple of float, length c
        Largest of a driven electrode, in the case as it stands and in each variant. [Ω]
    rise : tuple of float, length c
        Largest over remote earth. [V]
    shares : tuple of tuple of float, shape (c, e)
        What each of e exposures takes of its limit, not a number where that is not judged.
    """

    soil: Soil
    resistance: tuple[float, ...]
    rise: tuple[float, ...]
    shares: tuple[tuple[float, ...], ...]

    @property
    def worst(self) -> float:
        """Largest share of a limit in any condition; not a number where one is not judged."""
        every = [share for row in self.shares for share in row]
        if not every or any(share != share for share in every):
            return float("nan")
        return max(every)

    def as_tree(self) -> dict[str, Any]:
        """The same as plain values, to be kept as JSON."""
        return asdict(self)

    @classmethod
    def of_tree(cls, tree: Any) -> "Draw":
        """What `as_tree` gave, read again."""
        given = tree["soil"]
        upright = given.get("vertical_resistivity")
        soil = Soil(
            tuple(given["resistivity"]),
            tuple(given["thickness"]),
            vertical_resistivity=None if upright is None else tuple(upright),
        )
        shares = tuple(tuple(row) for row in tree["shares"])
        return cls(soil, tuple(tree["resistance"]), tuple(tree["rise"]), shares)
