"""Plans as maps, read again by the library for them."""

import json

import numpy as np
import pytest
from numpy.testing import assert_allclose
from pyogrio import list_layers, read_info
from pyogrio.raw import read
from pyproj import Transformer
from shapely import from_geojson, from_wkb, get_coordinates

from ohmscape import load_case, run_case
from ohmscape.cases.loading import load_case_text
from ohmscape.solver.errors import CaseError
from ohmscape.viz.exports.features import METAL, POTENTIAL, RODS, plan_features
from ohmscape.viz.exports.maps import write_geojson, write_geopackage

SITE = """
site:
  epsg: 25832
  origin: [452310 m, 5411220 m]
  rotation: 25 deg
"""
TURN = np.radians(25)


@pytest.fixture(scope="module")
def result():
    lines = load_case("pad-transformer").source.text.splitlines()
    text = "\n".join(line for line in lines if not line.startswith("north:"))
    return run_case(load_case_text(text + SITE), accuracy="coarse")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("maps")


def grid(points):
    """Easting and northing of points of the case."""
    turn = np.array([[np.cos(TURN), np.sin(TURN)], [-np.sin(TURN), np.cos(TURN)]])
    return points[:, :2] @ turn + (452310, 5411220)


def test_geojson_has_every_feature_within_a_millimetre(result, folder):
    tree = json.loads(write_geojson(result, folder).read_text(encoding="utf-8"))
    assert "crs" not in tree
    assert "licensed practice" in tree["about"]
    to_grid = Transformer.from_crs(4326, 25832, always_xy=True)
    features = list(plan_features(result))
    assert len(tree["features"]) == len(features)
    for feature, written in zip(features, tree["features"], strict=True):
        shape = from_geojson(json.dumps(written["geometry"]))
        assert shape.is_valid or feature.kind == "outline"
        places = np.column_stack(to_grid.transform(*get_coordinates(shape).T))
        wanted = grid(feature.points[:1] if feature.theme == RODS else feature.points)
        if feature.kind == "outline":
            assert shape.exterior.is_ccw
            order = np.lexsort(np.round(wanted, 3).T)
            places = places[:-1]
            places, wanted = places[np.lexsort(np.round(places, 3).T)], wanted[order]
        assert_allclose(np.sort(places, axis=0), np.sort(wanted, axis=0), atol=1e-3)
        assert written["properties"]["theme"] == feature.theme
        assert written["properties"]["value"] == feature.value


def test_a_geopackage_has_a_layer_for_each_theme_in_the_system_of_the_site(result, folder):
    path = write_geopackage(result, folder)
    layers = {name for name, _ in list_layers(path)}
    features = list(plan_features(result))
    assert {METAL, POTENTIAL, "unsafe", "worst places"} <= layers
    assert read_info(path, layer=RODS)["geometry_type"] == "Point"
    assert read_info(path, layer=METAL)["crs"] == "EPSG:25832"
    total = sum(read_info(path, layer=name)["features"] for name in layers)
    assert total == len(features)
    _, _, shapes, fields = read(path, layer=POTENTIAL, columns=["value", "unit"])
    mine = [feature for feature in features if feature.theme == POTENTIAL]
    for feature, shape, value in zip(mine, shapes, fields[0], strict=True):
        assert value == feature.value
        assert_allclose(get_coordinates(from_wkb(shape)), grid(feature.points), atol=1e-6)


def test_a_case_that_lies_nowhere_has_no_map(result, folder):
    nowhere = run_case(load_case("driven-rod"), accuracy="coarse")
    with pytest.raises(CaseError, match="needs its 'site'"):
        write_geojson(nowhere, folder)
