"""CSV files give back the numbers of the result and say what they mean."""

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.results.result import Result
from ohmscape.viz import write_tables

# Nine figures are written.
_written = 1e-8


def _read(path: Path) -> tuple[list[str], dict[str, list[str]]]:
    lines = path.read_text(encoding="utf-8").splitlines()
    notes = [line for line in lines if line.startswith("#")]
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    return notes, {name: [row[name] for row in rows] for name in rows[0]}


def _numbers(column: list[str]) -> np.ndarray:
    return np.array([float(text) if text else np.nan for text in column])


@pytest.fixture(scope="module")
def folder(result: Result, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("tables")
    write_tables(result, folder)
    return folder


def test_files_are_named_as_they_are_written_in_order(result, tmp_path):
    told: list[str] = []
    files = write_tables(result, tmp_path, progress=lambda name, share: told.append(name))
    assert [path.name for path in files] == told
    assert told == [
        "electrodes.csv",
        "parts.csv",
        "worst.csv",
        "verdict.csv",
        "surface.csv",
        "leakage.csv",
        "profile-across.csv",
        "profile-below.csv",
    ]
    assert all(path.is_file() for path in files)


def test_surface_table_returns_the_map(result, folder):
    _, columns = _read(folder / "surface.csv")
    surface = result.surface
    for name, values in {
        "x [m]": surface.places[:, 0],
        "y [m]": surface.places[:, 1],
        "potential [V]": surface.potential,
        "step [V]": surface.step,
        "step direction [deg]": np.degrees(surface.step_direction),
        "touch 'box' [V]": surface.touch[0],
        "touch 'tap' [V]": surface.touch[1],
        "touch 'far pole' [V]": surface.touch[2],
    }.items():
        assert_allclose(_numbers(columns[name]), values, rtol=_written, atol=1e-12)
    # Out of reach is empty, not zero.
    assert set(columns["touch 'far pole' [V]"]) == {""}


def test_directions_of_steps_are_counted_one_way(result, folder):
    _, columns = _read(folder / "surface.csv")
    direction = _numbers(columns["step direction [deg]"])
    assert direction.min() >= 0
    assert direction.max() < 360
    # A pace that way meets the voltage of the table.
    surface, turn = result.surface, np.radians(direction)
    other = surface.places + surface.pace * np.column_stack([np.cos(turn), np.sin(turn)])
    across = np.abs(surface.potential - result.field.surface_potential(other))
    assert_allclose(_numbers(columns["step [V]"]), across, rtol=1e-5, atol=1e-6 * result.rise)


def test_metal_without_net_current_has_none_in_the_tables(result, folder):
    _, electrodes = _read(folder / "electrodes.csv")
    _, parts = _read(folder / "parts.csv")
    assert electrodes["current [A]"][1] == "0"
    assert parts["current [A]"][2] == "0"


def test_parts_add_up_to_the_current_of_their_electrode(result, folder):
    _, columns = _read(folder / "parts.csv")
    current = _numbers(columns["current [A]"])
    assert columns["part"] == ["long", "tail", "short"]
    assert_allclose(current[:2].sum(), 37.0, rtol=1e-7)
    assert_allclose(_numbers(columns["share [%]"])[:2].sum(), 100.0, rtol=1e-7)
    assert_allclose(_numbers(columns["length [m]"]), [2.1, 1.2, 1.7], rtol=_written)
    assert columns["share [%]"][2] == ""  # a floating electrode has no net current to share


def test_leakage_times_length_is_the_current(result, folder):
    _, columns = _read(folder / "leakage.csv")
    amperes = _numbers(columns["leakage [A/m]"]) * _numbers(columns["length [m]"])
    driven = np.array(columns["electrode"]) == "feeder"
    assert_allclose(amperes[driven].sum(), 37.0, rtol=1e-7)
    # Zero net current, to what the nine figures of each element leave.
    assert_allclose(amperes[~driven].sum(), 0.0, atol=1e-6)
    middle = np.column_stack([_numbers(columns[f"{axis} [m]"]) for axis in "xyz"])
    assert_allclose(middle, result.solution.elements.middle, rtol=_written, atol=1e-12)


def test_profile_table_returns_the_line_and_the_voltage_to_each_electrode(result, folder):
    _, columns = _read(folder / "profile-below.csv")
    profile = result.profiles[1]
    potential = _numbers(columns["potential [V]"])
    assert_allclose(potential, profile.potential, rtol=_written)
    assert_allclose(_numbers(columns["distance [m]"]), profile.distance, rtol=_written)
    assert_allclose(_numbers(columns["z [m]"]), -0.8, rtol=_written)
    # A pace of 1 m is ten samples of this line.
    steps = _numbers(columns["step along the line [V]"])
    assert_allclose(steps[:-10], np.abs(potential[:-10] - potential[10:]), rtol=1e-6)
    assert np.isnan(steps[-9:]).all()
    for name, rise in zip(result.group_names, result.operating.voltage, strict=True):
        voltage = _numbers(columns[f"to '{name}' [V]"])
        assert_allclose(voltage, np.abs(rise - potential), rtol=1e-6, atol=1e-6)


def test_verdict_table_lists_the_worst_places_of_each_exposure(result, folder):
    notes, columns = _read(folder / "verdict.csv")
    assert any("0.5 s; given in the case" in note for note in notes)
    places = [place for item in result.verdict.judgements for place in item.places]
    assert_allclose(_numbers(columns["voltage [V]"]), [p.voltage for p in places], rtol=1e-8)
    permissible = [place.limit.voltage for place in places]
    assert_allclose(_numbers(columns["permissible [V]"]), permissible, rtol=1e-8)
    shares = _numbers(columns["share [%]"])
    assert_allclose(shares, [100 * place.share for place in places], rtol=1e-8)
    assert set(columns["exposure"]) == {"at the box", "on the lawn", "box to tap"}
    assert columns["rank"].count("1") == 3
    assert columns["metal"][-1] == "box to tap"
    assert columns["foot x [m]"][-1] == ""  # hands have no place


def test_worst_table_lists_reached_metal_then_the_step(result, folder):
    _, columns = _read(folder / "worst.csv")
    assert columns["kind"] == ["touch", "touch", "step"]
    assert columns["metal"] == ["box", "tap", ""]
    values = [item.voltage for item in result.worst]
    assert_allclose(_numbers(columns["voltage [V]"]), values, rtol=_written)
    one, other = (
        [float(columns[f"{foot} {axis} [m]"][2]) for axis in "xy"]
        for foot in ("foot", "other foot")
    )
    assert_allclose(np.linalg.norm(np.subtract(one, other)), 1.0, rtol=1e-7)  # the pace


def test_electrode_table_holds_rise_current_and_resistance(result, folder):
    _, columns = _read(folder / "electrodes.csv")
    assert columns["electrode"] == ["feeder", "idle"]
    assert columns["drive"] == ["current", "floating"]
    assert_allclose(_numbers(columns["rise [V]"]), result.operating.voltage, rtol=_written)
    expected = [result.resistance(0), result.resistance(1)]
    assert_allclose(_numbers(columns["resistance [ohm]"]), expected, rtol=_written)


@pytest.mark.parametrize("name", ["surface", "worst", "profile-across"])
def test_tables_of_voltages_say_they_are_prospective_and_not_a_verdict(folder, name):
    notes, _ = _read(folder / f"{name}.csv")
    text = " ".join(notes)
    assert "prospective (open circuit)" in text
    assert "local codes" in text
    assert "licensed practice" in text


@pytest.mark.parametrize("name", ["surface", "electrodes", "profile-below"])
def test_tables_of_potentials_name_their_reference(folder, name):
    notes, _ = _read(folder / f"{name}.csv")
    assert "remote earth" in " ".join(notes)


def test_surface_table_says_between_which_points_each_voltage_is(folder):
    notes, _ = _read(folder / "surface.csv")
    text = " ".join(notes)
    assert "Touch 'box': between that metal, at the potential of electrode 'feeder'" in text
    assert "between a foot here and a foot 1 m away" in text


def test_profiles_of_one_name_get_files_of_their_own(result, tmp_path):
    twin = replace(result, profiles=(result.profiles[0], result.profiles[0]))
    names = [path.name for path in write_tables(twin, tmp_path)]
    assert names[-2:] == ["profile-across.csv", "profile-across-2.csv"]


def test_line_breaks_in_a_title_stay_in_the_comment(result, tmp_path):
    odd = replace(result, title="two\nlines")
    path = write_tables(odd, tmp_path)[0]
    assert path.read_text(encoding="utf-8").startswith("# two lines\n#")
