"""Results kept by each release since 0.1.0 load, and say what is right."""

import importlib.util
import json
import math
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from ohmscape.solver.errors import ResultError
from ohmscape.solver.model import Soil
from ohmscape.solver.results import storage
from ohmscape.solver.results.packing import pack
from ohmscape.solver.results.result import Result
from ohmscape.solver.results.storage import format_version, load, save

FOLDER = Path(__file__).parent / "samples"
SAMPLES = sorted(FOLDER.glob("format-*.npz"))
ROD_LENGTH, ROD_RADIUS = 1.2, 0.0071  # of the case in the samples [m]


def recipe():
    """The script beside the samples, which says what soil their readings were made of."""
    spec = importlib.util.spec_from_file_location("make", FOLDER / "make.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def rod_in_uniform(resistivity):
    """Driven rod, as Dwight 1936 has it. [Ω]"""
    slender = math.log(4 * ROD_LENGTH / ROD_RADIUS) - 1
    return resistivity * slender / (2 * math.pi * ROD_LENGTH)


def test_there_is_a_sample_of_every_format_that_is_read():
    numbers = {int(path.stem.removeprefix("format-")) for path in SAMPLES}
    assert numbers == {*storage.upgrades, format_version}
    assert sorted(numbers) == list(range(7, format_version + 1))


@pytest.fixture(scope="module", params=SAMPLES, ids=lambda path: path.stem)
def result(request):
    return load(request.param)


def test_the_sample_is_of_its_format():
    for path in SAMPLES:
        with np.load(path) as archive:
            tree = json.loads(archive["tree"].tobytes())
        assert path.stem == f"format-{tree['ohmscape result']}"


def test_the_survey_gives_back_the_soil_its_readings_were_made_of(result):
    made, soil = recipe(), result.sounding.chosen.soil
    # Readings of five figures of exactly two layers.
    assert_allclose(soil.resistivity, (made.UPPER, made.LOWER), rtol=2e-3)
    assert_allclose(soil.thickness, [made.DEPTH], rtol=2e-3)
    assert isinstance(soil, Soil)


def test_the_rod_lies_between_those_in_either_layer(result):
    resistance = result.resistance(0)
    assert rod_in_uniform(60.0) < resistance < rod_in_uniform(200.0)
    # All of the rod is in the upper layer, which ends at less than its length below its tip.
    assert resistance > 0.8 * rod_in_uniform(200.0)
    assert_allclose(resistance, result.second_opinion.resistance[0, 0], rtol=0.02)


def test_supply_voltage_divides_over_wire_rod_and_source(result):
    resistance = result.resistance(0)
    current = 230 / (0.5 + 5.0 + resistance)
    assert_allclose(result.rise, current * resistance, rtol=1e-9)
    assert_allclose(abs(result.operation.current_through("source earth")), current, rtol=1e-9)
    assert_allclose(result.field.potential([[0.0, 0.0, 0.0]]).real, result.rise, rtol=0.05)


def test_devices_and_verdict_are_there(result):
    trips = {item.name: item.trip for item in result.clearing.answers}
    assert set(trips) == {"B16", "30 mA device"}
    # Some 1.6 A through the rod: far above 30 mA, far below 16 A.
    assert math.isfinite(trips["30 mA device"].longest)
    assert math.isinf(trips["B16"].longest)
    assert result.clearing.trip.longest == trips["30 mA device"].longest
    assert result.verdict.longest == result.clearing.trip.longest
    names = [judgement.name for judgement in result.verdict.judgements]
    assert names == ["touching the lathe", "walking by"]
    assert result.verdict.tightest.name == "touching the lathe"


def test_it_is_the_case_it_says(result):
    assert result.title == "Sample of a kept result"
    assert result.case_text == recipe().case_text()
    assert [profile.name for profile in result.profiles] == ["to the gate"]
    assert np.all(np.diff(result.profiles[0].potential.real) < 0)


def test_saved_again_it_is_of_the_present_format_and_the_same(result, tmp_path):
    again = load(save(result, tmp_path / "again.npz"))
    assert again.resistance(0) == result.resistance(0)
    assert again.sounding.warnings == result.sounding.warnings
    assert again.seconds == result.seconds
    one, two = (pack(Result, each, name="result") for each in (result, again))
    assert json.dumps(one[0]) == json.dumps(two[0])
    assert one[1].keys() == two[1].keys()
    for name, array in one[1].items():
        assert_array_equal(array, two[1][name], err_msg=name)


@pytest.fixture(scope="module")
def early():
    """Tree and arrays of the last sample without hashes."""
    with np.load(FOLDER / "format-8.npz") as archive:
        arrays = {name: archive[name] for name in archive.files}
    return json.loads(arrays.pop("tree").tobytes()), arrays


CHANGES = {
    "one row less": lambda array: array[:-1],
    "one axis more": lambda array: array[None],
    "words": lambda array: np.full(array.shape, "x"),
    "counted too far": lambda array: array + 10**6,
}
# Of elements and corners there may be fewer; pairs and traverses are numbered as they like.
FREE = {
    "one row less": ("mesh.tetrahedra", "surface.triangles", "metals[0].vertices"),
    "counted too far": ("pair", "traverse"),
}


@pytest.mark.parametrize("kind", CHANGES)
def test_arrays_that_do_not_fit_the_rest_are_refused_without_hashes_too(early, kind):
    tree, arrays = early
    tried = 0
    for name, before in arrays.items():
        if name.endswith(FREE.get(kind, ())) and FREE.get(kind):
            continue
        if not before.size or (kind == "counted too far" and before.dtype.kind != "i"):
            continue
        changed = {**arrays, name: CHANGES[kind](before)}
        with pytest.raises((ValueError, TypeError)):
            storage._unpacked(Result, tree, changed, part="")
        tried += 1
    assert tried >= 15


def test_a_misshapen_file_of_an_early_format_is_refused_in_our_words(early, tmp_path):
    tree, arrays = early
    name = "result.surface.potential"
    text = np.frombuffer(json.dumps(tree).encode(), dtype=np.uint8)
    np.savez(tmp_path / "old.npz", tree=text, **{**arrays, name: arrays[name][:-1]})
    message = r"is damaged: .*surface\.potential has shape .*run the case again"
    with pytest.raises(ResultError, match=message):
        load(tmp_path / "old.npz")


def rewritten(path, *, version, change):
    with np.load(SAMPLES[-1]) as archive:
        arrays = {name: archive[name] for name in archive.files}
    tree = json.loads(arrays["tree"].tobytes())
    tree["ohmscape result"] = version
    change(tree["result"])
    del arrays["tree"], arrays["sha256 of tree"]
    np.savez(path, **storage.sealed(tree, arrays))
    return path


def test_each_step_from_an_earlier_format_is_taken_in_order(tmp_path, monkeypatch):
    """As if the title had been called heading in one format, and been in a list in the next."""
    taken = []

    def listed(tree, arrays):
        taken.append(1)
        return {**tree, "title": [tree["title"]]}, arrays

    def plain(tree, arrays):
        taken.append(2)
        return {**tree, "title": tree["title"][0]}, arrays

    def rename(tree):
        tree["heading"] = tree.pop("title")

    def named(tree, arrays):
        taken.append(0)
        given = dict(tree)
        return {"title": given.pop("heading"), **given}, arrays

    later = format_version + 3
    steps = {format_version: named, format_version + 1: listed, format_version + 2: plain}
    monkeypatch.setattr(storage, "format_version", later)
    monkeypatch.setattr(storage, "upgrades", {**storage.upgrades, **steps})
    path = rewritten(tmp_path / "old.npz", version=format_version, change=rename)
    assert load(path).title == "Sample of a kept result"
    assert taken == [0, 1, 2]


def test_a_format_before_the_first_that_is_read_is_refused(tmp_path):
    path = rewritten(tmp_path / "old.npz", version=6, change=lambda tree: None)
    message = (
        r"has result format 6, this version reads \d+; run the case again \(formats from 7"
    )
    with pytest.raises(ResultError, match=message):
        load(path)


def test_a_field_with_a_default_may_be_missing(tmp_path):
    path = rewritten(
        tmp_path / "less.npz", version=format_version, change=lambda tree: tree.pop("job")
    )
    assert load(path).job == ()


def test_a_field_that_is_not_known_is_refused(tmp_path):
    def change(tree):
        tree["accuracy"]["colour"] = "blue"

    path = rewritten(tmp_path / "more.npz", version=format_version, change=change)
    message = (
        r"is of a later version: Accuracy has no 'colour'; it has growth, .*; load it with"
    )
    with pytest.raises(ResultError, match=message):
        load(path)
