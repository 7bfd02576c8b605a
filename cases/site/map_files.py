"""Features of a map in any of the formats that are taken, as GeoJSON has them."""

import hashlib
import json
import math
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from ...solver.errors import BudgetError, CaseError
from ..reading.beside import content_beside
from ..reading.documents import Document, decoded
from ..reading.messages import not_among
from ..reading.size_limits import LARGEST_MAP, MOST_ENTITIES
from . import schema

_path = ("site", "map")
_world = "EPSG:4326"
# Files of a shapefile: places, index, values, coordinate system, letters.
_parts = (".shp", ".shx", ".dbf", ".prj", ".cpg")
_needed = (".shp", ".dbf", ".prj")


@dataclass(frozen=True)
class MapFeatures:
    """What a map holds.

    Attributes
    ----------
    features : list of dict
        Each with `properties` and `geometry`, as in GeoJSON.
    system : str
        Coordinate system of the places, as a code or in full.
    tables : tuple of (str, str)
        Name and hash of each file.
    """

    features: list[dict[str, Any]]
    system: str
    tables: tuple[tuple[str, str], ...]

    @property
    def geographic(self) -> bool:
        """Whether places are longitude and latitude."""
        return self.system == _world


def map_features(given: schema.Map, *, folder: Path | None, document: Document) -> MapFeatures:
    """Features of the map of a case.

    Raises
    ------
    CaseError
        If it cannot be read, says no coordinate system, or its layer is not there.
    BudgetError
        If it is larger than is read.
    """
    ending = Path(given.file).suffix.lower()
    if ending == ".shp":
        # Some of its files may be missing; what cannot be done without is asked for.
        names = [str(Path(given.file).with_suffix(each)) for each in _parts]
        names = [
            name
            for name, each in zip(names, _parts, strict=True)
            if each in _needed or (folder is not None and (folder / name).is_file())
        ]
    else:
        names = [given.file]
    contents = {
        name: content_beside(
            name, folder=folder, document=document, path=_path, most=LARGEST_MAP
        )
        for name in names
    }
    try:
        if ending in (".shp", ".gpkg"):
            features, system = _of_library(list(contents.items()), layer=given.layer)
        else:
            features, system = _of_text(contents[given.file], given), _world
    except CaseError as error:
        key = "layer" if isinstance(error, _LayerError) else "file"
        kind = BudgetError if isinstance(error, BudgetError) else CaseError
        found = document.problem(f"{given.file} {error}", path=(*_path, key))
        raise kind([found]) from error
    hashes = [(name, hashlib.sha256(one).hexdigest()) for name, one in contents.items()]
    return MapFeatures(features, system, tuple(hashes))


class _LayerError(CaseError):
    """The layer asked for is not there, or has to be chosen."""


def _of_text(content: bytes, given: schema.Map) -> list[dict[str, Any]]:
    """Features of GeoJSON; what is wrong in words that go on after its name."""
    if given.layer is not None:
        msg = "has no layers to choose from; leave 'layer' out"
        raise _LayerError(msg)
    try:
        tree = json.loads(decoded(content, file=given.file))
    except (json.JSONDecodeError, RecursionError) as error:
        msg = (
            f"is no GeoJSON: {str(error)[:100]}; a GeoPackage is called .gpkg, a shapefile .shp"
        )
        raise CaseError(msg) from error
    except CaseError as error:
        raise CaseError(error.problems[0].message) from error
    features = tree.get("features") if isinstance(tree, dict) else None
    if not isinstance(features, list) or len(features) > MOST_ENTITIES:
        msg = f"holds no list of features, or more than {MOST_ENTITIES:,}: give a collection"
        raise CaseError(msg)
    if "crs" in tree and "CRS84" not in json.dumps(tree["crs"]):
        msg = (
            "names a coordinate system of its own (crs); GeoJSON is in longitude and latitude "
            "(RFC 7946): save it so"
        )
        raise CaseError(msg)
    return [one for one in features if isinstance(one, dict)]


def _of_library(
    contents: Sequence[tuple[str, bytes]], *, layer: str | None
) -> tuple[list[dict[str, Any]], str]:
    """Features of one layer, and its coordinate system; what is wrong, after its name."""
    from pyogrio.errors import DataLayerError, DataSourceError  # takes time to load

    # Read from a copy: nothing is opened, locked or written in the folder of the case.
    with TemporaryDirectory() as made, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        paths = [Path(made) / f"map{Path(name).suffix.lower()}" for name, _ in contents]
        for path, (_, content) in zip(paths, contents, strict=True):
            path.write_bytes(content)
        try:
            return _of_layer(paths[0], layer)
        except (DataSourceError, DataLayerError, UnicodeDecodeError) as error:
            msg = (
                "cannot be read as what its name says; save it again, as a GeoPackage (.gpkg), "
                "a shapefile (.shp) or GeoJSON"
            )
            raise CaseError(msg) from error


def _of_layer(path: Path, layer: str | None) -> tuple[list[dict[str, Any]], str]:
    from pyogrio import list_layers, read_info
    from pyogrio.raw import read
    from shapely import from_wkb, to_geojson

    held = [str(name) for name, kind in list_layers(path).tolist() if kind is not None]
    if path.suffix == ".shp":
        if layer is not None:
            msg = "is a shapefile, which has one layer; leave 'layer' out"
            raise _LayerError(msg)
        layer = held[0] if held else None
    elif layer is None and len(held) == 1:
        layer = held[0]
    elif layer is None:
        there = ", ".join(map(repr, held[:20])) or "none with places"
        msg = f"has several layers, or none; say which by 'layer': there are {there}"
        raise _LayerError(msg)
    elif layer not in held:
        raise _LayerError("has " + not_among(layer, held, what="layer"))
    count = read_info(path, layer=layer)["features"]
    if not 0 <= count <= MOST_ENTITIES:
        msg = f"holds more than {MOST_ENTITIES:,} features; save what the case needs"
        raise BudgetError(msg)
    about, _, places, values = read(path, layer=layer)
    if about["crs"] is None:
        msg = "says no coordinate system; save it with the one that its places are in"
        raise CaseError(msg)
    columns = dict(zip(about["fields"].tolist(), values, strict=True))
    features = []
    for number, place in enumerate(places):
        shape = None if place is None else from_wkb(place, on_invalid="ignore")
        features.append(
            {
                "properties": {name: _value(one[number]) for name, one in columns.items()},
                "geometry": None if shape is None else json.loads(to_geojson(shape)),
            }
        )
    return features, str(about["crs"])


def _value(value: Any) -> Any:
    """A value as GeoJSON would have it: whole numbers without a point, nothing as nothing."""
    plain = value.item() if hasattr(value, "item") else value
    if isinstance(plain, float):
        return None if math.isnan(plain) else int(plain) if plain.is_integer() else plain
    return plain
