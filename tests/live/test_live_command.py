"""A case edited on the real server: shown, drafted, confirmed, undone, saved, found again."""

import json
import os
import random
import signal
import time

import pytest
from killing import lives, orphans, started_by
from live_page import Live, live_on

from ohmscape.cases.loading import load_case
from ohmscape.jobs.run import run_case
from ohmscape.live.document import Edit
from ohmscape.live.journal import journal_path
from ohmscape.live.opening import opened
from ohmscape.viz.live.payload import case_payload

pytestmark = pytest.mark.slow

LENGTH = ["electrodes", 0, "parts", 0, "length"]
AT = ["electrodes", 0, "parts", 0, "at"]


def as_json(value):
    return json.loads(json.dumps(value))


def below(process):
    """A process, and all that come of it."""
    return [process, *(one for child in started_by(process) for one in below(child))]


def test_a_page_shows_drafts_and_confirms(live):
    tab = live.tab()
    case = tab.wait("case")
    assert (case["file"], case["variants"], case["variant"]) == (
        "well.yaml", ["dry season"], None,
    )  # fmt: skip
    assert (case["undo"], case["redo"], case["changes"]) == (0, 0, [])
    assert (case["saved"], case["settled"], case["taken_up"]) == (True, True, 0)
    draft = tab.wait("draft")
    assert draft["number"] == case["number"]
    confirmed = tab.wait("confirmed")
    assert confirmed["number"] == case["number"]
    assert tab.told[-2]["say"] == "confirming"


def test_an_edit_is_seen_by_a_second_tab_and_by_one_opened_later(live):
    first, second = live.tab(), live.tab()
    before = second.wait("case")
    first.wait("draft")
    assert first.done("set", path=LENGTH, value="2.4 m")["say"] == "case"
    seen = second.wait("case", until=lambda said: said["number"] > before["number"])
    assert [change["words"] for change in seen["changes"]] == [
        "electrodes[1] 'well rod'.parts[1].length: 1.8 m → 2.4 m"
    ]
    assert (seen["undo"], seen["saved"]) == (1, False)
    assert second.wait("draft", until=lambda said: said["number"] == seen["number"])
    later = live.tab()
    assert later.wait("case")["changes"] == seen["changes"]
    assert later.wait("draft")["number"] == seen["number"]


def test_what_is_wrong_stays_out_and_all_of_it_is_said(live):
    tab = live.tab()
    tab.wait("draft")
    answer = tab.done(
        "set", path=["electrodes", 0, "parts", 0], value={"kind": "rod", "oops": 1}
    )
    assert answer["say"] == "refused"
    assert answer["do"]["path"] == ["electrodes", 0, "parts", 0]
    messages = " ".join(problem["message"] for problem in answer["problems"])
    assert len(answer["problems"]) >= 3
    assert "is missing" in messages
    assert all(problem["place"].startswith("electrodes[1]") for problem in answer["problems"])
    for value in ("1,8 m", "-2 m", "1.8", "1.8 V"):
        assert tab.done("set", path=LENGTH, value=value)["say"] == "refused"
    assert tab.done("set", path=["nowhere", 0], value=1)["say"] == "refused"
    assert tab.done("undo")["say"] == "refused"
    # What was good stays: the next edit goes by it.
    case = tab.done("set", path=LENGTH, value="2 m")
    assert (case["say"], len(case["changes"])) == ("case", 1)


def test_undo_to_the_start_gives_the_very_file(live, file):
    before = file.read_bytes()
    tab = live.tab()
    tab.wait("draft")
    tab.done("set", path=LENGTH, value="2.2 m")
    tab.done("add", path=["electrodes", 0, "parts"], value={
        "kind": "rod", "at": ["2 m", "0 m"], "top_depth": "0 m", "length": "1 m",
        "diameter": "14 mm",
    })  # fmt: skip
    tab.done("remove", path=["variants", 0])
    case = tab.done("set", path=["title"], value="Another: rod")
    assert (case["undo"], case["variants"]) == (4, [])
    tab.say("save")
    tab.wait("done")
    assert file.read_bytes() != before
    for left in (3, 2, 1, 0):
        case = tab.done("undo")
        assert (case["undo"], case["redo"]) == (left, 4 - left)
    tab.say("save")
    tab.wait("done")
    assert file.read_bytes() == before
    case = tab.done("redo")
    assert case["changes"][0]["after"] == "2.2 m"


def test_a_drag_is_one_step_and_ends_where_it_was_good_last(live):
    tab = live.tab()
    tab.wait("draft")
    for x in range(1, 30):
        tab.set(AT, [f"{x / 10} m", "0.5 m"], moving=True)
    case = tab.wait("case", until=lambda said: said["changes"] != [] and not said["settled"])
    tab.set(AT, ["3 m", "0.5 m"])
    case = tab.wait("case", until=lambda said: said["settled"])
    assert case["undo"] == 1
    assert [change["after"] for change in case["changes"]] == ["3 m", "0.5 m"]
    tab.set(AT, ["4 m", "0.5 m"], moving=True)
    tab.wait("case", until=lambda said: not said["settled"])
    tab.set(AT, ["nonsense", "0.5 m"])
    tab.wait("refused")
    case = tab.told[-2]
    assert (case["say"], case["settled"], case["undo"]) == ("case", True, 2)
    assert case["changes"][0]["after"] == "4 m"


def test_a_variant_is_a_switch(live):
    tab = live.tab()
    wet = tab.wait("draft")
    case = tab.done("variant", name="dry season")
    assert case["variant"] == "dry season"
    dry = tab.told[-1]
    assert dry["number"] == case["number"] > wet["number"]
    ohms = [each["electrodes"][0]["resistance"] for each in (dry, wet)]
    assert ohms[0] / ohms[1] == pytest.approx(140 / 75, rel=1e-6)
    assert tab.done("variant", name="no such")["say"] == "refused"
    assert tab.done("variant", name=None)["variant"] is None


def test_killed_in_the_middle_of_an_edit_and_opened_again(file):
    before = file.read_bytes()
    with live_on(file) as live:
        tab = live.tab()
        tab.wait("draft")
        tab.done("set", path=LENGTH, value="2.2 m")
        tab.set(AT, ["0.7 m", "0 m"], moving=True)
        tab.set(AT, ["0.9 m", "0 m"], moving=True)
        tab.wait("case", until=lambda said: said["changes"][0]["after"] == "0.9 m")
        everything = below(live.process.pid)
        live.process.kill()
        live.process.wait()
        assert len(everything) >= 2  # one that drafts; what confirms may be gone
        assert orphans(everything) == []
    assert file.read_bytes() == before
    assert journal_path(file).exists()
    with live_on(file) as live:
        assert "Taken up again: " in live.said
        tab = live.tab()
        case = tab.wait("case")
        assert [change["after"] for change in case["changes"]] == ["0.9 m", "2.2 m"]
        assert (case["undo"], case["taken_up"] > 0, case["settled"]) == (2, True, True)
        case = tab.done("discard")
        assert (case["changes"], case["saved"]) == ([], True)
        case = tab.done("redo")
        assert [change["after"] for change in case["changes"]] == ["2.2 m"]


def test_an_edit_found_wanting_after_death_is_undone_when_opened(file):
    first = opened(file)
    good = Edit("set", ("electrodes", 0, "parts", 0, "length"), "2 m")
    first.journal.edit(good)
    first.journal.done(first.case.with_edit(good).last_splice)
    first.journal.edit(Edit("set", ("electrodes", 0, "parts", 0, "length"), "two"))
    first.journal.close(remove=False)
    with live_on(file) as live:
        tab = live.tab()
        refused = tab.wait("refused")
        assert "two" in refused["problems"][0]["message"]
        case = tab.wait("case") if tab.told[0]["say"] != "case" else tab.told[0]
        assert [change["after"] for change in case["changes"]] == ["2 m"]


@pytest.mark.parametrize(
    ("number", "status"),
    [(signal.SIGINT, 0), (signal.SIGTERM, 143), (signal.SIGHUP, 129)],
)
def test_signals_end_it_with_a_word_and_no_orphan(file, number, status):
    with live_on(file) as live:
        tab = live.tab()
        tab.wait("draft")
        tab.done("set", path=LENGTH, value="2.2 m")
        everything = below(live.process.pid)
        assert len(everything) >= 3
        code, rest, errors = live.ended(number)
        assert code == status
        assert "1 change not saved into well.yaml, kept in .well.yaml" in rest
        assert errors == ""
        assert [process for process in everything if lives(process)] == []
        tab.rest()
        assert tab.told[-1]["say"] == "gone"
    with live_on(file) as live:
        assert live.tab().wait("case")["undo"] == 1


def test_ended_with_all_saved_it_leaves_nothing_beside_the_case(file):
    with live_on(file) as live:
        tab = live.tab()
        tab.wait("draft")
        tab.done("set", path=LENGTH, value="2.2 m")
        tab.say("save")
        tab.wait("done")
        code, rest, _ = live.ended()
        assert (code, "nothing is left unsaved" in rest) == (0, True)
    assert [path.name for path in file.parent.iterdir()] == ["well.yaml"]


def test_a_terminal_that_is_gone_is_no_error(file):
    live = Live(file)
    everything = below(live.process.pid)
    live.process.stdout.close()
    live.process.stderr.close()
    live.process.send_signal(signal.SIGHUP)
    assert live.process.wait(timeout=20) == 129
    assert orphans(everything) == []


def test_a_confirmation_that_is_cancelled_leaves_no_process(live):
    tab = live.tab()
    tab.wait("confirming", until=lambda said: said["share"] > 0)
    confirming = set(live.workers())
    assert len(confirming) == 2
    number = tab.done("set", path=LENGTH, value="2.6 m")["number"]
    confirmed = tab.wait("confirmed")
    assert confirmed["number"] == number
    gone = confirming - set(live.workers())
    assert len(gone) == 1  # what confirmed the first
    assert not any(map(lives, gone))
    assert len(live.workers()) == 2


def test_a_worker_that_is_killed_is_replaced(live):
    tab = live.tab()
    tab.wait("confirmed")
    for process in live.workers():
        os.kill(process, signal.SIGKILL)
    time.sleep(0.3)
    answer = tab.done("set", path=LENGTH, value="2.6 m")
    if answer["say"] == "refused":  # told that its process is gone
        answer = tab.done("set", path=LENGTH, value="2.6 m")
    assert answer["say"] == "case"
    confirmed = tab.wait("confirmed", "not confirmed")
    if confirmed["say"] == "not confirmed":
        number = tab.done("set", path=LENGTH, value="2.7 m")["number"]
        confirmed = tab.wait("confirmed")
        assert confirmed["number"] == number


def test_what_is_confirmed_is_what_a_run_of_the_saved_file_gives(live, file):
    tab = live.tab()
    tab.wait("draft")
    number = tab.done("set", path=LENGTH, value="3.3 m")["number"]
    confirmed = tab.wait("confirmed", until=lambda said: said["number"] == number)
    tab.say("save")
    tab.wait("done")
    result = run_case(load_case(file))
    (told,) = confirmed["electrodes"]
    assert told["resistance"] == pytest.approx(result.operating.resistance[0, 0], rel=1e-9)
    assert told["rise"] == pytest.approx(abs(result.operating.voltage[0]), rel=1e-9)


def test_saving_over_what_another_program_wrote_is_refused(live, file):
    tab = live.tab()
    tab.wait("draft")
    tab.done("set", path=LENGTH, value="2.2 m")
    theirs = file.read_bytes() + b"# theirs\n"
    file.write_bytes(theirs)
    tab.say("save")
    failed = tab.wait("failed")
    assert "was changed since it was opened" in failed["problems"][0]["message"]
    assert file.read_bytes() == theirs
    tab.say("save copy", name="other.yaml")
    assert tab.wait("done")["files"] == ["other.yaml"]
    copy = file.with_name("other.yaml").read_text(encoding="utf-8")
    assert "length: 2.2 m" in copy
    assert copy.startswith("# by the well\n")
    code, _, _ = live.ended()
    assert code == 0
    refused = Live(file)
    assert refused.process.returncode == 2
    assert "--set-aside" in refused.errors


def test_a_case_that_is_wrong_is_refused_before_a_page_is_there(file):
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("1.8 m", "-1.8 m").replace("14 mm", "14"), encoding="utf-8")
    live = Live(file)
    assert live.process.returncode == 2
    assert live.errors.count("ohmscape: well.yaml:") == 2
    assert not journal_path(file).exists()


def test_a_second_command_on_the_same_case_is_refused(live, file):
    other = Live(file)
    assert other.process.returncode == 2
    assert "is open already" in other.errors


def test_a_full_run_is_written_beside_the_case_and_exported(live, file):
    tab = live.tab()
    tab.wait("draft")
    tab.say("export", **{"as": "dxf"})
    assert "run it first" in tab.wait("failed")["problems"][0]["message"]
    tab.say("run")
    tab.wait("working")
    assert tab.done("set", path=["title"], value="Meanwhile")["say"] == "case"
    done = tab.wait("done", seconds=300)
    assert {"well-result/report.html", "well-result/result.npz"} <= set(done["files"])
    tab.done("undo")
    tab.say("export", **{"as": "dxf"})
    assert tab.wait("done")["files"] == ["well-result/plan.dxf"]
    assert (file.parent / "well-result" / "plan.dxf").is_file()


def test_edits_at_random_leave_a_case_that_loads_solves_and_is_shown(live, file):
    luck = random.Random(20261128)
    tab = live.tab()
    tab.wait("draft")
    for number in range(200):
        do, given = some_edit(luck)
        tab.say(do, **given)
        if number % 10 == 9:
            tab.all_done()
    said = [message["say"] for message in tab.told]
    assert said.count("case") > 100
    assert said.count("refused") > 40  # 20 of which stand for all_done
    assert {"draft", "confirming"} <= set(said)
    tab.say("save")
    shown = tab.wait("case", until=lambda said: said["saved"])
    case = load_case(file)
    fresh = next((one for one in case.variants if one.variant == shown["variant"]), case)
    base = None if fresh is case else case
    assert shown["case"] == as_json(case_payload(fresh, base=base))
    assert shown["changes"] == []
    confirmed = tab.wait("confirmed", until=lambda said: said["number"] == shown["number"])
    result = run_case(fresh)
    (told,) = confirmed["electrodes"]
    assert told["resistance"] == pytest.approx(result.operating.resistance[0, 0], rel=1e-9)
    assert told["rise"] == pytest.approx(abs(result.operating.voltage[0]), rel=1e-9)
    assert file.read_text(encoding="utf-8").startswith("# by the well\n")


def some_edit(luck):
    """One of the things that people do on the page, now and then a wrong one."""
    part = ["electrodes", 0, "parts", luck.randint(0, 3)]
    x, y = (f"{luck.uniform(-6, 6):.2f} m" for _ in range(2))
    rod = {"kind": "rod", "at": [x, y], "top_depth": "0.2 m", "length": "1.5 m",
           "diameter": "14 mm"}  # fmt: skip
    ring = {"kind": "ring", "centre": [x, y], "ring_radius": f"{luck.uniform(0.5, 3):.2f} m",
            "depth": "0.5 m", "diameter": "10 mm"}  # fmt: skip
    return luck.choice(
        [
            ("set", {"path": [*part, "at"], "value": [x, y]}),
            ("set", {"path": [*part, "at"], "value": [x, y], "moving": True}),
            ("set", {"path": [*part, "length"], "value": f"{luck.uniform(0.5, 4):.2f} m"}),
            ("set", {"path": ["soil", "layers", 0, "resistivity"],
                     "value": f"{luck.randint(20, 900)} ohm*m"}),
            ("set", {"path": ["soil", "layers"], "value": [
                {"resistivity": "60 ohm*m", "thickness": f"{luck.uniform(1, 5):.2f} m"},
                {"resistivity": "300 ohm*m"}]}),
            ("add", {"path": ["electrodes", 0, "parts"], "value": rod}),
            ("add", {"path": ["electrodes", 0, "parts"], "value": ring}),
            ("remove", {"path": part}),
            ("undo", {}), ("undo", {}), ("redo", {}),
            ("variant", {"name": luck.choice(["dry season", None])}),
            ("set", {"path": ["electrodes", 0, "drive"], "value": {"current": "7 A"}}),
            ("set", {"path": [*part, "length"], "value": luck.choice(["0 m", "x", 3])}),
        ]
    )  # fmt: skip
