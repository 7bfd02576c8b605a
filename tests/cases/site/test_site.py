"""Where on the earth a case lies, held against the library of coordinate systems."""

import json

import numpy as np
import pytest
from numpy.testing import assert_allclose
from pyproj import Transformer

from ohmscape.cases.loading import case_from
from ohmscape.solver.errors import CaseError

SITE = {"epsg": 25832, "origin": ["452310 m", "5411220 m"]}
INSIDE = [{"name": "inside", "electrode": "main", "polygon": {"drawn": "fence"}}]


def world(places, epsg=25832):
    """Longitude and latitude of eastings and northings."""
    to_world = Transformer.from_crs(epsg, 4326, always_xy=True)
    return [list(to_world.transform(*place)) for place in places]


def collection(*shapes, **more):
    return {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "properties": {"what": name},
                "geometry": {"type": kind, "coordinates": coordinates},
            }
            for name, kind, coordinates in shapes
        ],
        **more,
    }


@pytest.fixture
def load(content, tmp_path):
    def build(tree, *, site=None, touch=INSIDE, **outline):
        data = tree if isinstance(tree, bytes) else json.dumps(tree).encode()
        (tmp_path / "site.geojson").write_bytes(data)
        named = {"name": "fence", "key": "what", "value": "fence", **outline}
        block = {**SITE, **(site or {}), "map": {"file": "site.geojson", "outlines": [named]}}
        return case_from(content(site=block, study={"touch": touch}), folder=tmp_path)

    return build


def test_true_north_is_where_the_meridian_runs(content):
    """tan γ = tan(λ - λ₀) sin φ on the sphere, Snyder (1987), from memory: 0.2 % of γ here."""
    ((longitude, latitude),) = world([(452310, 5411220)])
    turn = np.arctan(np.tan(np.radians(longitude - 9)) * np.sin(np.radians(latitude)))
    case = case_from(content(site=SITE))
    # West of the central meridian true north lies clockwise of grid north.
    assert turn < 0
    assert case.north == pytest.approx(-turn, rel=0.01)
    turned = case_from(content(site={**SITE, "rotation": "30 deg"}))
    assert turned.north == pytest.approx(case.north + np.pi / 6)
    assert_allclose(case.site.world, (longitude, latitude))


def test_systems_in_feet_take_their_own_unit(content):
    case = case_from(content(site={"epsg": 2263, "origin": ["300000 m", "60000 m"]}))
    to_world = Transformer.from_crs(2263, 4326, always_xy=True)
    foot = 1200 / 3937
    assert_allclose(case.site.world, to_world.transform(300000 / foot, 60000 / foot))


@pytest.mark.parametrize(
    ("site", "words"),
    [
        ({"epsg": 99_999}, "no coordinate system has the EPSG code 99999"),
        ({"epsg": 4326}, "is no projected system"),
        ({"origin": ["5411220 m", "452310 m"]}, "give easting and northing, in this order"),
        ({"origin": ["452310", "5411220 m"]}, "unit"),
    ],
)
def test_what_is_no_place_is_refused(content, site, words):
    with pytest.raises(CaseError, match=words):
        case_from(content(site={**SITE, **site}))


def test_north_and_site_are_not_both_given(content):
    with pytest.raises(CaseError, match="north follows from 'site'"):
        case_from(content(site=SITE, north="10 deg"))


def test_outlines_of_a_map_lie_where_they_are(load):
    corners = [(452300, 5411210), (452330, 5411210), (452330, 5411240), (452300, 5411240)]
    ring = world([*corners, corners[0]])
    case = load(collection(("fence", "Polygon", [ring]), ("road", "LineString", ring[:2])))
    plan = np.array(corners) - (452310, 5411220)
    assert_allclose(case.study.touchables[0].points, plan, atol=1e-4)
    assert dict(case.source.tables).keys() == {"site.geojson"}
    # A plan turned by 90 degrees: its x axis runs north.
    turned = load(collection(("fence", "Polygon", [ring])), site={"rotation": "90 deg"})
    back = np.column_stack([plan[:, 1], -plan[:, 0]])
    assert_allclose(turned.study.touchables[0].points, back, atol=1e-4)


def test_open_lines_are_runs_and_no_outlines(load):
    line = world([(452300, 5411210), (452330, 5411210), (452330, 5411240)])
    tree = collection(("fence", "LineString", line))
    run = [{"name": "a", "electrode": "main", "line": {"drawn": "fence"}}]
    assert len(load(tree, touch=run).study.touchables[0].points) == 3
    with pytest.raises(CaseError, match="does not go round"):
        load(tree)


@pytest.mark.parametrize(
    ("tree", "words"),
    [
        (b"{", "is no GeoJSON"),
        ({"type": "Feature"}, "no list of features"),
        (collection(("road", "Point", [8, 48])), "0 features .* there are 'road'"),
        (collection(("fence", "Point", [8, 48])), "is a Point"),
        (collection(("fence", "LineString", [[8, 48], [8, "x"]])), "are no places"),
        (collection(("fence", "LineString", [[8, 48], [8, 98]])), "are no places"),
        (collection(("fence", "LineString", [[8, 48], [8, float("nan")]])), "are no places"),
        (
            collection(("fence", "LineString", [[20, 48], [20, 49], [21, 49], [20, 48]])),
            "km from",
        ),
        (collection(("fence", "LineString", [[8, 48], [8, 49]]), crs={"a": "EPSG:1"}), "crs"),
        (b"[" * 100_000, "is no GeoJSON"),
    ],
)
def test_maps_that_give_no_outline_are_refused(load, tree, words):
    with pytest.raises(CaseError, match=words):
        load(tree)
