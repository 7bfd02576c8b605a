"""How many points and elements a case will ask for at least, counted before any is made."""

from ..reading.size_limits import MOST_ELEMENTS, MOST_MAP_POINTS, MOST_PROFILE_POINTS

# A mesh edge of the element size along the metal lies in some five tetrahedra at least.
_ELEMENTS_PER_EDGE = 5


def refuse_map(size: tuple[float, float], *, spacing: float | None) -> str:
    """Message when a map has more points than allowed; empty when it does not."""
    if spacing is None:
        return ""
    points = (size[0] / spacing + 1) * (size[1] / spacing + 1)
    if points <= MOST_MAP_POINTS:
        return ""
    return (
        f"{size[0]:g} m by {size[1]:g} m at {spacing:g} m is {points:,.0f} points; at most "
        f"{MOST_MAP_POINTS:,} are allowed: map a smaller area or use a wider spacing"
    )


def refuse_profile(length: float, *, spacing: float | None) -> str:
    """Message when a profile has more points than allowed; empty when it does not."""
    if spacing is None or length / spacing <= MOST_PROFILE_POINTS:
        return ""
    return (
        f"{length:g} m at {spacing:g} m is {length / spacing:,.0f} points; at most "
        f"{MOST_PROFILE_POINTS:,} are allowed: use a wider spacing"
    )


def refuse_elements(length: float, *, size: float | None, limit: int | None) -> str:
    """Message when the element size given cannot fit the limit on metal of such a length."""
    most = limit or MOST_ELEMENTS
    if size is None or _ELEMENTS_PER_EDGE * length / size <= most:
        return ""
    return (
        f"elements of {size:g} m along {length:,.4g} m of metal are more than "
        f"{_ELEMENTS_PER_EDGE * length / size:,.0f} elements; at most {most:,} are allowed: "
        "use a larger element_size"
    )
