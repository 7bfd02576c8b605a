"""Short forms of what Python users hold in their hands: a few lines, or a table of HTML.

What is shown goes with the caution that results need wherever they are read.
"""

from collections.abc import Sequence
from html import escape

from .wording import FOR_ENGINEERS_IN_SHORT, plain

Row = tuple[str, str]


def amount(value: float, unit: str) -> str:
    """Value with its unit, in thousands or thousandths where that reads better.

    Examples
    --------
    >>> amount(1204.0, "V"), amount(8.553, "Ω"), amount(0.0253, "A"), amount(0.0, "A")
    ('1.2 kV', '8.55 Ω', '25.3 mA', '0 A')
    """
    for factor, prefix in ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m")):
        if abs(value) >= factor:
            return f"{plain(value / factor)} {prefix}{unit}"
    return f"{plain(value)} {unit}"


def stack(
    resistivity: Sequence[float],
    thickness: Sequence[float],
    vertical: Sequence[float] | None = None,
) -> str:
    """Layers of a soil in one line, from the surface down."""
    layers = [
        amount(value, "Ω·m") + ("" if up == value else f" (vertically {amount(up, 'Ω·m')})")
        for value, up in zip(resistivity, vertical or resistivity, strict=True)
    ]
    upper = [f"{a} of {plain(h)} m" for a, h in zip(layers, thickness, strict=False)]
    return " over ".join([*upper, layers[-1]])


def as_text(kind: str, title: str, rows: Sequence[Row]) -> str:
    """One line of what it is, then a line for each row."""
    return (
        "\n".join([f"<{kind} {title!r}", *(f"  {name}: {value}" for name, value in rows)]) + ">"
    )


def as_html(kind: str, title: str, rows: Sequence[Row]) -> str:
    """A table for notebooks; names and titles of the user's are text, never markup."""
    cells = "".join(
        f'<tr><th style="text-align:left">{escape(name)}</th>'
        f'<td style="text-align:left">{escape(value)}</td></tr>'
        for name, value in rows
    )
    return (
        f"<table><caption><b>{escape(kind)}: {escape(title)}</b></caption>{cells}</table>"
        f"<p><small>{FOR_ENGINEERS_IN_SHORT}</small></p>"
    )
