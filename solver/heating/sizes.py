"""Sizes that conductors are made in, and the least that standards want for their strength."""

import math

from .materials import Material

# IEC 60228 (from memory). [mm²]
_metric = (
    1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120, 150, 185, 240, 300, 400, 500, 630, 800,
    1000, 1200,
)  # fmt: skip
_gauges = (14, 12, 10, 8, 6, 4, 3, 2, 1, 0, -1, -2, -3)  # 0 is 1/0, -3 is 4/0
# Sizes of the trade above 4/0 AWG (from memory). [kcmil]
_kcmil = (250, 300, 350, 400, 500, 600, 700, 750, 800, 900, 1000, 1250, 1500, 1750, 2000)
KCMIL = math.pi / 4 * 0.0254e-3**2 * 1000
"""A thousand circular mils: of a circle one mil wide, a thousand times. [m²]"""
_same = 1e-6  # a size that is what is needed but for round-off is enough


def wire_gauge_diameter(number: int) -> float:
    """Diameter of a solid wire of the American wire gauge, ASTM B258 (from memory). [m]

    Gauge 0 is 1/0, -1 is 2/0, -3 is 4/0.

    Notes
    -----
    0.127 mm × 92^((36 − number)/39). A stranded conductor of the same gauge is wider.
    """
    return float(0.127e-3 * 92 ** ((36 - number) / 39))


def next_sizes(section: float) -> tuple[str, str] | None:
    """The smallest sizes that have a section, by IEC 60228 and in AWG or kcmil.

    None where the largest of either is too small, and more than one conductor is needed.

    Parameters
    ----------
    section : float
        [m²]

    Examples
    --------
    >>> next_sizes(51e-6), next_sizes(110e-6)
    (('70 mm²', '1/0 AWG'), ('120 mm²', '250 kcmil'))
    """
    least = section * (1 - _same)
    metric = next((f"{size:g} mm²" for size in _metric if 1e-6 * size >= least), None)
    gauges = [(_gauge_name(n), math.pi / 4 * wire_gauge_diameter(n) ** 2) for n in _gauges]
    thick = [(f"{size} kcmil", KCMIL * size) for size in _kcmil]
    customary = next((name for name, area in (*gauges, *thick) if area >= least), None)
    return None if metric is None or customary is None else (metric, customary)


def _gauge_name(number: int) -> str:
    return f"{1 - number}/0 AWG" if number <= 0 else f"{number} AWG"


# What a conductor is for, family of its metal: least section [mm²] and what it stands for.
_least: dict[tuple[str, str], tuple[float, str]] = {
    ("lead", "copper"): (16.0, "16 mm² of copper"),
    ("lead", "aluminium"): (35.0, "35 mm² of aluminium"),
    ("lead", "steel"): (50.0, "50 mm² of steel"),
    ("lead", "zinc-coated steel"): (50.0, "50 mm² of steel"),
    ("wire", "copper"): (25.0, "25 mm² of copper"),
    ("wire", "zinc-coated steel"): (math.pi / 4 * 10**2, "round steel of 10 mm"),
    ("rod", "copper-clad steel"): (math.pi / 4 * 14.2**2, "a copper-clad rod of 14.2 mm"),
    ("rod", "zinc-coated steel"): (math.pi / 4 * 16**2, "a zinc-coated rod of 16 mm"),
}


def least_section(use: str, *, material: Material) -> tuple[float, str] | None:
    """Least section for strength and corrosion, and in words with its source; None unknown.

    EN 50522, 5.2 and annex C (from memory). The number is in m².

    Parameters
    ----------
    use : {"lead", "wire", "rod"}
        Lead to an electrode, buried conductor or driven rod.
    """
    found = _least.get((use, material.family))
    if found is None:
        return None
    size, words = found
    return 1e-6 * size, f"{words} (EN 50522, from memory)"
