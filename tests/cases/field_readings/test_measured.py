"""Meter readings of a case file and of tables: what they become, and what is refused."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.reading.size_limits import MOST_READINGS
from ohmscape.solver.errors import BudgetError, CaseError

WALK = {
    "name": "walk",
    "electrode": "main",
    "across": ["main", "probe"],
    "current": "4 A",
    "readings": [{"at": ["0.3 m", "0.4 m"], "voltage": "10 V"}],
}


def series(**changes):
    return {k: v for k, v in {**WALK, **changes}.items() if v is not None}


@pytest.fixture
def measured(case_with, tmp_path):
    """What the measured block of a rod's case becomes; keys of its one series are given."""

    def build(*more, table=None, block=None, **changes):
        if table is not None:
            path = tmp_path / "walk.csv"
            path.write_bytes(table if isinstance(table, bytes) else table.encode())
            changes = {"readings": None, "file": "walk.csv", **changes}
        every = [series(**changes), *more]
        block = {"series": every, **(block or {})}
        return case_with(folder=tmp_path, measured=block).measured

    return build


def refused(build, words, **changes):
    with pytest.raises(CaseError, match=words) as caught:
        build(**changes)
    return caught.value


class TestReadings:
    def test_a_voltage_is_divided_by_the_current(self, measured):
        found = measured(deviation="3 %")
        (item,) = found.readings.items
        assert (item.value, item.per) == (2.5, "ampere")
        assert_allclose(item.deviation, 0.075)
        assert item.plus.group == 0
        assert item.minus.place == (0.3, 0.4, 0.0)
        assert_allclose(found.notes[0].distance, 0.5)
        assert found.series[0].returns == "remote earth"

    def test_a_reading_may_have_its_own_current_and_deviation(self, measured):
        own = {"at": ["1 m", "0 m"], "voltage": "10 V", "current": "5 A", "deviation": "10 %"}
        (item,) = measured(readings=[own]).readings.items
        assert (item.value, item.deviation) == (2.0, 0.2)

    def test_without_a_current_it_is_a_share_of_the_source(self, measured):
        found = measured(current=None, source_voltage="40 V", return_resistance="2 ohm")
        (item,) = found.readings.items
        assert (item.value, item.per, item.return_resistance) == (0.25, "source", 2.0)

    def test_source_and_current_give_the_loop_too(self, measured):
        found = measured(source_voltage="60 V", return_resistance="1.5 ohm")
        loop, item = found.readings.items
        assert (loop.loop, loop.value, loop.return_resistance) == (True, 15.0, 1.5)
        assert item.per == "ampere"
        assert [note.number for note in found.notes] == [0, 1]

    def test_distances_run_along_the_line(self, measured):
        line = {"start": ["2 m", "1 m"], "azimuth": "30 deg"}
        readings = [{"distance": "4 m", "fraction": 0.8}]
        found = measured(line=line, readings=readings)
        place = found.readings.items[0].minus.place
        assert_allclose(place, (2 + 4 * math.cos(math.pi / 6), 3.0, 0.0))
        assert found.notes[0].distance == 4.0

    def test_two_probes_a_reference_and_a_current_pin(self, measured):
        between = {
            "at": ["1 m", "0 m"],
            "second_at": ["3 m", "0 m", "0.2 m"],
            "resistance": "2 ohm",
        }
        far = series(
            name="far", across=["probe", "reference"], reference=["50 m", "0 m"],
            current_returns=["70 m", "0 m"],
        )  # fmt: skip
        found = measured(far, across=["probe", "second probe"], readings=[between])
        first, second = found.readings.items
        assert first.minus.place == (3.0, 0.0, -0.2)
        assert second.minus.place == (50.0, 0.0, 0.0)
        assert second.minus.reference
        assert second.current_to.place == (70.0, 0.0, 0.0)
        assert found.series[1].returns == "a pin at (70, 0) m"

    def test_background_adds_to_the_deviation_with_unknown_phase(self, measured):
        found = measured(background_voltage="1 V", deviation="3 %")
        # 1 V / sqrt(2) over 4 A, beside 3 % of 2.5 ohm.
        assert_allclose(found.readings.deviation, np.hypot(0.075, 1 / np.sqrt(2) / 4))
        assert found.warnings == ()

    def test_a_large_background_is_warned_of(self, measured):
        (warning,) = measured(background_voltage="3 V").warnings
        assert warning.startswith("walk, reading 1: the background is above a fifth")

    def test_meter_and_probes(self, measured):
        (item,) = measured(meter_resistance="1 Mohm", probe_resistance="2 kohm").readings.items
        assert (item.meter_resistance, item.pin_resistance) == (1e6, 2e3)

    def test_what_to_fit_is_kept(self, measured):
        assert measured(block={"fit": ["soil scale", "contact"]}).fit == (
            "soil scale",
            "contact",
        )


class TestTable:
    HEADINGS = "x [m],y [m],voltage [V],current [A],deviation [%],note\n"

    def test_rows_become_readings(self, measured):
        found = measured(table=self.HEADINGS + "1,0,10,5,8,damp\n\n# later\n2,0,6,,,\n")
        assert_allclose(found.readings.value, [2.0, 1.5])
        assert_allclose(found.readings.deviation, [0.16, 0.075])
        assert [note.note for note in found.notes] == ["damp", ""]
        assert found.tables[0][0] == "walk.csv"

    def test_it_is_in_the_sources_of_the_case(self, case_with, tmp_path):
        (tmp_path / "walk.csv").write_text(self.HEADINGS + "1,0,10,5,8,\n")
        block = {"series": [series(readings=None, file="walk.csv")]}
        case = case_with(folder=tmp_path, measured=block)
        assert [name for name, _ in case.source.tables] == ["walk.csv"]

    def test_a_spreadsheet_with_decimal_commas_and_feet(self, measured):
        text = "distance [ft];fraction [%]\n0,5;62,5\n10;88\n"
        line = {"start": ["0 m", "0 m"], "azimuth": "0 deg"}
        found = measured(table=text, line=line)
        assert_allclose(found.readings.value, [0.625, 0.88])
        assert_allclose(found.notes[1].distance, 3.048)

    def test_all_that_is_wrong_is_told_with_lines(self, measured):
        text = self.HEADINGS + "1,0,ten,5,8,\n2,0,6,0,,\n3,0,5,5,150,\n"
        error = refused(measured, "not a plain number", table=text)
        assert [p.line for p in error.problems] == [2, 4]
        error = refused(measured, "current: 0 A", table=self.HEADINGS + "2,0,6,0,,\n")
        assert error.problems[0].line == 2
        assert error.problems[0].file == "walk.csv"

    @pytest.mark.parametrize(
        ("text", "words"),
        [
            ("volts [V],x [m]\n1,2\n", r"heading 'volts \[V\]'; did you mean 'voltage \[V\]'"),
            ("x [m],x [m]\n1,2\n", "stands twice"),
            ("x [V],y [m]\n1,2\n", "heading 'x \\[V\\]'.*not a unit of length"),
            ("x [m],fraction [V]\n1,2\n", r"unit 'V'; write \[1\] or \[%\]"),
            ("x [m],y [m]\n", "holds no readings"),
            ("x [m],y [m]\n1,2,3\n", "3 cells, the headings name 2"),
            ("x [m],voltage [V]\n1,2\n", "place of the probe is missing"),
            (b"x [m],y [m]\n\xff,2\n", "not UTF-8"),
        ],
    )
    def test_what_is_refused(self, measured, text, words):
        refused(measured, words, table=text)

    def test_headings_and_missing_readings_are_told_at_once(self, measured):
        error = refused(measured, "stands twice", table="x [m],x [m],y [V]\n")
        assert [p.line for p in error.problems] == [1, 1, 1]

    def test_a_wrong_note_is_named(self, measured):
        text = self.HEADINGS + "1,0,10,5,8,a\tb\n"
        refused(measured, r"note: 'a\\tb'; text has at most 200 printable", table=text)

    def test_too_many_readings(self, measured):
        with pytest.raises(BudgetError, match=r"at most 2,000 are read"):
            measured(table="x [m],y [m]\n" + "1,2\n" * (MOST_READINGS + 1))

    def test_too_many_readings_in_all_series(self, measured):
        text = "x [m],y [m],voltage [V]\n" + "1,2,3\n" * (MOST_READINGS - 1)
        with pytest.raises(BudgetError, match=r"2,001 readings in all"):
            measured(series(name="two"), series(name="three"), table=text)

    def test_a_missing_file(self, measured):
        refused(measured, r"walk.csv' is no file", readings=None, file="walk.csv")


class TestRefused:
    @pytest.mark.parametrize(
        ("changes", "words"),
        [
            ({"electrode": "mian"}, "no electrode 'mian'; did you mean 'main'"),
            ({"across": ["main", "prob"]}, "no end of a meter 'prob'; did you mean 'probe'"),
            ({"current_returns": "fence"}, "no electrode to return to 'fence'"),
            ({"current_returns": 3}, "write a point as .* or the name of an electrode"),
            ({"across": ["probe", "probe"]}, "'probe' twice"),
            ({"across": ["main", "second probe"]}, "'second probe' goes with 'probe'"),
            ({"across": ["probe", "reference"]}, "'reference' needs its place"),
            ({"reference": ["9 m", "0 m"]}, "the meter is not on it"),
            ({"current": "0 A"}, "of 0 drives nothing"),
            ({"meter_resistance": "0 ohm"}, "a voltmeter has an input resistance"),
            ({"current": None}, "needs the current, or the source voltage"),
            ({"across": ["main", "remote earth"]}, "the meter is not on a 'probe'"),
            ({"across": ["probe", "second probe"]}, "place of the second probe is missing"),
            ({"readings": [{"at": ["0 m", "0 m"], "voltage": "1 V"}]}, "stands in the metal"),
            ({"readings": [{"distance": "1 m", "voltage": "1 V"}]}, "the series needs a line"),
            ({"readings": [{"voltage": "1 V"}]}, "place of the probe is missing"),
            (
                {"readings": [{"at": ["1 m", "0 m"], "voltage": "0 V"}]},
                "reading of 0 has no deviation",
            ),
            (
                {
                    "current": None,
                    "readings": [
                        {"at": ["1 m", "0 m"], "fraction": 0.5, "background_voltage": "1 V"}
                    ],
                },
                "background_voltage needs the current or the source voltage",
            ),
            ({"current_returns": "main"}, "returns to the electrode it comes from"),
        ],
    )
    def test_of_a_series(self, measured, changes, words):
        refused(measured, words, **changes)

    def test_one_value_for_each_reading(self, measured):
        both = {"at": ["1 m", "0 m"], "voltage": "1 V", "resistance": "2 ohm"}
        refused(measured, "voltage, resistance, fraction", readings=[both])

    def test_two_series_of_one_name(self, measured):
        with pytest.raises(CaseError, match="series of readings name 'walk' is taken"):
            measured(series())

    def test_a_fit_of_nothing_known(self, measured):
        refused(
            measured, "nothing that can be fitted: write 'soil scale'", block={"fit": ["x"]}
        )
