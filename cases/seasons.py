"""Presets for seasons: variants whose top is dry or frozen, by the steps of handbook tables."""

from collections.abc import Iterator, Sequence

from ..solver.errors import CaseError
from ..solver.model import Soil
from ..solver.soil_survey.seasons import BY_TEMPERATURE, BY_WATER

_frost = dict(BY_TEMPERATURE)
_loam = {share: loam for share, _, loam in BY_WATER}
DRIER = _loam[5.0] / _loam[15.0]
"""Resistivity of a loam with 5 % of water over that with 15 %."""
FROZEN = _frost["−5 °C"] / _frost["20 °C"]
"""Resistivity of the same loam at −5 °C over that at 20 °C."""


def season_variants(soil: Soil, *, dry: float, frost: float) -> str:
    """The block `variants` of a case with a dry and with a frozen top, to paste.

    Parameters
    ----------
    soil : Soil
        Layers of the case, thawed and moist.
    dry, frost : float
        How deep the top dries and freezes, > 0. [m]

    Raises
    ------
    CaseError
        If a depth is not positive.

    Notes
    -----
    `DRIER` and `FROZEN` times the resistivity down to that depth (IEEE Std 142-1991 section
    4.1, one loam, from memory). They are presets to see how much a season may matter.

    Examples
    --------
    >>> print(season_variants(Soil((100.0,)), dry=1.0, frost=0.5).splitlines()[-1])
            - {resistivity: 100 ohm*m}
    """
    if not min(dry, frost) > 0:
        msg = (
            f"the top dries to {dry:g} m and freezes to {frost:g} m; both have to be above 0 m"
        )
        raise CaseError(msg)
    lines = [
        "# Presets, not measurements: put readings of the season in their place. The steps are",
        "# those of one loam in IEEE Std 142-1991 section 4.1 (from memory).",
        "variants:",
    ]
    for name, depth, factor, what in (
        ("dry top", dry, DRIER, "from 15 % of water to 5 %"),
        ("frozen top", frost, FROZEN, "from 20 °C to −5 °C"),
    ):
        lines += [
            f"  - name: {name} (preset)",
            f"    soil:  # {factor:.2g} times as resistive down to {_number(depth)} m: {what}",
            "      layers:",
            *(f"        - {{{', '.join(words)}}}" for words in _layers(soil, depth, factor)),
        ]
    return "\n".join(lines)


def _layers(soil: Soil, depth: float, factor: float) -> Iterator[Sequence[str]]:
    """Layers multiplied down to a depth, the one that goes on below it cut there."""
    top = 0.0
    for k, level in enumerate(soil.resistivity):
        upright = soil.vertical_resistivity[k] if soil.vertical_resistivity else level
        bottom = top + soil.thickness[k] if k < len(soil.thickness) else None
        if top < depth:
            below = bottom is None or bottom > depth
            reached = depth if below or bottom is None else bottom
            yield _layer(factor * level, factor * upright, reached - top)
            top = reached
            if not below:
                continue
        yield _layer(level, upright, None if bottom is None else bottom - top)
        top = bottom if bottom is not None else top


def _number(value: float) -> str:
    """Four figures, as a case file has them."""
    return f"{float(f'{value:.4g}'):.12g}"


def _layer(level: float, upright: float, thickness: float | None) -> list[str]:
    words = [f"resistivity: {_number(level)} ohm*m"]
    if upright != level:
        words.append(f"vertical_resistivity: {_number(upright)} ohm*m")
    if thickness is not None:
        words.append(f"thickness: {_number(thickness)} m")
    return words
