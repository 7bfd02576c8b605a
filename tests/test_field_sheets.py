"""Field sheets from a case to paper and tables, and what was written on them back again."""

import csv
import io
import re
import subprocess
from dataclasses import replace
from pathlib import Path
from shutil import which

import numpy as np
import openpyxl
import pytest
from click.testing import CliRunner
from numpy.testing import assert_allclose

from ohmscape import compare_case, load_case, plan_sheets, save_sheets
from ohmscape.cases.loading import load_case_text
from ohmscape.cases.soil_survey.readings import load_survey
from ohmscape.command_line import main
from ohmscape.jobs.case_origin import case_origin
from ohmscape.solver.earth_tests import source_resistance
from ohmscape.solver.errors import CaseError, ResultError
from ohmscape.viz.cautions import ON_FIELD_SHEETS
from ohmscape.viz.report.contents import Paragraph, Table
from ohmscape.viz.report.reader import Reader
from ohmscape.viz.sheets.files import field_sections
from ohmscape.viz.sheets.templates import templates
from ohmscape.viz.words.text import plain

YARD = """
ohmscape: 1
title: Small yard with a gate
note: for sheets
north: 20 deg
soil:
  layers:
    - {resistivity: 160 ohm*m, thickness: 1.7 m}
    - {resistivity: 50 ohm*m}
electrodes:
  - name: yard
    drive: {current: 60 A}
    parts:
      - {kind: loop, name: ring, points: [[0 m, 0 m], [4 m, 0 m], [4 m, 3 m], [0 m, 3 m]], depth: 0.5 m, diameter: 10 mm}
      - {kind: rod, name: rod, at: [4 m, 3 m], top_depth: 0.5 m, length: 2 m, diameter: 16 mm}
  - name: gate
    drive: {floating: true}
    parts: [{kind: rod, name: post, at: [6.5 m, 1.2 m], top_depth: 0 m, length: 0.8 m, diameter: 50 mm}]
study:
  area: {margin: 4 m, spacing: 0.4 m}
  touch:
    - {name: kiosk, electrode: yard, body: [[1 m, 1 m], [3 m, 1 m], [3 m, 2 m], [1 m, 2 m]]}
    - {name: gate post, electrode: gate, points: [[6.5 m, 1.2 m]]}
variants:
  - {name: dry, soil: {layers: [{resistivity: 500 ohm*m, thickness: 1.7 m}, {resistivity: 50 ohm*m}]}}
  - {name: no rod, electrodes: [{name: yard, parts: [{name: rod, absent: true}]}]}
numerics: {accuracy: coarse}
"""  # noqa: E501


@pytest.fixture(scope="module")
def case():
    return load_case_text(YARD)


@pytest.fixture(scope="module")
def planned(case):
    return plan_sheets(case, cable=30.0, azimuth=0.4)


@pytest.fixture(scope="module")
def folder(planned, case, tmp_path_factory):
    into = tmp_path_factory.mktemp("sheets") / "out"
    save_sheets(planned.sheets, into, result=planned.result, origin=case_origin(case))
    return into


def test_only_soils_make_ranges(planned):
    assert planned.sheets.conditions == ("as it stands", "dry")
    assert planned.sheets.electrode == "yard"
    place = planned.sheets.chosen
    assert place.true[1] > 1.2 * place.true[0]  # dry ground over the same metal


def test_points_are_the_worst_places_and_others_within_reach(planned):
    points = planned.sheets.points
    # A step has no first foot.
    worst = {
        (one.kind, one.name, frozenset([one.foot, one.other_foot]))
        for one in planned.result.worst
    }
    said = {
        (one.kind, one.metal, frozenset([one.foot, one.other_foot]))
        for one in points
        if one.prospective is not None
    }
    assert worst == said
    metals = {metal.name: metal for metal in planned.result.metals}
    touched = [one for one in points if one.kind == "touch"]
    assert {one.metal for one in touched} == set(metals)
    for one in touched:
        assert metals[one.metal].within_reach(np.array([one.foot])).all()
    assert len({one.name for one in points}) == len(points)


def test_a_far_current_probe_reads_what_the_fault_does_per_ampere(case):
    """To remote earth volts per ampere are those of the run; within the error of its mesh."""
    planned = plan_sheets(case, cable=3000.0)
    for one in planned.sheets.points:
        if one.prospective is not None:
            assert one.expected[0] == pytest.approx(one.prospective / 60.0, rel=0.05)
            low, high = one.band(planned.sheets.error)
            assert low < one.expected.min() <= one.expected.max() < high


def filled(template, value):
    """Rows of a table with what was read in the place of nothing."""
    return [[value(row) if cell is None else cell for cell in row] for row in template.rows]


def expected(row):
    """Value that the note of a row says."""
    return float(re.search(r"expected (\S+) ohm", row[-1])[1])


def written_case(folder, into, value, *, workbook=False):
    """The case with what was written on the sheets beside it, and what was."""
    block = (folder / "measured.yaml").read_text(encoding="utf-8")
    told = []
    for path in folder.glob("*.csv"):
        if path.name == "survey.csv" or path.name.startswith("stray"):
            continue
        notes = [line for line in path.read_text().splitlines(True) if line.startswith("#")]
        lines = [line for line in path.read_text().splitlines() if not line.startswith("#")]
        header, *rows = csv.reader(lines)
        at = header.index("resistance [ohm]")
        for row in rows:
            assert row[at] == ""
            row[at] = repr(value(row))
            told.append((path.name, row))
        if workbook:
            book = openpyxl.load_workbook(folder / "readings.xlsx")
            (sheet,) = [one for one in book if re.sub(r"\W+", "-", one.title) == path.stem]
            assert [cell.value for cell in sheet[1]] == header
            for number, row in enumerate(rows, start=2):
                assert sheet.cell(number, len(header)).value == row[-1]
                sheet.cell(number, at + 1).value = float(row[at])
            name = f"{path.stem}.xlsx"
            book.save(into / name)
            where = f'file: "{name}"\n      sheet: {sheet.title}'
            block = block.replace(f'file: "{path.name}"', where)
            continue
        file = io.StringIO()
        csv.writer(file).writerows([header, *rows])
        (into / path.name).write_text("".join(notes) + file.getvalue())
    (into / "case.yaml").write_text(YARD + block)
    return into / "case.yaml", told


@pytest.mark.parametrize("workbook", [False, True])
def test_what_is_expected_comes_back_as_agreement(planned, folder, tmp_path, workbook):
    path, told = written_case(folder, tmp_path, expected, workbook=workbook)
    compared = compare_case(load_case(path))
    readings = compared.measured.readings.items
    made = templates(planned.sheets, planned.result)
    count = sum(len(one.rows) for one in made if one.block and one.block[0][0] != "#")
    assert len(readings) == len(told) == count
    notes = [note.note for note in compared.measured.notes]
    assert {note.split(";")[0].split()[0] for note in notes} == {
        *(name for name, _ in planned.sheets.named_places),
        *(one.name for one in planned.sheets.points),
    }
    # Thin conductors beside finite elements, three figures, and a pin that is a point there.
    predicted = compared.case.predicted
    assert_allclose(predicted, [one.value for one in readings], rtol=0.03)


def test_what_is_off_on_site_is_off_in_the_comparison(planned, folder, tmp_path):
    odd = planned.sheets.points[0].name

    def value(row):
        return expected(row) * (1.5 if row[-1].startswith(f"{odd} ") else 1.0)

    path, _ = written_case(folder, tmp_path, value)
    told = CliRunner().invoke(main, ["compare", str(path), "-o", str(tmp_path / "out")])
    assert told.exit_code == 0, told.output
    with (tmp_path / "out" / "readings.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    off = {row["note"].split()[0].rstrip(";"): abs(_difference(row)) for row in rows}
    assert max(off, key=off.get) == odd
    assert sorted(off.values())[-1] > 5 * sorted(off.values())[-2]


def _difference(row):
    return float(row["measured"]) / float(row["case"]) - 1


def test_stray_voltages_come_back_as_shares_of_what_drives_them(planned, folder, tmp_path):
    """Voltages of the run at its own rise: the model has the same shares of it."""
    rise = abs(float(planned.result.operating.voltage[0]))
    block = (folder / "measured.yaml").read_text(encoding="utf-8")
    told = {one.name: one.prospective for one in planned.sheets.points}
    series = []
    for lines in block.split("    # - name: ")[1:]:
        text = "    - name: " + re.sub(r"(?m)^    # ", "    ", lines)
        series.append(text.replace("____", repr(rise)))
    for path in folder.glob("stray*.csv"):
        lines = path.read_text(encoding="utf-8").splitlines()
        filled = [
            re.sub(r"^([^#,]+,[^,]+),,(\w+)", lambda m: f"{m[1]},{told[m[2]]!r},{m[2]}", line)
            for line in lines
        ]
        (tmp_path / path.name).write_text("\n".join(filled) + "\n", encoding="utf-8")
    text = YARD + "measured:\n  series:\n" + "".join(series)
    (tmp_path / "case.yaml").write_text(text, encoding="utf-8")
    compared = compare_case(load_case(tmp_path / "case.yaml"))
    readings = compared.measured.readings.items
    worst = [one for one in planned.sheets.points if one.kind == "touch" and one.prospective]
    assert len(readings) == len(worst) == 2
    assert {one.per for one in readings} == {"source"}
    # Another mesh, at the same places.
    assert_allclose(compared.case.predicted, [one.value for one in readings], rtol=0.03)


def test_the_survey_table_is_one_for_soil(folder, tmp_path):
    text = (folder / "survey.csv").read_text(encoding="utf-8")
    lines = [re.sub(r"^(traverse \d,[^,]+),,", r"\1,12.5,", line) for line in text.splitlines()]
    (tmp_path / "survey.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    survey = load_survey(tmp_path / "survey.csv").survey
    assert len(survey.traverses) == 2
    assert_allclose(survey.resistance, 12.5)


def test_cells_work_out_what_the_formula_says(folder):
    """The formula of the sheet, read as arithmetic, is that of the module."""
    book = openpyxl.load_workbook(folder / "readings.xlsx")
    formula = book["stray voltage"]["F2"].value
    wanted = re.search(r",(500\*\(D2/E2-1\)),", formula)[1]
    opened, loaded = 3.7, 1.9
    worked = eval(wanted.replace("D2", repr(opened)).replace("E2", repr(loaded)))
    assert worked == pytest.approx(source_resistance(opened, loaded=loaded))


def test_every_sheet_has_its_cautions_and_room_to_write(planned):
    for section in field_sections(planned.sheets, planned.result):
        first, *others = section.blocks
        assert isinstance(first, Paragraph)
        assert first.text == ON_FIELD_SHEETS
        assert first.tone == "warning"
        assert any(isinstance(one, Table) and one.to_write for one in others)


@pytest.mark.skipif(which("pdftotext") is None, reason="reads the paper with poppler")
@pytest.mark.parametrize(("paper", "size"), [("A4", (595, 842)), ("Letter", (612, 792))])
def test_paper_names_places_as_the_tables_do(planned, case, tmp_path, paper, size):
    reader = Reader(paper=paper)
    save_sheets(
        planned.sheets, tmp_path, result=planned.result, origin=case_origin(case), reader=reader
    )
    info, text = (
        subprocess.run(
            [tool, *more], check=True, capture_output=True, text=True, encoding="utf-8"
        ).stdout
        for tool, more in (
            ("pdfinfo", [tmp_path / "sheets.pdf"]),
            ("pdftotext", ["-layout", tmp_path / "sheets.pdf", "-"]),
        )
    )
    wide, high = map(float, re.search(r"Page size:\s+(\S+) x (\S+)", info).groups())
    assert (round(wide), round(high)) == size
    for name, one in planned.sheets.named_places:
        assert re.search(rf"\b{name}\b", text), one
    for one in planned.sheets.points:
        assert re.search(rf"\b{one.name}\b", text), one
    assert text.count("Never energise") >= 5


def test_tables_are_in_the_unit_of_the_paper(planned, case, tmp_path):
    reader = Reader.of("SI", units="US")
    origin = case_origin(case)
    save_sheets(planned.sheets, tmp_path, result=planned.result, origin=origin, reader=reader)
    metres = templates(planned.sheets, planned.result)
    feet = templates(planned.sheets, planned.result, units="US")
    assert [one.file for one in metres] == [one.file for one in feet]
    for one, other in zip(metres, feet, strict=True):
        written = (tmp_path / one.file).read_text(encoding="utf-8")
        assert f"{other.header[0]},{other.header[1]}" in written
        for k, heading in enumerate(one.header):
            if heading.endswith("[m]"):
                assert other.header[k] == heading.replace("[m]", "[ft]")
                values = [[row[k] for row in table.rows] for table in (one, other)]
                # To a millimetre.
                assert_allclose(np.multiply(values[1], 0.3048), values[0], atol=1e-3)


def test_sheets_that_were_filled_in_are_not_written_over(planned, case, tmp_path):
    origin = case_origin(case)
    save_sheets(planned.sheets, tmp_path, result=planned.result, origin=origin)
    path = tmp_path / "survey.csv"
    path.write_text(path.read_text().replace(",,", ",4.2,"))
    with pytest.raises(ResultError, match=r"survey.csv"):
        save_sheets(planned.sheets, tmp_path, result=planned.result, origin=origin)


def test_one_soil_has_no_range_and_says_so(planned):
    one = replace(planned.sheets, conditions=("as it stands",))
    section = field_sections(one, planned.result)[1]
    texts = [
        plain(block.text, units="SI", vocabulary="earth")
        for block in section.blocks
        if isinstance(block, Paragraph)
    ]
    assert any("one soil only" in text for text in texts)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--cable", "40"], "--cable.*unit"),
        (["--cable", "40 kg"], "--cable"),
        (["--cable", "-3 m"], "distance above 0"),
        (["--cable", "2.1 m"], "with a cable of 2.1 m .* farther away than it is deep"),
        (["--cable", "40 m", "--electrode", "yrd"], "no electrode 'yrd'.*'yard', 'gate'"),
        (["--cable", "40 m", "--direction", "north"], "--direction"),
    ],
)
def test_what_cannot_be_planned_is_refused(tmp_path, monkeypatch, options, words):
    monkeypatch.chdir(tmp_path)
    Path("yard.yaml").write_text(YARD)
    told = CliRunner().invoke(main, ["sheets", "yard.yaml", *options])
    assert told.exit_code == 2, told.output
    assert re.search(words, told.output + told.stderr, re.DOTALL)
    assert not Path("yard-sheets").exists()


def test_voltages_along_the_metal_are_refused():
    with pytest.raises(CaseError, match="one potential"):
        plan_sheets("kiosk-by-a-cable", cable=60.0)


def test_plates_are_refused():
    size = "size: [1 m, 1 m], depth: 0.8 m, tilt: 0 deg"
    plate = f"{{kind: plate, name: slab, centre: [2 m, 6 m], {size}}}, "
    post = "{kind: rod, name: post"
    with pytest.raises(CaseError, match=r"round metal, and there are plates \('slab'\)"):
        plan_sheets(load_case_text(YARD.replace(post, plate + post)), cable=30.0)


def test_soils_beyond_the_number_held_are_told():
    layers = "{resistivity: %d ohm*m, thickness: 1.7 m}, {resistivity: 50 ohm*m}"
    more = [
        f"  - {{name: soil {k}, soil: {{layers: [{layers % (100 + 20 * k)}]}}}}\n"
        for k in range(9)
    ]
    case = load_case_text(YARD.replace("variants:\n", "variants:\n" + "".join(more)))
    sheets = plan_sheets(case, cable=30.0).sheets
    assert len(sheets.conditions) == 8
    assert any(
        "soils that are not held here: soil 7, soil 8, dry" in one for one in sheets.findings
    )


def test_the_command_writes_all_of_it(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("yard.yaml").write_text(YARD)
    told = CliRunner().invoke(main, ["sheets", "yard.yaml", "--cable", "25 m"])
    assert told.exit_code == 0, told.output
    names = {path.name for path in Path("yard-sheets").iterdir()}
    assert {"sheets.pdf", "readings.xlsx", "measured.yaml", "survey.csv", "steps.csv"} <= names
