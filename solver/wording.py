"""Numbers, shares and lengths in the sentences of the solver."""

import math
from collections.abc import Iterable

AS_GIVEN = 9  # figures of what the user or a standard wrote: all of them, without round-off

FOR_ENGINEERS_IN_SHORT = (
    "For a qualified engineer to check; local codes and licensed practice decide."
)

_foot = 0.3048  # [m], by definition


def figures_apart(value: float, *limits: float, least: int = 3) -> int:
    """Significant figures that show on which side of some limits a value lies.

    A rounded value must not seem to be on what a decision held it against. `least` is given
    where it is enough, and where no number of figures would be.

    Examples
    --------
    >>> figures_apart(107.1, 100.0), figures_apart(100.04, 100.0)
    (3, 5)
    """

    def told_apart(figures: int) -> bool:
        rounded = float(f"{value:.{figures}g}")
        return all(
            (rounded > limit, rounded < limit) == (value > limit, value < limit)
            for limit in limits
        )

    return next((n for n in range(least, AS_GIVEN) if told_apart(n)), least)


def plain(value: float, *limits: float, figures: int = 3) -> str:
    """Number without powers of ten and trailing zeros; `AS_GIVEN` for what was not worked out.

    Examples
    --------
    >>> plain(0.02498), plain(12971.3), plain(12971.3, figures=AS_GIVEN)
    ('0.025', '13,000', '12,971.3')
    """
    if not math.isfinite(value):
        return str(value)
    figures = figures_apart(value, *limits, least=figures)
    return f"{float(f'{value:.{figures}g}'):,.12g}"


def percent_text(share: float, *, decimals: int = 0, signed: bool = False) -> str:
    """Share in per cent, with a true minus sign; `signed` has a plus too.

    Examples
    --------
    >>> percent_text(0.0234, decimals=1), percent_text(-0.151, signed=True)
    ('2.3 %', '−15 %')
    """
    # Adding nought leaves no negative nought.
    number = round(100 * float(share), decimals) + 0.0
    sign = "+" if signed and number else ""
    return f"{number:{sign}.{decimals}f} %".replace("-", "−")


def spoken(*values: float, figures: int = 3) -> str:
    """Length, or several joined by "to", in metres and in feet.

    Sentences are kept with results and printed in more than one place; whoever reads in feet
    finds them there.

    Examples
    --------
    >>> spoken(6.0)
    '6 m (19.7 ft)'
    >>> spoken(1.2, 1500.0, figures=2)
    '1.2 to 1,500 m (3.9 to 4,900 ft)'
    """
    metres, feet = (
        " to ".join(plain(value / unit, figures=figures) for value in values)
        for unit in (1.0, _foot)
    )
    return f"{metres} m ({feet} ft)"


def listed(values: Iterable[float]) -> str:
    """Numbers in one line, as they were given."""
    return ", ".join(f"{value:g}" for value in values)


def number_text(count: int, noun: str) -> str:
    """Count with its noun: 1 reading, 2 readings."""
    return f"{count:,} {noun}{'s' * (count != 1)}"


def layers_text(count: int) -> str:
    """Number of soil layers: uniform soil, 2 layers."""
    return "uniform soil" if count == 1 else f"{count} layers"
