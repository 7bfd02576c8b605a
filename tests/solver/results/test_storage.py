"""A result saved and loaded is the same result; other files are refused."""

import io
import json
import zipfile
from dataclasses import fields, is_dataclass

import field_layouts as lay
import numpy as np
import pytest
from measuring import solved
from numpy.testing import assert_array_equal

from ohmscape.solver.circuit import Circuit, Ladder, Path, Supply, operate
from ohmscape.solver.drives import Drive
from ohmscape.solver.errors import ResultError
from ohmscape.solver.exposure.places import TouchableMetal
from ohmscape.solver.exposure.surface import Area, surface_map
from ohmscape.solver.exposure.worst import worst_step, worst_touch
from ohmscape.solver.handbook.order_check import OrderCheck
from ohmscape.solver.model import Soil
from ohmscape.solver.results import storage
from ohmscape.solver.results.result import Accuracy, Profile, Result
from ohmscape.solver.results.storage import load, save
from ohmscape.solver.solved_soil import Field
from ohmscape.solver.thin_wire import agreement, second_opinion


@pytest.fixture(scope="module")
def result():
    """Two groups in two layers, with a map, a profile and everything else a run gives."""
    conductors = lay.in_groups(
        lay.rod(length=2.3, radius=0.008),
        lay.moved(lay.wire(length=3.1, radius=0.005, depth=0.5), shift=(2.0, 1.0)),
    )
    soil = Soil((120.0, 40.0), (1.4,))
    solution = solved(conductors, soil=soil, fineness=0.8)
    drives = (Drive("circuit"), Drive("floating"))
    operation = operate(
        _circuit(), current_matrix=solution.current_matrix, group_names=("group 0", "group 1")
    )
    operating = operation.point
    field = Field(solution, operating.voltage)
    metals = (
        TouchableMetal("post", 0, "points", np.array([[0.1, 0.0]]), 1.0),
        TouchableMetal("frame", 1, "line", np.array([[2.0, 1.0], [4.0, 1.2]]), 0.8),
    )
    area = Area((-2.0, -2.0), (5.0, 3.0), 0.7)
    surface = surface_map(area, field=field, metals=metals, pace=1.0)
    touches = [
        item
        for k, metal in enumerate(metals)
        for item in worst_touch(surface, index=k, metal=metal, field=field, area=area)
    ]
    worst = (*touches, *worst_step(surface, field=field, area=area))
    opinion = second_opinion(conductors, soil=soil)
    agreed = agreement(
        operating,
        worst=worst,
        metal_groups={metal.name: metal.group for metal in metals},
        opinion=opinion,
        other=operating,
    )
    points = np.array([[0.5, 0.0, -0.2], [1.5, 0.3, -0.2], [2.5, 0.6, -0.2]])
    return Result(
        title="Two pieces of metal, ρ in Ω·m",
        units="SI",
        variant="wet",
        case_file="pair.yaml",
        case_text="title: Two pieces\n",
        case_hash="0" * 64,
        solution=solution,
        coarse=solution,
        drives=drives,
        bonds=(),
        operating=operating,
        area=area,
        surface=surface,
        metals=metals,
        worst=worst,
        profiles=(Profile("along", points, field.potential(points)),),
        order_checks=(OrderCheck("group 0", "driven rod", "a book, 1936", 40.0, 38.5),),
        accuracy=Accuracy(0.4, 0.6, 1234, 0.003, 0.004, 0.005, 0.01),
        seconds={"mesh": 0.25, "solve": 1.5},
        peak_memory=3.5e8,
        versions={"python": "3.11.1", "numpy": "2.0.0"},
        operation=operation,
        second_opinion=opinion,
        agreement=agreed,
        job=(("number", "7-03"), ("site", "Møllevang, plot “C”")),
    )


def _circuit():
    """A circuit with everything one may hold; one node is cut off, its voltage no number."""
    line = Ladder(0.3 + 0.5j, 14.0, spans=7, end="closed", broken_after=2)
    return Circuit(
        50.0,
        Supply("group 0", voltage=230.0, impedance=0.4 + 0.2j, returns_at="source"),
        paths=(
            Path("source earth", ("source", "remote earth"), impedance=3.0 + 0j),
            Path("line", ("group 0", "source"), ladder=line),
            Path("endless", ("source", "remote earth"), ladder=Ladder(0.2 + 0j, 30.0)),
            Path("out", ("source", "shed"), impedance=1j, connected=False),
            Path("in", ("shed", "group 0"), impedance=1j, connected=False),
        ),
        x_over_r=12.0,
    )


def _require_same(one, two, path="result"):
    assert type(one) is type(two), path
    if is_dataclass(one):
        for field in fields(one):
            name = f"{path}.{field.name}"
            _require_same(getattr(one, field.name), getattr(two, field.name), name)
    elif isinstance(one, np.ndarray):
        assert one.dtype == two.dtype, path
        assert_array_equal(one, two, err_msg=path)  # nan equals nan: out of reach
    elif isinstance(one, complex):
        assert_array_equal(one, two, err_msg=path)
    elif isinstance(one, tuple):
        assert len(one) == len(two), path
        for k, (a, b) in enumerate(zip(one, two, strict=True)):
            _require_same(a, b, f"{path}[{k}]")
    else:
        assert one == two, path


def test_nothing_is_lost_on_the_way(result, tmp_path):
    path = save(result, tmp_path / "pair.npz")
    _require_same(result, load(path))


def test_a_loaded_result_still_answers(result, tmp_path):
    loaded = load(save(result, tmp_path / "pair.npz"))
    points = np.array([[0.3, 0.4, 0.0], [1.0, -1.0, -1.4], [3.0, 2.0, -2.0]])
    assert_array_equal(loaded.field.potential(points), result.field.potential(points))
    assert loaded.rise == result.rise
    assert loaded.resistance(1) == result.resistance(1)
    assert loaded.operation.split_factor == result.operation.split_factor
    assert loaded.operation.current_through("line") == result.operation.branches[1].current
    assert loaded.group_names == ("group 0", "group 1")
    assert_array_equal(loaded.profiles[0].distance, result.profiles[0].distance)


def test_two_savings_are_the_same_numbers(result, tmp_path):
    first, second = (save(result, tmp_path / name) for name in ("a.npz", "b.npz"))
    with zipfile.ZipFile(first) as one, zipfile.ZipFile(second) as two:
        assert one.namelist() == two.namelist()
        assert all(one.read(name) == two.read(name) for name in one.namelist())


@pytest.fixture
def saved(result, tmp_path):
    return save(result, tmp_path / "pair.npz")


def test_a_file_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(ResultError, match=r"none\.npz is not a readable ohmscape result"):
        load(tmp_path / "none.npz")


@pytest.mark.parametrize("content", [b"", b"title: a case\n", b"PK\x03\x04 and no more"])
def test_a_foreign_file_is_refused(tmp_path, content):
    path = tmp_path / "other.npz"
    path.write_bytes(content)
    with pytest.raises(ResultError, match="is not a readable ohmscape result"):
        load(path)


def test_an_archive_of_something_else_is_refused(tmp_path):
    path = tmp_path / "other.npz"
    np.savez(path, potential=np.zeros(3))
    with pytest.raises(ResultError, match="is not a readable ohmscape result"):
        load(path)


def test_a_pickle_is_not_opened(tmp_path):
    path = tmp_path / "pickle.npz"
    np.savez(path, tree=np.array([{"a": 1}], dtype=object))
    with pytest.raises(ResultError, match="is not a readable ohmscape result"):
        load(path)


def test_a_file_cut_short_is_refused(saved):
    saved.write_bytes(saved.read_bytes()[:-2000])
    with pytest.raises(ResultError, match="is not a readable ohmscape result"):
        load(saved)


def test_a_flipped_byte_is_noticed(saved):
    data = bytearray(saved.read_bytes())
    data[len(data) // 2] ^= 0xFF
    saved.write_bytes(bytes(data))
    with pytest.raises(ResultError, match="is not a readable ohmscape result"):
        load(saved)


def test_another_format_version_is_refused(result, tmp_path, monkeypatch):
    monkeypatch.setattr(storage, "format_version", 99)
    path = save(result, tmp_path / "later.npz")
    monkeypatch.undo()
    with pytest.raises(ResultError, match=r"result format 99, this version reads \d+; run"):
        load(path)


def _rewritten(saved, change):
    with np.load(saved) as archive:
        arrays = {name: archive[name] for name in archive.files}
    tree = json.loads(arrays["tree"].tobytes())
    del arrays["tree"], arrays["sha256 of tree"]
    change(tree, arrays)
    np.savez(saved, **storage.sealed(tree, arrays))


@pytest.mark.parametrize(
    "change",
    [
        lambda tree, arrays: tree["result"].pop("operating"),
        lambda tree, arrays: arrays.pop("result.solution.unknowns"),
        lambda tree, arrays: tree["result"].update(accuracy=3),
    ],
    ids=["a part is missing", "an array is missing", "a part is something else"],
)
def test_a_damaged_tree_is_refused(saved, change):
    _rewritten(saved, change)
    with pytest.raises(ResultError, match=r"is damaged: .*run the case again"):
        load(saved)


def _repacked(saved, change):
    """The members of an archive changed behind its hashes."""
    with np.load(saved) as archive:
        arrays = {name: archive[name] for name in archive.files}
    change(arrays)
    np.savez(saved, **arrays)


def _halve(name):
    return lambda arrays: arrays.update({name: arrays[name] / 2})


def _in_other_units(arrays):
    text = arrays["tree"].tobytes().replace(b'"units": "SI"', b'"units": "US"')
    arrays["tree"] = np.frombuffer(text, dtype=np.uint8)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (_halve("result.operating.resistance"), "result.operating.resistance was changed"),
        (
            lambda arrays: arrays.update(
                {"result.surface.step": arrays["result.surface.step"].astype(np.float32)}
            ),
            "result.surface.step was changed",
        ),
        (_in_other_units, "it was changed since it was saved"),
        (lambda arrays: arrays.pop("sha256 of tree"), "sha256 of tree"),
    ],
    ids=["an array halved", "an array rounded", "words", "no hash"],
)
def test_what_was_changed_since_it_was_saved_is_refused(saved, change, why):
    _repacked(saved, change)
    with pytest.raises(ResultError, match=rf"is damaged: .*{why}.*run the case again"):
        load(saved)


def test_units_that_there_are_not_are_refused_even_with_their_hash(saved):
    _rewritten(saved, lambda tree, arrays: tree["result"].update(units="XX"))
    with pytest.raises(ResultError, match="is damaged"):
        load(saved)


def _packed(path, members):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return path


def _header(shape):
    stream = io.BytesIO()
    head = {"descr": "|u1", "fortran_order": False, "shape": shape}
    np.lib.format.write_array_header_1_0(stream, head)
    return stream.getvalue()


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (_header((300_000_000,)) + bytes(300_000_000), "would grow to 300,000,"),
        (_header((10**15,)) + b"{}", "tree.npy holds less or more than it says"),
        (_header((400_000,)) + b"[" * 200_000 + b"]" * 200_000, "RecursionError"),
    ],
    ids=["bomb", "shape", "nesting"],
)
def test_a_file_made_to_exhaust_memory_is_refused(tmp_path, content, why):
    path = _packed(tmp_path / "result.npz", {"tree.npy": content})
    with pytest.raises(ResultError, match=f"is damaged: .*{why}"):
        load(path)


def test_damaged_deflate_data_are_refused(saved):
    with zipfile.ZipFile(saved) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    whole = _packed(saved, members).read_bytes()
    refused = 0
    for k in range(200, len(whole), len(whole) // 60):
        saved.write_bytes(whole[:k] + bytes([whole[k] ^ 0x5A]) + whole[k + 1 :])
        try:
            # Dates and the like may change without harm; what is there is whole by its hashes.
            assert load(saved).title == "Two pieces of metal, ρ in Ω·m"
        except ResultError:
            refused += 1
    assert refused > 50
