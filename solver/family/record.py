"""What one method finds of one row, as a small record of plain values."""

import math
from dataclasses import asdict, dataclass
from typing import Any, Literal

from ..design import Evaluation, Method, Targets

Standing = Literal[
    "passes", "too close", "misses", "melts", "not judged", "no limits", "not solved"
]


@dataclass(frozen=True)
class Record:
    """What one method finds of one row, in the worst of its conditions.

    Attributes
    ----------
    method : {"thin conductors", "finite elements"}
    standing : str
        "too close" is within the estimated error of a limit; "no limits" where the case has
        nothing to hold against anything.
    fault : str
        Why it could not be solved; empty where it was.
    other_method : bool
        Whether the other method may do what this one could not.
    share, least, most : float
        Largest share of what is allowed, and the same less and with its estimated error.
    decides : str
        Exposure that takes it, or "resistance" or "rise".
    condition : str
        Variant in which; empty for the case as it stands.
    voltage, limit : float
        Where that is met. [V]
    foot, other_foot : tuple of float, length 2, or None
        Plan places of the feet. [m]
    resistance : float
        Largest of all conditions. [Ω]
    rise : float
        Largest of all conditions. [V]
    unjudged, melts : tuple of str
        What could not be judged, and metal that is not shown to survive.
    doubts : tuple of str
        What of it cannot be, or hardly.
    """

    method: Method
    standing: Standing
    fault: str = ""
    other_method: bool = False
    share: float = math.nan
    least: float = math.nan
    most: float = math.nan
    decides: str = ""
    condition: str = ""
    voltage: float = math.nan
    limit: float = math.nan
    foot: tuple[float, float] | None = None
    other_foot: tuple[float, float] | None = None
    resistance: float = math.nan
    rise: float = math.nan
    unjudged: tuple[str, ...] = ()
    melts: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()

    @property
    def solved(self) -> bool:
        """Whether there is anything but a fault in it."""
        return self.standing != "not solved"

    @property
    def fails(self) -> bool:
        """Whether it was solved and is not shown to pass what it is held against."""
        return self.standing in ("misses", "too close", "not judged", "melts")

    def as_tree(self) -> dict[str, Any]:
        """The same as plain values, to be kept as JSON."""
        return asdict(self)

    @classmethod
    def of_tree(cls, tree: Any) -> "Record":
        """What `as_tree` gave, read again."""
        listed = {key: tuple(tree[key]) for key in ("unjudged", "melts", "doubts")}
        feet = {
            key: None if tree[key] is None else (float(tree[key][0]), float(tree[key][1]))
            for key in ("foot", "other_foot")
        }
        return cls(**{**tree, **listed, **feet})


def record_of(
    evaluation: Evaluation, *, targets: Targets, doubts: tuple[str, ...] = ()
) -> Record:
    """Record of what a case reaches.

    Parameters
    ----------
    targets : Targets
        What it is held against beside the limits of its exposures.
    doubts : tuple of str, optional
        What of it cannot be.
    """
    need = evaluation.deciding(targets)
    found: dict[str, Any] = {}
    if need is not None:
        met = need.met
        found = {
            "share": need.share,
            "least": need.least,
            "most": need.most,
            "decides": need.what if met is None else met.exposure,
            "condition": need.condition.variant,
        }
        if met is not None:
            found |= {
                "voltage": met.voltage,
                "limit": met.limit,
                "foot": met.foot,
                "other_foot": met.other_foot,
            }
    return Record(
        method=evaluation.method,
        standing=_standing(evaluation, targets),
        resistance=evaluation.resistance,
        rise=evaluation.rise,
        unjudged=evaluation.unjudged,
        melts=evaluation.melts,
        doubts=doubts,
        **found,
    )


def _standing(evaluation: Evaluation, targets: Targets) -> Standing:
    if evaluation.melts:
        return "melts"
    if evaluation.surely_misses(targets):
        return "misses"
    if evaluation.unjudged:
        return "not judged"
    if evaluation.deciding(targets) is None:
        return "no limits"
    return "passes" if evaluation.meets(targets) else "too close"
