"""Usual resistivities by kind of soil, to hold a value against before it is relied on.

EN 50522:2010 annex J, table J.1 (from memory); the lower end for sea water is a common value
(no source). Water and frost move a soil out of its range.
"""

# Kind; usual resistivity from, to [Ω·m].
USUAL_RESISTIVITY: tuple[tuple[str, float, float], ...] = (
    ("sea water", 0.2, 0.3),
    ("marsh", 5.0, 40.0),
    ("loam, clay, humus", 20.0, 200.0),
    ("sand", 200.0, 2500.0),
    ("gravel", 2000.0, 3000.0),
    ("sandstone", 2000.0, 3000.0),
    ("moraine", 200.0, 30_000.0),
    ("granite", 1000.0, 50_000.0),
)


def usual_kinds(resistivity: float) -> tuple[str, ...]:
    """Kinds of soil whose usual range holds a resistivity [Ω·m]; empty where none does."""
    return tuple(name for name, low, high in USUAL_RESISTIVITY if low <= resistivity <= high)
