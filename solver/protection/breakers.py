"""Circuit breakers by the bands of IEC 60898-1 and UL 489."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from ..errors import CaseError
from ..limits.contract import refuse_unless_positive
from .contract import Trip
from .stepped import Band

Iec60898Curve = Literal["B", "C", "D"]

_HOUR = 3600.0
_LARGEST_IEC_60898 = 125.0  # A, scope of the standard (from memory)

# Multiples of the rating between which the instantaneous release sets in.
INSTANTANEOUS: dict[str, tuple[float, float]] = {"B": (3, 5), "C": (5, 10), "D": (10, 20)}

# UL 489: rating up to which [A], and the time within which 200 % opens it [min]. The first
# row read in a secondary source, the others from memory.
WITHIN_AT_200: tuple[tuple[float, float], ...] = (
    (30, 2),
    (50, 4),
    (100, 6),
    (150, 8),
    (225, 10),
    (400, 12),
    (600, 14),
    (800, 16),
    (1000, 18),
    (1200, 20),
    (1600, 22),
    (2000, 24),
    (2500, 26),
    (5000, 28),
    (6000, 30),
)


@dataclass(frozen=True)
class Iec60898Breaker:
    """Circuit breaker for households and the like, IEC 60898-1.

    Attributes
    ----------
    rating : float
        Rated current I_n, > 0, at most 125. [A]
    curve : {"B", "C", "D"}
        Band in which the instantaneous release sets in: 3 to 5, 5 to 10, 10 to 20 I_n.

    Raises
    ------
    CaseError
        If the rating is out of range or the curve is not one of these.

    Notes
    -----
    1.13 I_n: stays closed for 1 h (2 h above 63 A), taken here as for ever. 1.45 I_n: opens
    within that time, from warm. 2.55 I_n: opens within 1 to 60 s (120 s above 32 A). Lower
    end of the instantaneous band: not within 0.1 s; upper end: within 0.1 s. Between these
    `Band` steps. At the lower end European editions also set a longest time; it is left out,
    which makes the longest time here longer.

    Examples
    --------
    >>> Iec60898Breaker(16.0, "B").trip(2.0).certainty
    'never'
    """

    rating: float
    curve: Iec60898Curve

    source: ClassVar[str] = (
        "IEC 60898-1, table of time-current operating characteristics: multiples read in "
        "a secondary source (2002 edition), times from memory"
    )
    caution: ClassVar[str] = (
        "breaker at its reference temperature, alternating current of 50/60 Hz; warm "
        "surroundings lower the thermal part"
    )

    def __post_init__(self) -> None:
        refuse_unless_positive(self.rating, what="rating of a breaker", unit="A")
        if self.rating > _LARGEST_IEC_60898:
            msg = (
                f"rating {self.rating:g} A: IEC 60898-1 ends at {_LARGEST_IEC_60898:g} A; "
                "give the maker's curve of a larger breaker by points"
            )
            raise CaseError(msg)
        if self.curve not in INSTANTANEOUS:
            msg = f"no curve {self.curve!r} in IEC 60898-1; there are B, C and D"
            raise CaseError(msg)

    def trip(self, current: float) -> Trip:
        """Whether and when the breaker opens; see `Characteristic.trip`."""
        low, high = INSTANTANEOUS[self.curve]
        conventional = _HOUR if self.rating <= 63 else 2 * _HOUR
        thermal = 60.0 if self.rating <= 32 else 120.0
        return Band(
            unit=self.rating,
            called="rating",
            holds=1.13,
            within=((1.45, conventional), (2.55, thermal), (high, 0.1)),
            not_before=((2.55, 1.0), (low, 0.1)),
        ).trip(current)


@dataclass(frozen=True)
class Ul489Breaker:
    """Moulded-case circuit breaker, UL 489.

    Attributes
    ----------
    rating : float
        Rated current, > 0, at most 6000. [A]

    Raises
    ------
    CaseError
        If the rating is out of range.

    Notes
    -----
    100 %: stays closed. 135 %: opens within 1 h (2 h above 50 A). 200 %: opens within 2 min
    (up to 30 A) and longer with larger ratings, `WITHIN_AT_200`. The standard sets neither a
    shortest time nor a band for the instantaneous release: many breakers open within 0.1 s at
    ten times their rating, none is bound to. Where that matters give the maker's curve by
    points.

    Examples
    --------
    >>> Ul489Breaker(20.0).trip(9.0).certainty
    'never'
    """

    rating: float

    source: ClassVar[str] = (
        "UL 489, calibration at 135 % and 200 %: up to 50 A and 30 A read in a secondary "
        "source, times of larger ratings from memory"
    )
    caution: ClassVar[str] = (
        "breaker at its reference temperature; the instantaneous release is not counted: "
        "for its time give the maker's curve by points"
    )

    def __post_init__(self) -> None:
        refuse_unless_positive(self.rating, what="rating of a breaker", unit="A")
        largest = WITHIN_AT_200[-1][0]
        if self.rating > largest:
            msg = (
                f"rating {self.rating:g} A: times of UL 489 are held up to {largest:g} A; "
                "give the maker's curve of a larger breaker by points"
            )
            raise CaseError(msg)

    def trip(self, current: float) -> Trip:
        """Whether and when the breaker opens; see `Characteristic.trip`."""
        minutes = next(time for most, time in WITHIN_AT_200 if self.rating <= most)
        hour = _HOUR if self.rating <= 50 else 2 * _HOUR
        return Band(
            unit=self.rating,
            called="rating",
            holds=1.0,
            within=((1.35, hour), (2.0, 60 * minutes)),
        ).trip(current)
