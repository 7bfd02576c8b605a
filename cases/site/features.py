"""Outlines from a map beside the case."""

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from ...solver.errors import CaseError, Problem
from ...solver.model import Floats
from ...solver.plan_place import SitePlace
from ..outlines import NamedOutline
from ..reading.documents import Document
from ..reading.size_limits import LARGEST_LENGTH, MOST_POINTS
from . import schema
from .map_files import map_features
from .placing import from_system

_farthest = 1e8  # of a coordinate on the earth, in feet


def map_outlines(
    given: schema.Map, *, site: SitePlace, folder: Path | None, document: Document
) -> tuple[dict[str, NamedOutline], tuple[tuple[str, str], ...]]:
    """Each outline that a case takes from its map by its name; name and hash of its files.

    Raises
    ------
    CaseError
        If the map cannot be read, or has none or several of an outline, or it is far away.
    BudgetError
        If the map is larger than is read.
    """
    path = ("site", "map")
    read = map_features(given, folder=folder, document=document)
    most = (180.0, 90.0) if read.geographic else (_farthest, _farthest)
    found: dict[str, NamedOutline] = {}
    problems: list[Problem] = []
    for number, outline in enumerate(given.outlines):
        try:
            places, closed = _line(read.features, outline, given.file, most=most)
            corners = from_system(site, read.system, places)
            _refuse_far(corners, site)
            words = f"{outline.key!r} {outline.value!r} of {given.file}"
            found[outline.name] = NamedOutline(corners, closed, words)
        except CaseError as error:
            where = (*path, "outlines", number)
            problems += [document.problem(one.message, path=where) for one in error.problems]
    if problems:
        raise CaseError(problems)
    return found, read.tables


def _line(
    features: list[dict[str, Any]],
    outline: schema.MapOutline,
    file: str,
    *,
    most: tuple[float, float],
) -> tuple[Floats, bool]:
    """Places of the one feature that an outline means, and whether it goes round."""
    matching = [one for one in features if _property(one, outline.key) == outline.value]
    if len(matching) != 1:
        seen = sorted({_property(one, outline.key) for one in features} - {""})
        there = ", ".join(map(repr, seen[:10])) or "none"
        msg = (
            f"{len(matching)} features of {file} have {outline.key!r} {outline.value!r}; one "
            f"has to. Values of {outline.key!r} there are {there}"
        )
        raise CaseError(msg)
    geometry = matching[0].get("geometry")
    kind = geometry.get("type") if isinstance(geometry, dict) else None
    lists = list(_rings(geometry)) if isinstance(geometry, dict) else []
    if len(lists) != 1:
        msg = (
            f"{outline.key!r} {outline.value!r} of {file} is a {kind or 'feature of no place'} "
            f"with {len(lists)} lines; an outline is one polygon without holes, or one line"
        )
        raise CaseError(msg)
    places = _numbers(lists[0], outline, file, most)
    closed = bool((places[0] == places[-1]).all()) and len(places) > 3
    return (places[:-1] if closed else places), closed


def _property(feature: dict[str, Any], key: str) -> str:
    properties = feature.get("properties")
    value = properties.get(key) if isinstance(properties, dict) else None
    return "" if value is None or isinstance(value, dict | list) else str(value).strip()


def _rings(geometry: dict[str, Any]) -> Iterator[Any]:
    """Lines of a geometry of any kind."""
    kind, coordinates = geometry.get("type"), geometry.get("coordinates")
    depth = {"LineString": 0, "Polygon": 1, "MultiLineString": 1, "MultiPolygon": 2}
    lists = [coordinates] if kind in depth else []
    for _ in range(depth.get(str(kind), 0)):
        lists = [inner for one in lists if isinstance(one, list) for inner in one]
    yield from lists


def _numbers(
    line: Any, outline: schema.MapOutline, file: str, bounds: tuple[float, float]
) -> Floats:
    msg = f"{outline.key!r} {outline.value!r} of {file} has coordinates that are no places"
    if not isinstance(line, list) or not 2 <= len(line) <= MOST_POINTS + 1:
        raise CaseError(msg)
    for place in line:
        if not isinstance(place, list) or len(place) < 2:
            raise CaseError(msg)
        for value, most in zip(place[:2], bounds, strict=True):
            number = isinstance(value, int | float) and not isinstance(value, bool)
            if not number or not math.isfinite(value) or abs(value) > most:
                raise CaseError(msg)
    return np.array([place[:2] for place in line], dtype=float)


def _refuse_far(corners: Floats, site: SitePlace) -> None:
    far = float(np.abs(corners).max()) if np.isfinite(corners).all() else math.inf
    if far > LARGEST_LENGTH:
        msg = (
            f"lies {far / 1000:,.0f} km from [0, 0] of the case, which is at longitude "
            f"{site.world[0]:.4f}, latitude {site.world[1]:.4f}: check epsg and origin"
        )
        raise CaseError(msg)
