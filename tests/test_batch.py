"""The verb `batch`: every row judged, whoever does the work, whatever dies on the way."""

import csv
import json
import math
import os
import shutil
import signal
import subprocess
import sys
import time
from functools import partial
from pathlib import Path
from types import SimpleNamespace

import cloudpickle
import openpyxl
import pytest
from click.testing import CliRunner
from plot_rods import TEMPLATE

import ohmscape.jobs.family as family_module
from ohmscape.cases.family.reading import read_family, row_case
from ohmscape.cases.fitting import fit_soil
from ohmscape.cases.loading import load_case
from ohmscape.cases.shipped import shipped_case_path
from ohmscape.command_line import main
from ohmscape.jobs.family import batch_of, row_named, run_row
from ohmscape.jobs.family_engines import RETRIES, Lost, PlainLoop, Workers, _Chunks
from ohmscape.jobs.family_kept import KeptRows, kept_name
from ohmscape.jobs.family_rows import solved, tried
from ohmscape.jobs.run import run_variants
from ohmscape.jobs.trying import Trials, evaluation_of
from ohmscape.solver.design import Targets
from ohmscape.solver.errors import CaseError, ResultError
from ohmscape.solver.family import (
    Batch,
    Record,
    RowFound,
    needs_elements,
    record_of,
    sampled,
    within,
)
from ohmscape.viz.family.files import save_batch
from ohmscape.viz.family.text import batch_text

HEADINGS = (
    "name,east [m],north [m],note: feeder,variants[dry].soil.layers[1].resistivity [ohm*m],"
    "electrodes[plot earth].parts[rod].length [m]"
)
# Shares of the limit from about a third to twice it; the seventh is near.
ROWS = [
    f"plot {k},{100 * k},{37 * k},F{k % 2},{80 + 60 * k},{1.5 + k % 3}" for k in range(1, 8)
]
BAD = "broken,0,0,F1,-80,1.5"


@pytest.fixture
def files(tmp_path):
    """Template and table with these rows; their paths as text."""

    def build(rows=ROWS, template=TEMPLATE):
        (tmp_path / "plots.yaml").write_text(template, encoding="utf-8")
        (tmp_path / "plots.csv").write_text("\n".join([HEADINGS, *rows]) + "\n", "utf-8")
        return str(tmp_path / "plots.yaml"), str(tmp_path / "plots.csv")

    return build


@pytest.fixture
def family(files):
    return lambda *arguments: read_family(*files(*arguments))


def numbers(batch):
    """All that was found, by the rows' numbers, to be equal bit by bit."""
    return {row.number: repr((row.sha256, row.thin, row.elements)) for row in batch.rows}


@pytest.fixture(scope="module")
def workers():
    # Workers cannot import this file: they are sent what they need of it.
    cloudpickle.register_pickle_by_value(sys.modules[__name__])
    with Workers(count=2) as found:
        yield found


# ------------------------------------------------------------------ records and tiers


def record(share, *, error=0.01, standing="passes", **more):
    return Record("thin conductors", standing, share=share, least=share - error,
                  most=share + error, **more)  # fmt: skip


def test_rows_near_a_limit_are_solved_and_others_only_by_lot():
    assert needs_elements(record(0.93), band=0.1)
    assert needs_elements(record(1.09, standing="misses"), band=0.1)
    assert not needs_elements(record(0.85), band=0.1)
    # Its own estimated error does not tell it from the limit.
    assert within(record(0.8, error=0.3), band=0.01)
    failed = Record("thin conductors", "not solved", fault="too much metal", other_method=True)
    assert needs_elements(failed, band=0.1) == "thin conductors could not"
    assert not needs_elements(Record("thin conductors", "not solved", fault="bad"), band=0.1)
    assert not needs_elements(record(math.inf, standing="melts"), band=0.1)


def test_the_same_seed_draws_the_same_rows():
    records = {k: record(0.5) for k in range(1, 40)}
    first = sampled(records, left_out=[3, 4], count=6, seed=2)
    assert first == sampled(records, left_out=[4, 3], count=6, seed=2)
    assert first != sampled(records, left_out=[3, 4], count=6, seed=3)
    assert not {3, 4} & set(first)
    assert len(sampled(records, left_out=[], count=100, seed=1)) == 39


def test_records_say_what_the_evaluation_says(family):
    made = family()
    case = row_case(made.template, made.rows[0])
    found = evaluation_of(case, run_variants(case))
    kept = record_of(found, targets=Targets())
    need = found.deciding(Targets())
    assert (kept.share, kept.condition) == (found.worst(Targets()), "dry")
    assert (kept.voltage, kept.limit) == (need.met.voltage, need.met.limit)
    assert Record.of_tree(json.loads(json.dumps(kept.as_tree()))) == kept


# --------------------------------------------------------------------- plain loop


def test_each_row_is_judged_as_its_case_alone_is(family):
    made = family()
    batch = batch_of(made, band=0.1, sample=1)
    by_name = {row.name: row for row in batch.rows}
    shares = [row.best.share for row in batch.rows]
    assert shares == sorted(shares, reverse=True)
    assert {row.best.condition for row in batch.rows} == {"dry"}
    assert by_name["plot 1"].best.standing == "passes"
    assert batch.rows[0].best.standing == "misses"
    near = [row for row in batch.rows if row.why == "near a limit"]
    drawn = [row for row in batch.rows if row.why == "drawn for proof"]
    assert len(drawn) == 1
    assert all(abs(row.thin.share - 1) <= 0.1 for row in near)
    for row in [*near, *drawn]:
        # Run alone, by the text of its own case file: the same numbers to the last bit.
        case = row_case(made.template, row_named(made, row.name))
        results = run_row(made, row_named(made, row.name))
        alone = record_of(evaluation_of(case, results), targets=Targets())
        assert repr(alone.share) == repr(row.elements.share)
        assert alone.resistance == row.elements.resistance


def test_a_bad_row_is_listed_and_costs_no_other(family):
    with_bad, without = family([*ROWS[:3], BAD, "short,1"]), family(ROWS[:3])
    batch = batch_of(with_bad, sample=0, band=0)
    assert [(item.name, item.line) for item in batch.bad] == [("broken", 5), ("row 5", 6)]
    assert "must be above 0" in batch.bad[0].problems[0][1]
    assert numbers(batch) == numbers(batch_of(without, sample=0, band=0))


def test_a_table_of_bad_rows_alone_is_refused(family):
    with pytest.raises(CaseError, match="must be above 0"):
        batch_of(family([BAD]))


def test_rows_of_one_case_are_done_once(family, monkeypatch):
    done = []
    monkeypatch.setattr(family_module, "tried", partial(_counted, done))
    twice = [ROWS[0], ROWS[0].replace("plot 1", "plot 1 again"), ROWS[1]]
    batch = batch_of(family(twice), sample=0, band=0)
    assert len(done) == 2
    assert len(batch.rows) == 3


def _counted(done, template, targets, row):
    done.append(row.name)
    return tried(template, targets, row)


def test_what_breaks_down_in_one_row_costs_that_row(family, monkeypatch):
    monkeypatch.setattr(family_module, "tried", _breaks_at_two)
    batch = batch_of(family(ROWS[:3]), sample=0, band=0)
    (lost,) = batch.unanswered
    assert lost.name == "plot 2"
    assert lost.fault == "RuntimeError: of this row"
    assert batch.rows[0] is lost  # nobody knows how bad it is


def _breaks_at_two(template, targets, row):
    if row.number == 2:
        msg = "of this row"
        raise RuntimeError(msg)
    return tried(template, targets, row)


def test_the_band_widens_to_what_the_methods_differ_by(family, monkeypatch):
    off = []
    monkeypatch.setattr(family_module, "solved", partial(_off, off))
    made = family()
    batch = batch_of(made, band=0.01, sample=7)
    assert batch.widened == pytest.approx(0.2, abs=0.03)
    for row in batch.rows:
        if abs(row.thin.share - 1) <= 0.17:
            assert row.elements is not None


def _off(off, template, targets, accuracy, row):
    """Finite elements that find a fifth more."""
    found = solved(template, targets, accuracy, row)
    tree = found.as_tree()
    return Record.of_tree({**tree, "share": 1.2 * found.share})


def test_rows_on_which_the_methods_contradict_are_named():
    thin = record(0.97)
    other = Record("finite elements", "misses", share=1.02, least=1.01, most=1.03)
    rows = [
        RowFound(1, 2, "kept", "a", thin, record(0.98), "drawn for proof"),
        RowFound(2, 3, "turned", "b", thin, other, "near a limit"),
    ]
    batch = Batch("t", "t.yaml", "t.csv", "SI", tuple(rows), (), 0.1, 0.1, 1, 1)
    assert [row.name for row in batch.contradicted] == ["turned"]
    assert batch.differences[1].share == pytest.approx(1.02 / 0.97 - 1)
    assert "contradict each other on 1 row" in " ".join(batch_text(batch).split())


def test_without_limits_rows_are_ranked_by_their_rise(files):
    start, end = TEMPLATE.index("  touch:"), TEMPLATE.index("numerics:")
    made = read_family(*files(ROWS, TEMPLATE[:start] + TEMPLATE[end:]))
    batch = batch_of(made, sample=1)
    rises = [row.best.rise for row in batch.rows]
    assert rises == sorted(rises, reverse=True)
    assert {row.best.standing for row in batch.rows} == {"no limits"}


def test_a_rise_above_the_system_is_doubted(family):
    template = TEMPLATE.replace("study:", "system: {voltage_to_earth: 230 V}\nstudy:")
    batch = batch_of(family(ROWS, template), sample=0, band=0)
    assert any("CANNOT BE" in text for text in batch.rows[0].doubts)
    assert not batch.rows[-1].doubts
    assert "CANNOT BE" in batch_text(batch)


# ------------------------------------------------------------------------- kept


def test_records_that_were_kept_are_not_made_again(family, tmp_path, monkeypatch):
    made = family()
    first = batch_of(made, folder=tmp_path / "out", sample=1)
    done = []
    monkeypatch.setattr(family_module, "tried", partial(_counted, done))
    again = batch_of(made, folder=tmp_path / "out", sample=1)
    assert done == []
    assert numbers(again) == numbers(first)
    edited = [ROWS[0], ROWS[1].replace(",200,", ",205,"), *ROWS[2:]]
    batch_of(family(edited), folder=tmp_path / "out", sample=0, band=0)
    assert done == ["plot 2"]


def test_a_line_that_a_kill_cut_is_done_anew(family, tmp_path):
    made = family()
    first = batch_of(made, folder=tmp_path, sample=0, band=0)
    path = tmp_path / kept_name
    text = path.read_text()
    path.write_text(text[:-40])
    assert len(KeptRows(tmp_path).records) == len(made.rows) - 1
    assert numbers(batch_of(made, folder=tmp_path, sample=0, band=0)) == numbers(first)
    assert path.read_text() == text


def test_what_is_no_list_of_records_is_left_alone(family, tmp_path):
    (tmp_path / kept_name).write_text("mine\n")
    with pytest.raises(ResultError, match="take it away to begin anew"):
        batch_of(family(), folder=tmp_path)
    assert (tmp_path / kept_name).read_text() == "mine\n"


# ------------------------------------------------------------------------ files


def test_the_command_writes_tables_and_sites_and_goes_on_past_bad_rows(files, tmp_path):
    template, table = files([*ROWS, BAD])
    out = tmp_path / "out"
    said = CliRunner().invoke(
        main,
        ["batch", template, table, "-o", str(out), "--workers", "0", "--sample", "1",
         "--reference-system", "EPSG:25832", "--keep", "plot 2", "--no-pictures"],
    )  # fmt: skip
    assert said.exit_code == 2, said.output
    assert (
        "plots.csv:9: broken: variants[dry].soil.layers[1].resistivity [ohm*m]" in said.output
    )
    assert "For a qualified engineer to check" in said.output
    with (out / "summary.csv").open(newline="") as file:
        lines = [line for line in file if not line.startswith("#")]
    rows = list(csv.DictReader(lines))
    assert len(rows) == 7
    shares = [float(row["takes of what is allowed [%]"]) for row in rows]
    assert shares == sorted(shares, reverse=True)
    assert rows[0]["decides"] == "at the post"
    assert rows[0]["in"] == "dry"
    book = openpyxl.load_workbook(out / "summary.xlsx")
    assert book.sheetnames == ["rows", "bad rows", "about"]
    sheet = list(book["rows"].values)
    assert sheet[1][2] == rows[0]["name"]
    assert sheet[1][4] == pytest.approx(shares[0], rel=1e-8)
    sites = json.loads((out / "sites.geojson").read_text())
    assert sites["crs"]["properties"]["name"] == "urn:ogc:def:crs:EPSG::25832"
    points = {item["properties"]["name"]: item for item in sites["features"]}
    assert points["plot 2"]["geometry"]["coordinates"] == [200.0, 74.0]
    assert points["plot 2"]["properties"]["feeder"] == "F0"
    kept = out / "rows" / "00002-plot-2"
    assert (kept / "result.npz").is_file()
    assert load_case(kept / "case.yaml").variants[0].soil.resistivity == (200.0,)
    assert "page" not in rows[0]  # --no-pictures leaves none
    again = CliRunner().invoke(
        main,
        ["batch", template, table, "-o", str(out), "--workers", "0", "--sample", "1", "-q"],
    )
    assert again.exit_code == 2
    assert not (out / "sites.geojson").exists()  # nobody said what east and north are of


def test_pages_of_rows_asked_for_are_named_by_all_files(files, tmp_path, monkeypatch):
    template, table = files([*ROWS[:2], ROWS[5]])
    out = tmp_path / "out"
    done = []
    monkeypatch.setattr(family_module, "run_variants", _run_and_told(done))

    def batch(*more):
        return CliRunner().invoke(
            main, ["batch", template, table, "-o", str(out), "--workers", "0", "--sample", "0",
                   "-q", "--reference-system", "local grid", *more]
        )  # fmt: skip

    def pages():
        with (out / "summary.csv").open(newline="") as file:
            lines = [line for line in file if not line.startswith("#")]
        found = {
            row["name"]: row.get("page") for row in csv.DictReader(lines) if row.get("page")
        }
        sites = json.loads((out / "sites.geojson").read_text())["features"]
        named = {item["properties"]["name"]: item["properties"].get("page") for item in sites}
        assert found == {name: page for name, page in named.items() if page}
        for page in found.values():
            assert page in (out / "batch.html").read_text()
            assert (out / page).is_file()
        return found

    said = batch("--keep", "failing", "--keep", "plot 1")
    assert said.exit_code == 0, said.output
    assert pages() == {
        "plot 1": "rows/00001-plot-1/report.html",
        "plot 6": "rows/00003-plot-6/report.html",
    }
    assert len(done) == 2
    # They are there: nothing is run again, and they go on being named.
    assert batch("--keep", "failing").exit_code == 0
    assert len(done) == 2
    assert set(pages()) == {"plot 1", "plot 6"}
    # A row that is another now has no page until it is run again.
    files([*ROWS[:2], ROWS[5].replace(",440,", ",450,")])
    assert batch().exit_code == 0
    assert set(pages()) == {"plot 1"}
    assert batch("--keep", "failing").exit_code == 0
    assert set(pages()) == {"plot 1", "plot 6"}
    assert len(done) == 3


def _run_and_told(done):
    def run(case, **options):
        done.append(case.title)
        return run_variants(case, **options)

    return run


def test_a_row_of_no_place_is_judged_and_said_to_be_on_no_map(family, tmp_path):
    rows = [*ROWS[:2], "nowhere,,,F1,200,2", "half,5,,F1,200,2"]
    made = family(rows)
    (bad,) = made.bad
    assert bad.row.name == "half"
    assert "leave both coordinates empty" in str(bad.problems[0])
    batch = batch_of(made, sample=0, band=0)
    assert batch.unplaced == 1
    save_batch(batch, tmp_path / "out", reference_system="EPSG:25832")
    for name in ("batch.html", "summary.csv"):
        assert (
            "1 row has no coordinates: in all tables, on no map."
            in (tmp_path / "out" / name).read_text()
        )
    assert "1 row has no coordinates" in batch_text(batch)
    sites = json.loads((tmp_path / "out" / "sites.geojson").read_text())["features"]
    places = {item["properties"]["name"]: item["geometry"] for item in sites}
    assert places.keys() == {"plot 1", "plot 2", "nowhere"}
    assert places["nowhere"] is None


def test_geographic_sites_are_wgs_84_without_a_word(files, tmp_path):
    files()
    made = read_family(*_geographic(tmp_path))
    save_batch(batch_of(made, sample=0, band=0), tmp_path / "out")
    sites = json.loads((tmp_path / "out" / "sites.geojson").read_text())
    assert "crs" not in sites
    assert sites["features"][0]["geometry"]["coordinates"] == [4.5, 54.25]


def test_the_page_holds_all_rows_and_no_name_ends_its_data(family, tmp_path):
    rows = [ROWS[0].replace("plot 1", "</script><b>x"), *ROWS[1:], BAD]
    batch = batch_of(family(rows), sample=0, band=0)
    save_batch(batch, tmp_path / "out", reference_system="local grid")
    page = (tmp_path / "out" / "batch.html").read_text()
    assert page.count("</script>") == 2
    start = page.index('id="data">') + len('id="data">')
    data = json.loads(page[start : page.index("</script>", start)])
    assert [row[1] for row in data["rows"]] == [row.name for row in batch.rows]
    assert data["places"][0] == list(batch.rows[0].place)
    assert "East and north, local grid." in page
    assert "must be above 0" in page
    assert "For a qualified engineer to check" in page


def _geographic(tmp_path):
    headings = HEADINGS.replace("east [m],north [m]", "latitude [deg],longitude [deg]")
    (tmp_path / "wide.csv").write_text(f"{headings}\nsea,54.25,4.5,F1,80,2\n", "utf-8")
    return tmp_path / "plots.yaml", tmp_path / "wide.csv"


# ------------------------------------------------------------------------ workers


@pytest.mark.slow
def test_any_number_of_workers_finds_the_same_to_the_last_bit(family, workers):
    made = family([*ROWS, BAD])
    alone = batch_of(made, sample=1)
    shared = batch_of(made, engine=workers, sample=1)
    assert numbers(shared) == numbers(alone)
    assert shared.bad == alone.bad
    assert any(row.elements for row in alone.rows)


@pytest.mark.slow
def test_gmsh_works_in_a_process_of_its_own_on_a_worker(workers):
    ((_, elements),) = workers.answers(_meshed, ["substation-grid"])
    assert elements > 1000


def _meshed(name):
    from ohmscape.jobs.solving import plan
    from ohmscape.meshes.watching import build_mesh

    planned = plan(load_case(name), accuracy="coarse")
    return len(build_mesh(planned, seconds=60.0).tetrahedra)  # seconds ask for a process


@pytest.mark.slow
def test_a_worker_knows_that_it_is_one_of_several(workers):
    ((_, found),) = workers.answers(_share, [0])
    threads, memory, whole = found
    assert threads == 1
    assert memory < 0.6 * whole


def _share(_):
    from ohmscape.solver.memory import usable_memory
    from ohmscape.solver.threads import cores

    return cores(), usable_memory(), os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")


@pytest.mark.slow
def test_workers_of_any_scheduler_do_the_same(family, workers):
    made = family(ROWS[:3])
    address = workers._client.scheduler.address
    with Workers(scheduler=address) as joined:
        assert joined.workers == 2
        shared = batch_of(made, engine=joined, sample=0, band=0)
    assert numbers(shared) == numbers(batch_of(made, sample=0, band=0))
    # They go on working for others.
    assert dict(workers.answers(str, [1])) == {0: "1"}


@pytest.mark.slow
def test_an_item_whose_worker_dies_is_tried_again_and_then_named(workers, tmp_path):
    found = dict(workers.answers(partial(_dies, tmp_path), [1, 2, 3, 4, 5]))
    assert [found[k] for k in (0, 2, 4)] == [1, 3, 5]
    assert found[3] == 4  # died once, then done
    assert isinstance(found[1], Lost)
    assert f"died {RETRIES + 1} times" in found[1].why
    # It alone was tried so often: others only waited where it was.
    assert len(list(tmp_path.glob("2-*"))) > RETRIES + 1
    assert len(workers.deaths()) > RETRIES + 1


def _dies(folder, item):
    tries = len(list(Path(folder).glob(f"{item}-*")))
    (Path(folder) / f"{item}-{tries}").touch()
    if item == 2 or (item == 4 and tries == 0):
        os.kill(os.getpid(), signal.SIGKILL)
    return item


def test_chunks_that_were_given_up_without_a_word_are_not_waited_for(monkeypatch):
    """As a scheduler was seen to hold a task for failed of which its client never heard."""

    def nothing(*_, **__):
        raise TimeoutError

    monkeypatch.setattr("distributed.wait", nothing)
    tasks = {"a": SimpleNamespace(state="processing"), "b": SimpleNamespace(state="erred")}
    futures = [SimpleNamespace(key=key, done=lambda: False) for key in ("a", "b", "c")]
    engine = Workers()
    engine._client = SimpleNamespace(
        run_on_scheduler=lambda asked: asked(SimpleNamespace(tasks=tasks))
    )
    assert [future.key for future in engine._ended(futures)] == ["b", "c"]
    # What has an answer comes first, whatever the scheduler holds.
    futures[0].done = lambda: True
    assert [future.key for future in engine._ended(futures)] == ["a"]


@pytest.mark.slow
def test_an_item_that_kills_in_a_chunk_costs_no_other_of_it(workers, tmp_path):
    found = dict(workers.answers(partial(_dies_at, tmp_path, 150), range(200)))
    assert sorted(found) == list(range(200))
    assert isinstance(found.pop(150), Lost)
    assert found == {k: k for k in found}
    # It died in a chunk: others of it were done before, and had to be done again.
    assert len(list(tmp_path.glob("again-*"))) > 1


def _dies_at(folder, number, item):
    seen = Path(folder) / f"seen-{item}"
    if seen.exists():
        (Path(folder) / f"again-{item}").touch()
    seen.touch()
    if item == number:
        os.kill(os.getpid(), signal.SIGKILL)
    return item


def test_chunks_hold_a_second_or_two_of_work_and_a_fair_share():
    chunks = _Chunks(10_000, 200)
    assert [chunks.size(64) for _ in range(64)] == [1] * 64  # nobody knows how long they take
    chunks.took(0.2, 1)
    assert chunks.size(64) == 7
    sizes = []
    while sum(sizes) < 10_000 - 64 - 7:
        sizes.append(chunks.size(64))
    assert max(sizes) == 7
    assert sizes == sorted(sizes, reverse=True)
    assert sizes[-128:] == [1] * 128  # so that all end together
    slow = _Chunks(1000, 200)
    slow.took(4.0, 1)
    assert slow.size(2) == 1
    quick = _Chunks(10_000, 200)
    quick.took(1e-9, 1)
    assert quick.size(2) == 200


@pytest.mark.slow
def test_a_batch_that_was_killed_loses_no_row_and_goes_on(files, tmp_path):
    rows = [f"plot {k},{k},{k},F,{80 + k},1.5" for k in range(1, 61)]
    template, table = files(rows)
    out = tmp_path / "out"
    command = [sys.executable, "-m", "ohmscape", "batch", template, table, "-o", str(out), "-q",
               "--workers", "2", "--sample", "0", "--band", "0"]  # fmt: skip
    process = subprocess.Popen(command)
    kept = out / kept_name
    while process.poll() is None:
        if kept.exists() and kept.read_text().count("\n") > 6:
            break
        time.sleep(0.05)
    process.kill()
    process.wait()
    before = KeptRows(out).records
    assert 4 < len(before) < 60
    done = subprocess.run(command)
    assert done.returncode == 0
    after = KeptRows(out).records
    assert len(after) == 60
    assert all(repr(after[key]) == repr(record) for key, record in before.items())


def test_a_scheduler_that_is_not_there_is_said(monkeypatch):
    monkeypatch.setattr("ohmscape.jobs.family_engines._patience", 0.5)
    with (
        pytest.raises(ResultError, match=r"no scheduler with workers at tcp://127\.0\.0\.1:9"),
        Workers(scheduler="tcp://127.0.0.1:9"),
    ):
        pass


def test_a_plain_loop_has_no_deaths():
    assert PlainLoop().deaths() == ()


def test_rows_share_the_fit_of_a_survey_and_have_it_as_a_run_alone_does(tmp_path):
    folder = shipped_case_path("surveyed-pump-house").parent
    for name in ("surveyed-pump-house.yaml", "surveyed-pump-house.csv"):
        shutil.copy(folder / name, tmp_path)
    case = load_case(tmp_path / "surveyed-pump-house.yaml")
    column = f"electrodes[1].drive.{case.drives[0].kind}"
    unit = "A" if case.drives[0].kind == "current" else "V"
    (tmp_path / "t.csv").write_text(f"name,{column} [{unit}]\na,10\nb,20\n", "utf-8")
    made = read_family(tmp_path / "surveyed-pump-house.yaml", tmp_path / "t.csv")
    batch = batch_of(made, sample=0, band=0)
    one, two = (row.thin for row in sorted(batch.rows, key=lambda row: row.number))
    assert two.rise == pytest.approx(2 * one.rise, rel=1e-9)
    alone = Trials().evaluation(fit_soil(row_case(made.template, made.rows[0])))
    assert one.resistance == alone.resistance


def test_the_shipped_family_can_be_had_to_start_from(tmp_path):
    said = CliRunner().invoke(
        main, ["new", str(tmp_path / "mine.yaml"), "--like", "forty-pads"]
    )
    assert said.exit_code == 0, said.output
    assert "forty-pads.csv, a row for each site" in said.output
    assert len(read_family(tmp_path / "mine.yaml", tmp_path / "forty-pads.csv").rows) == 40


@pytest.mark.slow
def test_workers_can_be_started_again_in_one_process():
    for _ in range(2):
        with Workers(count=1) as engine:
            assert engine.workers == 1
            assert list(engine.answers(abs, [-3])) == [(0, 3)]
