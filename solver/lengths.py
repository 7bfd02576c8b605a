"""Lengths in the sentences of the solver, for readers in metres and in feet."""

_foot = 0.3048  # [m], by definition


def spoken(*values: float, figures: int = 3) -> str:
    """Length, or several joined by "to", in metres and in feet.

    Sentences are kept with results and printed in more than one place; whoever reads in feet
    finds them there.

    Parameters
    ----------
    *values : float
        [m]
    figures : int
        Significant figures.

    Examples
    --------
    >>> spoken(6.0)
    '6 m (19.7 ft)'
    >>> spoken(1.2, 1500.0, figures=2)
    '1.2 to 1,500 m (3.9 to 4,900 ft)'
    """
    metres, feet = (
        " to ".join(f"{float(f'{value / unit:.{figures}g}'):,.12g}" for value in values)
        for unit in (1.0, _foot)
    )
    return f"{metres} m ({feet} ft)"
