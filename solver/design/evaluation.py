"""What a design reaches: voltages against limits, resistance and rise, and what decides."""

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any, Literal

from .targets import Targets

Method = Literal["thin conductors", "finite elements"]


@dataclass(frozen=True)
class Met:
    """The worst that one exposure meets in one condition.

    Attributes
    ----------
    exposure : str
        The user's name.
    voltage, limit : float
        Where the largest share of a limit is met, growth and decrement included. [V]
    error : float
        Estimated numerical error of the voltage. [V]
    most : float
        Largest (voltage + error) / limit of all places looked at, the voltage along metal
        that is not at one potential included.
    foot, other_foot : tuple of float, length 2, or None
        Plan places of the feet. [m]
    """

    exposure: str
    voltage: float
    limit: float
    error: float
    most: float
    foot: tuple[float, float] | None = None
    other_foot: tuple[float, float] | None = None


@dataclass(frozen=True)
class Condition:
    """A design in the case as it stands or in one of its variants.

    Attributes
    ----------
    variant : str
        Empty for the case as it stands.
    resistance : float
        Largest to remote earth of any driven electrode, its bonds made. [Ω]
    resistance_error : float
        Estimated, relative.
    rise, rise_error : float
        Largest potential over remote earth, and its estimated error. [V]
    met : tuple of Met
        One for each exposure that can be judged.
    unjudged : tuple of str
        Exposures that nobody meets or no limit holds for, and rules that are not kept: with
        any of them a design does not pass.
    melts : tuple of str
        Metal that is not shown to survive the fault, where the case asks.
    """

    variant: str
    resistance: float
    resistance_error: float
    rise: float
    rise_error: float
    met: tuple[Met, ...]
    unjudged: tuple[str, ...] = ()
    melts: tuple[str, ...] = ()


@dataclass(frozen=True)
class Need:
    """How much of what it may take a design takes; above 1 it misses.

    Attributes
    ----------
    what : {"exposure", "resistance", "rise"}
    condition : Condition
        In which.
    share : float
        Of what is allowed after the reserve.
    least, most : float
        The same less and with the estimated error.
    met : Met or None
        Of an exposure.
    """

    what: Literal["exposure", "resistance", "rise"]
    condition: Condition
    share: float
    least: float
    most: float
    met: Met | None = None


@dataclass(frozen=True)
class Evaluation:
    """What a design reaches in the case as it stands and in every variant.

    Attributes
    ----------
    method : Method
    conditions : tuple of Condition
    left : tuple of str
        Variants it was not looked at in: what it reaches is at best what is said here.
    """

    method: Method
    conditions: tuple[Condition, ...]
    left: tuple[str, ...] = ()

    def needs(self, targets: Targets) -> Iterator[Need]:
        """Everything that is held against something."""
        free = 1.0 - targets.reserve
        for each in self.conditions:
            for met in each.met:
                limit = free * met.limit
                yield Need(
                    "exposure",
                    each,
                    met.voltage / limit,
                    (met.voltage - met.error) / limit,
                    met.most / free,
                    met,
                )
            if targets.resistance is not None:
                share = each.resistance / targets.resistance
                error = each.resistance_error
                yield Need("resistance", each, share, share * (1 - error), share * (1 + error))
            if targets.rise is not None:
                share, off = each.rise / targets.rise, each.rise_error / targets.rise
                yield Need("rise", each, share, share - off, share + off)

    def deciding(self, targets: Targets) -> Need | None:
        """What takes the largest share; None where nothing is held against anything."""
        return max(self.needs(targets), key=lambda need: need.share, default=None)

    def worst(self, targets: Targets) -> float:
        """The largest share of what is allowed; infinite where something cannot be judged.

        At least so much, where conditions are left.
        """
        if not self.conditions:
            return 0.0  # nothing is known yet
        need = self.deciding(targets)
        if need is None or self.unjudged or self.melts:
            return float("inf")
        return need.share

    def meets(self, targets: Targets) -> bool:
        """Whether everything is below what is allowed by more than its estimated error."""
        needs = list(self.needs(targets))
        clear = not (self.unjudged or self.melts or self.left)
        return bool(needs) and clear and all(need.most <= 1.0 for need in needs)

    def surely_misses(self, targets: Targets) -> bool:
        """Whether something is above what is allowed by more than its error, or metal melts."""
        return bool(self.melts) or any(need.least > 1.0 for need in self.needs(targets))

    @property
    def unjudged(self) -> tuple[str, ...]:
        """What cannot be judged, each once."""
        return tuple(dict.fromkeys(one for each in self.conditions for one in each.unjudged))

    @property
    def melts(self) -> tuple[str, ...]:
        """Metal that is not shown to survive the fault, each once."""
        return tuple(dict.fromkeys(one for each in self.conditions for one in each.melts))

    @property
    def resistance(self) -> float:
        """The largest of all conditions. [Ω]"""
        return max(each.resistance for each in self.conditions)

    @property
    def rise(self) -> float:
        """The largest of all conditions. [V]"""
        return max(each.rise for each in self.conditions)

    def as_tree(self) -> dict[str, Any]:
        """The same as plain values, to be kept as JSON."""
        return asdict(self)

    @classmethod
    def of_tree(cls, tree: Any) -> "Evaluation":
        """What `as_tree` gave, read again."""
        return cls(
            tree["method"],
            tuple(
                Condition(
                    **{
                        **each,
                        "met": tuple(
                            Met(**{**met, **{key: _pair(met[key]) for key in _feet}})
                            for met in each["met"]
                        ),
                        "unjudged": tuple(each["unjudged"]),
                        "melts": tuple(each["melts"]),
                    }
                )
                for each in tree["conditions"]
            ),
            tuple(tree["left"]),
        )

    def among(self, variants: Sequence[str], *, of: Sequence[str]) -> "Evaluation":
        """The same in some variants alone, of all those that there are."""
        kept = [each for each in self.conditions if each.variant in variants]
        kept.sort(key=lambda each: of.index(each.variant))
        have = [each.variant for each in kept]
        left = tuple(name for name in of if name not in have)
        return replace(self, conditions=tuple(kept), left=left)


_feet = ("foot", "other_foot")


def _pair(value: Any) -> tuple[float, float] | None:
    return None if value is None else (float(value[0]), float(value[1]))
