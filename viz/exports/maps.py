"""A result as a map: GeoJSON in longitude and latitude, GeoPackage in the site's own system."""

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np
from pyogrio.raw import write as write_layer
from pyproj import Transformer
from shapely import Geometry, LineString, Point, Polygon, force_2d, to_wkb

from ...solver.errors import CaseError, Problem
from ...solver.model import Floats
from ...solver.plan_place import SitePlace
from ...solver.results.result import Result
from ..cautions import BELOW_PICTURES
from .about import what_it_is
from .features import REACHED, RODS, Feature, FeatureKind, plan_features

_decimals = 9  # of a degree: a tenth of a millimetre
_fields = ("theme", "name", "value", "unit", "words")


def write_geojson(result: Result, folder: Path) -> Path:
    """Write ``plan.geojson``: all features in longitude and latitude (WGS 84, RFC 7946).

    `CaseError` if the case does not say where on the earth it lies.
    """
    site = _site(result)
    to_world = Transformer.from_crs(site.epsg, 4326, always_xy=True)
    features = []
    for feature in plan_features(result):
        plan = site.place.other(feature.points)
        world = np.column_stack(to_world.transform(plan[:, 0], plan[:, 1]))
        features.append(
            {
                "type": "Feature",
                "geometry": _geometry(feature, np.round(world, _decimals)),
                "properties": dict(zip(_fields, _values(feature), strict=True)),
            }
        )
    tree = {
        "type": "FeatureCollection",
        "name": result.title,
        "about": _about(result),
        "features": features,
    }
    path = folder / "plan.geojson"
    path.write_text(json.dumps(tree, ensure_ascii=False) + "\n", encoding="utf-8")
    return path


def write_geopackage(result: Result, folder: Path) -> Path:
    """Write ``plan.gpkg``: a layer for each theme in the coordinate system of the site.

    `CaseError` if the case does not say where on the earth it lies.
    """
    site = _site(result)
    path = folder / "plan.gpkg"
    by_layer: dict[str, list[Feature]] = {}
    for feature in plan_features(result):
        # Lines, outlines and places of one theme are layers of their own, as the format has it.
        by_layer.setdefault(_layer(feature), []).append(feature)
    for number, (layer, features) in enumerate(by_layer.items()):
        columns = zip(*(_values(feature) for feature in features), strict=True)
        write_layer(
            path,
            layer=layer,
            driver="GPKG",
            geometry=np.array(
                [to_wkb(_shape(one, site.place.other(one.points))) for one in features],
                dtype=object,
            ),
            field_data=[_column(column) for column in columns],
            fields=_fields,
            geometry_type=_types[_kind(features[0])],
            crs=f"EPSG:{site.epsg}",
            append=number > 0,
            dataset_metadata={"about": _about(result)},
        )
    return path


_types = {"line": "LineString", "outline": "Polygon", "place": "Point"}


def _about(result: Result) -> str:
    """What it is, and what to mind."""
    return f"{'. '.join(what_it_is(result))}. {BELOW_PICTURES}"


def _site(result: Result) -> SitePlace:
    if result.site is None:
        msg = (
            "the case does not say where on the earth it lies: a map needs its 'site' (epsg "
            "and origin)"
        )
        raise CaseError([Problem(msg, file=result.case_file)])
    return result.site


def _kind(feature: Feature) -> FeatureKind:
    """Shape of a feature seen from above, where a rod is a place."""
    return "place" if feature.theme == RODS else feature.kind


def _layer(feature: Feature) -> str:
    """Layer of a feature: that of its theme, or of one kind of shape where it has several."""
    several = feature.theme == REACHED
    return f"{feature.theme} {feature.kind}s" if several else feature.theme


def _values(feature: Feature) -> tuple[Any, ...]:
    return tuple(getattr(feature, name) for name in _fields)


def _column(values: Iterable[Any]) -> np.ndarray:
    """Values of one field: numbers where all are or are missing, else text."""
    held = list(values)
    if any(isinstance(value, float) for value in held):
        return np.array([np.nan if value is None else value for value in held])
    return np.array(["" if value is None else value for value in held], dtype=object)


def _geometry(feature: Feature, world: Floats) -> dict[str, Any]:
    places = world.tolist()
    if _kind(feature) == "place":
        return {"type": "Point", "coordinates": places[0]}
    if feature.kind == "line":
        return {"type": "LineString", "coordinates": places}
    shape = Polygon(places)
    # Outer rings run counterclockwise (RFC 7946, 3.1.6).
    ring = places if shape.exterior.is_ccw else places[::-1]
    return {"type": "Polygon", "coordinates": [[*ring, ring[0]]]}


def _shape(feature: Feature, plan: Floats) -> Geometry:
    if _kind(feature) == "place":
        return Point(plan[0, :2])
    if feature.kind == "outline":
        return Polygon(plan[:, :2])
    return force_2d(LineString(plan))
