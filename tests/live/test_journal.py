"""Edits that are not saved are there again, whatever died and wherever it was cut."""

import json
import random
import subprocess
import sys
from pathlib import Path

import pytest

from ohmscape.live.document import Edit, EditedCase
from ohmscape.live.journal import Journal, digest, journal_path, write_whole_file
from ohmscape.live.opening import opened
from ohmscape.live.saving import read_case_text, save_copy, save_over
from ohmscape.solver.errors import BudgetError, CaseError, ResultError

TEXT = "# mine\ntitle: A yard\nlist: [1, 2]\n"


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "yard.yaml"
    path.write_text(TEXT, encoding="utf-8")
    return path


def found(file):
    """What is found when the case is opened again; it is closed at once."""
    again = opened(file)
    again.journal.close(remove=False)
    return again


def edited(journal, case, *edits, splices=True):
    """The case with edits, each kept as a session keeps it."""
    for edit in edits:
        after = case.with_edit(edit)
        journal.edit(edit)
        if splices and after.text != case.text and edit.do not in ("undo", "redo"):
            journal.done(after.last_splice)
        case = after
    return case


EDITS = (
    Edit("set", ("title",), "Another"),
    Edit("add", ("list",), 3),
    Edit("undo"),
    Edit("set", ("list", 0), 5, moving=True),
    Edit("set", ("list", 0), 6, moving=True),
    Edit("set", ("list", 0), 7),
    Edit("set", ("note",), "Ω – noted"),
    Edit("undo"),
    Edit("redo"),
)


@pytest.mark.parametrize("splices", [True, False])
def test_edits_are_taken_up_with_all_their_steps(file, splices):
    first = opened(file)
    assert first.taken_up == 0
    case = edited(first.journal, first.case, *EDITS, splices=splices)
    first.journal.close(remove=False)
    again = found(file)
    assert again.case.text == case.text
    assert again.case.content == case.content
    assert (again.case.undoable, again.case.redoable) == (case.undoable, case.redoable)
    assert again.taken_up == 7
    assert again.case.with_edit(Edit("discard")).text == TEXT


def test_a_journal_cut_anywhere_gives_the_edits_up_to_there(file):
    first = opened(file)
    cases, lengths = [first.case], [journal_path(file).stat().st_size]
    for edit in EDITS:
        cases.append(edited(first.journal, cases[-1], edit, splices=False))
        lengths.append(journal_path(file).stat().st_size)
    first.journal.close(remove=False)
    whole = journal_path(file).read_bytes()
    luck = random.Random(7)
    for cut in [0, *lengths, *(luck.randrange(len(whole)) for _ in range(60))]:
        journal_path(file).write_bytes(whole[:cut])
        expected = [case for case, length in zip(cases, lengths, strict=True) if length <= cut]
        again = found(file)
        case = expected[-1].with_edit(Edit("settle")) if expected else cases[0]
        assert again.case.text == case.text


def test_what_is_written_behind_a_cut_is_whole(file):
    first = opened(file)
    edited(first.journal, first.case, EDITS[0])
    first.journal.close(remove=False)
    with journal_path(file).open("ab") as kept:
        kept.write(b'0badc0de {"edit"')
    again = opened(file)
    case = edited(again.journal, again.case, EDITS[1])
    again.journal.close(remove=False)
    assert found(file).case.text == case.text


def test_an_edit_that_was_refused_is_not_taken_up(file):
    first = opened(file)
    case = edited(first.journal, first.case, EDITS[0])
    first.journal.edit(Edit("set", ("title",), "no good"))
    first.journal.refused()
    first.journal.close(remove=False)
    assert found(file).case.text == case.text


def test_a_damaged_journal_is_neither_used_nor_lost(file):
    first = opened(file)
    edited(first.journal, first.case, *EDITS[:3])
    first.journal.close(remove=False)
    content = bytearray(journal_path(file).read_bytes())
    content[len(content) // 2] ^= 1
    journal_path(file).write_bytes(content)
    with pytest.raises(ResultError, match=r"damaged in line \d+.*move it elsewhere"):
        opened(file)
    assert journal_path(file).read_bytes() == content


def test_edits_of_a_file_that_was_changed_meanwhile_are_refused_and_kept(file):
    first = opened(file)
    case = edited(first.journal, first.case, EDITS[0])
    first.journal.close(remove=False)
    kept = journal_path(file).read_bytes()
    file.write_text("title: changed by hand\nlist: []\n", encoding="utf-8")
    with pytest.raises(CaseError, match=r"changed since 1 edit .*--set-aside"):
        opened(file)
    assert journal_path(file).read_bytes() == kept
    aside = opened(file, set_aside=True)
    assert aside.aside.name == "yard-unsaved.yaml"
    assert aside.aside.read_text(encoding="utf-8") == case.text
    assert aside.case.text == "title: changed by hand\nlist: []\n"
    assert aside.taken_up == 0
    aside.journal.close(remove=True)
    assert not journal_path(file).exists()


def test_after_saving_only_later_edits_are_taken_up(file):
    first = opened(file)
    case = edited(first.journal, first.case, EDITS[0])
    content = case.text.encode()
    first.journal.saving(digest(content))
    save_over(file, content, known=first.disk.file)
    later = edited(first.journal, case, EDITS[1])
    first.journal.close(remove=False)
    again = found(file)
    assert (again.case.text, again.taken_up) == (later.text, 1)
    assert again.case.with_edit(Edit("undo")).text == file.read_text(encoding="utf-8")
    # All of it was saved in the end: there is nothing to take up.
    file.write_text(later.text, encoding="utf-8")
    assert found(file).taken_up == 0


def test_death_between_noting_and_writing_loses_nothing(file):
    first = opened(file)
    case = edited(first.journal, first.case, EDITS[0])
    first.journal.saving(digest(case.text.encode()))
    first.journal.close(remove=False)
    assert found(file).case.text == case.text


def test_a_case_is_open_once(file):
    first = opened(file)
    with pytest.raises(CaseError, match="open already"):
        opened(file)
    first.journal.close(remove=True)
    opened(file).journal.close(remove=True)


def test_a_case_of_a_killed_process_is_open_no_more(file):
    code = (
        "import sys, os, signal; from pathlib import Path; from ohmscape.live import opening;"
        "from ohmscape.live.document import Edit; it = opening.opened(Path(sys.argv[1]));"
        "it.journal.edit(Edit('set', ('title',), 'kept'));"
        "os.kill(os.getpid(), signal.SIGKILL)"
    )
    done = subprocess.run([sys.executable, "-c", code, str(file)])
    assert done.returncode == -9
    assert found(file).case.content["title"] == "kept"


def test_a_link_in_the_place_of_the_journal_is_not_followed(file, tmp_path):
    other = tmp_path / "other"
    other.write_text("precious")
    journal_path(file).symlink_to(other)
    with pytest.raises(OSError, match=r"symbolic|loop"):
        Journal(file)
    assert other.read_text() == "precious"


def test_a_disk_that_fills_up_leaves_whole_records(file, monkeypatch):
    first = opened(file)
    case = edited(first.journal, first.case, EDITS[0])
    raw = first.journal._file

    class Full:
        def __getattr__(self, name):
            return getattr(raw, name)

        def write(self, line):
            return raw.write(line[:10])

    monkeypatch.setattr(first.journal, "_file", Full())
    with pytest.raises(OSError, match="space"):
        first.journal.edit(EDITS[1])
    monkeypatch.undo()
    later = edited(first.journal, case, EDITS[6])
    first.journal.close(remove=False)
    assert found(file).case.text == later.text


@pytest.mark.parametrize(
    "content",
    [
        TEXT.encode(),
        b"\xef\xbb\xbf" + TEXT.encode(),
        TEXT.replace("\n", "\r\n").encode(),
        b"\xef\xbb\xbf" + TEXT.replace("\n", "\r\n").encode(),
        b"title: a\r\nlist: [1]\n",
        b"title: no end of line",
    ],
)
def test_a_file_is_written_as_it_was(tmp_path, content):
    path = tmp_path / "yard.yaml"
    path.write_bytes(content)
    disk = read_case_text(path)
    assert disk.content(disk.text) == content
    changed = EditedCase.of(disk.text).with_edit(Edit("set", ("title",), "b"))
    back = changed.with_edit(Edit("undo"))
    assert disk.content(back.text) == content
    if disk.returns:
        added = EditedCase.of(disk.text).with_edit(Edit("set", ("new",), {"a": {"b": 1}}))
        written = disk.content(added.text)
        assert written.count(b"\n") == written.count(b"\r\n")


def test_a_file_changed_by_another_program_is_not_written_over(file):
    disk = read_case_text(file)
    file.write_text("theirs: 1\n")
    with pytest.raises(ResultError, match=r"was changed since.*save a copy"):
        save_over(file, b"mine: 1\n", known=disk.file)
    assert file.read_text() == "theirs: 1\n"
    file.unlink()
    with pytest.raises(ResultError, match="was taken away"):
        save_over(file, b"mine: 1\n", known=disk.file)


def test_rights_and_neighbours_of_a_file_stay(file):
    file.chmod(0o640)
    write_whole_file(file, b"new: 1\n")
    assert file.stat().st_mode & 0o777 == 0o640
    assert [path.name for path in file.parent.iterdir()] == ["yard.yaml"]


def test_a_link_in_the_place_of_a_draft_is_not_written_through(file, tmp_path):
    other = tmp_path / "other.txt"
    other.write_text("theirs")
    file.with_name(f".{file.name}.ohmscape-draft").symlink_to(other)
    write_whole_file(file, b"new: 1\n")
    assert other.read_text() == "theirs"
    assert file.read_bytes() == b"new: 1\n"
    assert not file.is_symlink()


def test_a_write_protected_file_is_not_replaced(file):
    disk = read_case_text(file)
    file.chmod(0o444)
    with pytest.raises(ResultError, match=r"write-protected.*save a copy"):
        save_over(file, b"new: 1\n", known=disk.file)
    assert file.read_bytes() == disk.content(disk.text)


def test_a_copy_that_cannot_be_written_whole_leaves_nothing(tmp_path):
    resource = pytest.importorskip("resource")
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (10, before[1]))
    try:
        with pytest.raises(ResultError, match="cannot be written"):
            save_copy(tmp_path, "a.yaml", b"x" * 1000)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "name",
    ["", "..", "../x.yaml", "/tmp/x.yaml", "a/b.yaml", "a\\b.yaml", ".hidden.yaml", "x.csv",
     "x.yaml\n", "x\0.yaml"],
)  # fmt: skip
def test_a_copy_goes_to_a_new_case_file_of_the_folder_alone(tmp_path, name):
    with pytest.raises(CaseError, match="no name for a copy"):
        save_copy(tmp_path, name, b"")
    assert list(tmp_path.iterdir()) == []


def test_a_copy_takes_no_other_files_place(tmp_path):
    assert save_copy(tmp_path, "a.yaml", b"1").read_bytes() == b"1"
    with pytest.raises(CaseError, match="exists"):
        save_copy(tmp_path, "a.yaml", b"2")


def test_no_case_to_open_is_told_with_what_to_do(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(CaseError, match=r"shipped case, which stays.*--like driven-rod"):
        opened(Path("driven-rod"))
    with pytest.raises(CaseError, match="no case file 'x\\.yaml'"):
        opened(Path("x.yaml"))
    large = tmp_path / "large.yaml"
    large.write_bytes(b"#" * 300_000)
    with pytest.raises(BudgetError, match="at most 250,000"):
        opened(large)
    assert not journal_path(large).exists()


def test_records_are_lines_that_can_be_read(file):
    first = opened(file)
    edited(first.journal, first.case, EDITS[0])
    lines = journal_path(file).read_text(encoding="utf-8").splitlines()
    first.journal.close(remove=True)
    heads = [next(iter(json.loads(line.split(" ", 1)[1]))) for line in lines]
    assert heads == ["ohmscape live", "edit", "splice"]
