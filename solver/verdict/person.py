"""What somebody gets at a place where the voltage is, with feet that were solved."""

from dataclasses import dataclass

from ..limits import Effect, Limit

Place = tuple[float, float]


@dataclass(frozen=True)
class PersonThere:
    """Somebody at one of the worst places of an exposure.

    Attributes
    ----------
    exposure, kind : str
        Name and kind of the exposure.
    metals : tuple of str
        What is touched; empty for a step.
    place : tuple of float, length 2
        Where the voltage was found: the middle of two feet that touch, one foot of a step. [m]
    feet : tuple of (float, float), length 2
        Middle of each foot. [m]
    stands_on : str
        What the feet were solved on.
    voltage, permitted : float
        Prospective voltage there, and what the verdict permits. [V]
    by_formula : float
        Resistance of the feet in series with the body by 1.5 ρ, 6 ρ and C_s. [Ω]
    solved : float or None
        The same by the solved ground; None where it could not be solved. [Ω]
    limit : Limit or None
        What the limit set permits with these feet.
    effect : Effect or None
        What the voltage does to the body behind these feet.
    most_current : float or None
        Current through the body at that limit. [A]
    shoes : float
        Resistance of shoes in series, in the loaded voltage too. [Ω]
    unsolved : str
        Why the feet could not be solved; empty where they were.
    """

    exposure: str
    kind: str
    metals: tuple[str, ...]
    place: Place
    feet: tuple[Place, Place]
    stands_on: str
    voltage: float
    permitted: float
    by_formula: float
    solved: float | None = None
    limit: Limit | None = None
    effect: Effect | None = None
    most_current: float | None = None
    shoes: float = 0.0
    unsolved: str = ""

    @property
    def off(self) -> float | None:
        """How far the formula is from the solved feet, as a share of these."""
        return None if self.solved is None else self.by_formula / self.solved - 1

    @property
    def share(self) -> float | None:
        """Voltage over what is permissible with the solved feet; above 1 is unsafe."""
        return None if self.limit is None else self.voltage / self.limit.voltage

    @property
    def worse(self) -> bool:
        """Whether the body gets too much where the formula lets the place pass."""
        return self.share is not None and self.share > 1 and self.voltage <= self.permitted

    @property
    def better(self) -> bool:
        """Whether the body would get no more than permitted where the formula fails it."""
        return self.share is not None and self.share <= 1 and self.voltage > self.permitted
