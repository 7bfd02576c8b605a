"""Outlines from GeoPackages and shapefiles that another library wrote."""

from warnings import catch_warnings, simplefilter

import numpy as np
import pytest
from numpy.testing import assert_allclose
from pyogrio.raw import write
from pyproj import Transformer
from shapely import Polygon, to_wkb

from ohmscape.cases.loading import case_from
from ohmscape.solver.errors import BudgetError, CaseError

SITE = {"epsg": 25832, "origin": ["452310 m", "5411220 m"]}
CORNERS = np.array([(452300, 5411210), (452330, 5411210), (452330, 5411240), (452300, 5411240)])
INSIDE = [{"name": "inside", "electrode": "main", "polygon": {"drawn": "fence"}}]


def written(
    path, *, layer="plan", system="EPSG:25832", append=False, values=("fence", "house")
):
    """A map with two squares, the second elsewhere, in a coordinate system."""
    places = CORNERS
    if system not in ("EPSG:25832", None):
        way = Transformer.from_crs("EPSG:25832", system, always_xy=True)
        places = np.column_stack(way.transform(*CORNERS.T))
    shapes = [Polygon(places), Polygon(places + 1e-3 * (places - places.mean(axis=0)))]
    with catch_warnings():
        simplefilter("ignore")  # of a map without a system
        write(
            path,
            geometry=np.array([to_wkb(shape) for shape in shapes], dtype=object),
            field_data=[np.array(values, dtype=object), np.array([7, 8])],
            fields=["what", "number"],
            geometry_type="Polygon",
            crs=system,
            layer=layer,
            append=append,
        )


@pytest.fixture
def load(content, tmp_path):
    def build(file, *, more=None, **outline):
        named = {"name": "fence", "key": "what", "value": "fence", **outline}
        block = {**SITE, "map": {"file": file, "outlines": [named], **(more or {})}}
        return case_from(content(site=block, study={"touch": INSIDE}), folder=tmp_path)

    return build


def assert_there(case):
    points = case.study.touchables[0].points
    plan = CORNERS - (452310, 5411220)
    # Either way round, from any corner.
    assert_allclose(points[np.lexsort(points.T)], plan[np.lexsort(plan.T)], atol=2e-3)


@pytest.mark.parametrize("system", ["EPSG:25832", "EPSG:25833", "EPSG:4326", "EPSG:3857"])
@pytest.mark.parametrize("file", ["site.gpkg", "site.shp"])
def test_outlines_come_from_any_coordinate_system(load, tmp_path, file, system):
    written(tmp_path / file, system=system)
    case = load(file)
    assert_there(case)
    names = dict(case.source.tables)
    assert file in names
    assert (file == "site.shp") == ("site.prj" in names)


def test_whole_numbers_are_found_as_they_are_said(load, tmp_path):
    written(tmp_path / "site.gpkg")
    assert_there(load("site.gpkg", key="number", value="7"))


def test_a_layer_is_chosen_by_its_name(load, tmp_path):
    written(tmp_path / "site.gpkg", layer="plan")
    written(tmp_path / "site.gpkg", layer="other", append=True, values=("a", "b"))
    assert_there(load("site.gpkg", more={"layer": "plan"}))
    with pytest.raises(CaseError, match=r"several layers.* there are 'plan', 'other'"):
        load("site.gpkg")
    with pytest.raises(CaseError, match=r"layer.*did you mean.*plan"):
        load("site.gpkg", more={"layer": "plam"})
    with pytest.raises(CaseError, match=r"0 features .* there are 'a', 'b'"):
        load("site.gpkg", more={"layer": "other"})


def test_one_layer_leaves_nothing_to_choose(load, tmp_path):
    written(tmp_path / "site.shp")
    with pytest.raises(CaseError, match="a shapefile, which has one layer"):
        load("site.shp", more={"layer": "site"})


def test_maps_that_cannot_be_read_are_refused(load, tmp_path):
    (tmp_path / "site.gpkg").write_bytes(b"nothing of the kind")
    with pytest.raises(CaseError, match=r"site.map.*site.gpkg cannot be read"):
        load("site.gpkg")
    written(tmp_path / "site.shp")
    (tmp_path / "site.prj").unlink()
    with pytest.raises(CaseError, match=r"'site.prj' is no file"):
        load("site.shp")
    written(tmp_path / "none.gpkg", system=None)
    with pytest.raises(CaseError, match="says no coordinate system"):
        load("none.gpkg")


def test_maps_that_are_too_large_are_not_read(load, tmp_path, monkeypatch):
    written(tmp_path / "site.gpkg")
    monkeypatch.setattr("ohmscape.cases.site.map_files.MOST_ENTITIES", 1)
    with pytest.raises(BudgetError, match="more than 1 features"):
        load("site.gpkg")
    monkeypatch.setattr("ohmscape.cases.site.map_files.LARGEST_MAP", 1000)
    with pytest.raises(BudgetError, match=r"at most 1,000 are read"):
        load("site.gpkg")
