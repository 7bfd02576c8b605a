"""Outlines from a map (GeoJSON) beside the case."""

import hashlib
import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from ...solver.errors import CaseError, Problem
from ...solver.model import Floats
from ...solver.plan_place import SitePlace
from ..outlines import NamedOutline
from ..reading.beside import content_beside
from ..reading.documents import Document, decoded
from ..reading.size_limits import LARGEST_LENGTH, LARGEST_MAP, MOST_ENTITIES, MOST_POINTS
from . import schema
from .placing import from_world


def map_outlines(
    given: schema.Map, *, site: SitePlace, folder: Path | None, document: Document
) -> tuple[dict[str, NamedOutline], str]:
    """Each outline that a case takes from its map by its name, and the hash of the map.

    Raises
    ------
    CaseError
        If the map cannot be read, or has none or several of an outline, or it is far away.
    BudgetError
        If the map is larger than is read.
    """
    path = ("site", "map")
    content = content_beside(
        given.file, folder=folder, document=document, path=path, most=LARGEST_MAP
    )
    features = _features(content, given.file)
    found: dict[str, NamedOutline] = {}
    problems: list[Problem] = []
    for number, outline in enumerate(given.outlines):
        try:
            places, closed = _line(features, outline, given.file)
            corners = from_world(site, places)
            _refuse_far(corners, site)
            words = f"{outline.key!r} {outline.value!r} of {given.file}"
            found[outline.name] = NamedOutline(corners, closed, words)
        except CaseError as error:
            where = (*path, "outlines", number)
            problems += [document.problem(one.message, path=where) for one in error.problems]
    if problems:
        raise CaseError(problems)
    return found, hashlib.sha256(content).hexdigest()


def _features(content: bytes, file: str) -> list[dict[str, Any]]:
    try:
        tree = json.loads(decoded(content, file=file))
    except (json.JSONDecodeError, RecursionError) as error:
        msg = f"is no GeoJSON: {str(error)[:100]}"
        raise CaseError([Problem(msg, file=file)]) from error
    features = tree.get("features") if isinstance(tree, dict) else None
    if not isinstance(features, list) or len(features) > MOST_ENTITIES:
        msg = f"holds no list of features, or more than {MOST_ENTITIES:,}: give a collection"
        raise CaseError([Problem(msg, file=file)])
    if "crs" in tree and "CRS84" not in json.dumps(tree["crs"]):
        msg = (
            "names a coordinate system of its own (crs); GeoJSON is in longitude and latitude "
            "(RFC 7946): save it so"
        )
        raise CaseError([Problem(msg, file=file)])
    return [one for one in features if isinstance(one, dict)]


def _line(
    features: list[dict[str, Any]], outline: schema.MapOutline, file: str
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
    places = _numbers(lists[0], outline, file)
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


def _numbers(line: Any, outline: schema.MapOutline, file: str) -> Floats:
    msg = f"{outline.key!r} {outline.value!r} of {file} has coordinates that are no places"
    if not isinstance(line, list) or not 2 <= len(line) <= MOST_POINTS + 1:
        raise CaseError(msg)
    for place in line:
        if not isinstance(place, list) or len(place) < 2:
            raise CaseError(msg)
        for value, most in zip(place[:2], (180.0, 90.0), strict=True):
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
