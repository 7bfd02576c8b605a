"""Limits for people whom the common limit sets leave out: children, wet skin, no shoes.

IEC TS 60479-1:2005 says in its scope that its values hold for people in normal health,
children among them, whatever their age and weight (from memory); its bodies were adults'. It
alone holds wet skin. Nothing here holds a limit for people in water.
"""

from dataclasses import dataclass
from typing import Literal, get_args

from .contract import Effect, Exposure, Limit, LimitSet, Standing
from .iec_60479 import Iec60479
from .livestock import Livestock

Person = Literal["children", "wet", "barefoot", "swimmers"]
PEOPLE: tuple[str, ...] = get_args(Person)

_words = {"children": "children", "wet": "people with wet skin", "barefoot": "barefoot people"}
_IN_WATER = (
    "no limit is held for people in water, who are reached from all sides and cannot save "
    "themselves; the code for pools decides (IEC 60364-7-702, NEC article 680, from memory) "
    "with the authority in charge"
)
_ANIMALS = "a limit for livestock says nothing of people; give the exposure another limit"


@dataclass(frozen=True)
class LowerOf:
    """Of two limits the lower, wherever one stands."""

    asked: LimitSet  # what the user chose
    fitting: Iec60479  # what fits those who are there

    @property
    def name(self) -> str:
        """The user's name with what was added."""
        return f"{self.asked.name}, or {self.fitting.name} where lower"

    @property
    def source(self) -> str:
        """Both sources."""
        return f"{self.asked.source}; {self.fitting.source}"

    @property
    def caution(self) -> str:
        """That of the added one."""
        return self.fitting.caution

    @property
    def protects(self) -> str:
        """Whom the added one protects."""
        return self.fitting.protects

    @property
    def exposures(self) -> tuple[Exposure, ...]:
        """What the chosen one limits."""
        return self.asked.exposures

    @property
    def durations(self) -> tuple[float, float]:
        """Durations both hold for. [s]"""
        one, other = self.asked.durations, self.fitting.durations
        return max(one[0], other[0]), min(one[1], other[1])

    @property
    def pace(self) -> float | None:
        """Step length of the chosen one. [m]"""
        return self.asked.pace

    def permissible(self, exposure: Exposure, *, duration: float, standing: Standing) -> Limit:
        """The lower prospective voltage; see `LimitSet.permissible`."""
        both = [
            item.permissible(exposure, duration=duration, standing=standing)
            for item in (self.asked, self.fitting)
        ]
        return min(both, key=lambda limit: limit.voltage)

    def effect(
        self, exposure: Exposure, *, voltage: float, duration: float, standing: Standing
    ) -> Effect:
        """Effect on the body of those who are there; see `LimitSet.effect`."""
        return self.fitting.effect(
            exposure, voltage=voltage, duration=duration, standing=standing
        )


def unjudged(people: tuple[Person, ...], limit_set: LimitSet) -> str:
    """Why nothing can be judged for these people; empty where it can."""
    if "swimmers" in people:
        return _IN_WATER
    return _ANIMALS if people and isinstance(limit_set, Livestock) else ""


def fitted(limit_set: LimitSet, people: tuple[Person, ...]) -> LimitSet:
    """The limit that fits those who are there; never above the one given.

    Parameters
    ----------
    people : tuple of str
        Of `PEOPLE`, without swimmers.

    Notes
    -----
    For all of them the 5 % body of IEC 60479-1 without shoes, on wet skin where it is wet, by
    curve c1 at most. A set of IEC 60479-1 is changed to that; with any other the lower one
    counts.
    """
    if not people:
        return limit_set
    if isinstance(limit_set, Iec60479):
        skin = limit_set.skin
        fitting = Narrowed(
            **vars(limit_set)
            | {
                "curve": "c1" if limit_set.curve == "c2" else limit_set.curve,
                "percentile": 5,
                "path_credit": False,
                "footwear": 0.0,
                "skin": "water-wet" if "wet" in people and skin == "dry" else skin,
            },
            people=people,
        )
        return fitting
    skin = "water-wet" if "wet" in people else "dry"
    return LowerOf(limit_set, Narrowed("IEC 60479-1", skin=skin, people=people))


@dataclass(frozen=True)
class Narrowed(Iec60479):
    """IEC 60479-1 as it fits those who are there."""

    people: tuple[Person, ...] = ()

    @property
    def protects(self) -> str:
        """Whom it protects."""
        return f"{in_words(self.people)} ({self.skin} skin, no shoes)"


def in_words(people: tuple[Person, ...]) -> str:
    """Who is there."""
    return ", ".join(_words.get(item, item) for item in people)
