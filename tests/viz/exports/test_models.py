"""Results as arrays and meshes by name, and the description of their file."""

import json
import re
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

import ohmscape
from ohmscape import CaseError
from ohmscape.solver.errors import MissingLibraryError
from ohmscape.solver.plan_place import PlanPlace, SitePlace
from ohmscape.solver.results.storage import save

ABOUT = Path(__file__).parents[3] / "solver" / "results" / "README.md"


def test_maps_on_a_raster_are_those_of_the_field(result):
    maps = ohmscape.map_arrays(result, spacing=0.5)
    assert maps["potential"].shape == (len(maps["y"]), len(maps["x"])) == (9, 11)
    row, column = 3, 7
    place = [[maps["x"][column], maps["y"][row]]]
    assert maps["potential"][row, column] == pytest.approx(
        result.field.surface_potential(place)[0]
    )
    touch = maps["touch box"]
    assert np.isnan(touch).any()
    seen = [item for item in result.worst if item.kind == "touch" and item.name == "box"]
    assert 0 < np.nanmax(touch) <= seen[0].voltage * (1 + 1e-6)
    step = next(item for item in result.worst if item.kind == "step")
    assert 0 < np.nanmax(maps["step"]) <= step.voltage * (1 + 1e-6)


@pytest.mark.parametrize("spacing", [0.0, -1.0, 1e-4])
def test_a_raster_that_cannot_be_is_refused(result, spacing):
    with pytest.raises(CaseError, match="spacing"):
        ohmscape.map_arrays(result, spacing=spacing)


def test_meshes_hold_what_the_files_hold(result):
    meshes = ohmscape.result_meshes(result)
    assert meshes["soil"].n_cells == len(result.solution.mesh.tetrahedra)
    assert_allclose(meshes["surface"]["step [V]"], result.surface.step)
    assert len(meshes["conductors"]["leakage [A/m]"]) == len(result.solution.elements)


def test_unknown_kinds_are_refused(result, tmp_path):
    with pytest.raises(CaseError, match="no kind 'dwg'"):
        ohmscape.export_result(result, tmp_path, kinds=["dwg"])


def test_a_result_is_read_as_its_description_says(result, tmp_path, monkeypatch, capsys):
    text = ABOUT.read_text(encoding="utf-8")
    save(result, tmp_path / "result.npz")
    monkeypatch.chdir(tmp_path)
    exec(re.search(r"```python\n(.*?)```", text, re.DOTALL)[1], {})
    title, rise, kind, _ = re.fullmatch(
        r"(.*) (\S+) (touch|step) (\S+)", capsys.readouterr().out.strip()
    ).groups()
    assert title == result.title
    assert float(rise) == pytest.approx(np.abs(result.operating.voltage).max())
    assert kind in ("touch", "step")


def test_every_path_of_the_description_is_there(result, tmp_path):
    archive = np.load(save(result, tmp_path / "result.npz"))
    tree = json.loads(archive["tree"].tobytes())
    assert f"({tree['ohmscape result']})" in ABOUT.read_text(encoding="utf-8")
    for line in re.findall(r"^\| `(result.*?)` \|", ABOUT.read_text("utf-8"), re.MULTILINE):
        first = ""
        for path in line.split("`, `"):
            first = first if path.startswith(".") else path.rsplit(".", 1)[0]
            here = tree
            for step in (first + path if path.startswith(".") else path).split("."):
                here = here[step]
            if isinstance(here, str) and here.startswith("result."):
                assert here in archive.files


def test_maps_as_a_dataset_are_read_again_with_their_units(result, tmp_path):
    """Written as netCDF by the library for that, and read by it."""
    xarray = pytest.importorskip("xarray")
    site = SitePlace(25832, "a", PlanPlace((3e5, 5e6), 0.3), (9.0, 48.0), 0.1)
    found = ohmscape.map_dataset(replace(result, site=site), spacing=0.5)
    found.to_netcdf(tmp_path / "maps.nc", engine="scipy")
    with xarray.open_dataset(tmp_path / "maps.nc", engine="scipy") as again:
        maps = ohmscape.map_arrays(result, spacing=0.5)
        assert_allclose(again["potential"], maps["potential"])
        assert_allclose(again["touch"].sel(metal="box"), maps["touch box"])
        assert_allclose(again["x"], maps["x"])
        assert again["step"].dims == ("y", "x")
        assert {again[name].attrs["units"] for name in ("potential", "step", "touch")} == {"V"}
        assert {again[name].attrs["units"] for name in ("x", "y", "easting")} == {"m"}
        place = site.place.other(np.array([[float(again["x"][3]), float(again["y"][2])]]))[0]
        at = again.isel(x=3, y=2)
        assert_allclose([at["easting"], at["northing"]], place)
        assert again.attrs["epsg"] == 25832
        assert result.title in again.attrs["title"]
        assert "licensed practice" in again.attrs["comment"]


def test_without_its_library_a_dataset_is_refused(result, monkeypatch):
    monkeypatch.setitem(sys.modules, "xarray", None)
    with pytest.raises(MissingLibraryError, match="pip install xarray"):
        ohmscape.map_dataset(result)
