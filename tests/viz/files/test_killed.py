"""A command that is killed leaves the old files or the new ones, and all of others."""

import subprocess
import sys

import pytest

from ohmscape.solver.errors import ResultError
from ohmscape.viz.files import staging as module
from ohmscape.viz.files.manifest import files_below, manifest_name
from ohmscape.viz.files.staging import restore, staging
from ohmscape.viz.files.whole import write_whole

pytestmark = pytest.mark.slow

OLD = {"a.csv": "old a", "b.csv": "old b", "deep/c.csv": "old c"}
NEW = {"a.csv": "new a", "deep/d.csv": "new d"}
THEIRS = {"notes.txt": "mine", "deep/mine.txt": "mine"}
# Each child dies without any clean-up, at one more call of what moves, clears and writes.
KILLED = """
import os, sys
from pathlib import Path
from ohmscape.viz.files import staging
from ohmscape.viz.files.whole import write_whole
def dying(function):
    def step(*arguments, **named):
        global count
        if count == 0:
            os._exit(9)
        count -= 1
        return function(*arguments, **named)
    return step
for name in ("rename", "replace", "unlink", "rmdir", "write_text", "mkdir", "open"):
    setattr(Path, name, dying(getattr(Path, name)))
staging.shutil.rmtree = dying(staging.shutil.rmtree)
staging.tempfile.mkdtemp = dying(staging.tempfile.mkdtemp)
staging._locked = dying(staging._locked)  # the mark is there, without a name yet
def write(into):
    (into / "deep").mkdir()
    (into / "a.csv").write_text("new a")
    (into / "deep" / "d.csv").write_text("new d")
    return []
for count, folder in enumerate(sys.argv[1:]):
    child = os.fork()
    if child == 0:
        write_whole(Path(folder), write=write, kind="soil", command="soil")
        os._exit(0)
    print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))
"""


def leave(folder, contents):
    def write(into):
        for name, content in contents.items():
            (into / name).parent.mkdir(exist_ok=True)
            (into / name).write_text(content)
        return []

    write_whole(folder, write=write, kind="soil", command="soil")


def contents(folder):
    names = set(files_below(folder)) - {manifest_name}
    return {name: (folder / name).read_text() for name in names}


def killed(folders):
    """Have a command that writes to each folder killed, one step later in each.

    Returns those that it was killed over, and one more, where it came to its end.
    """
    arguments = [sys.executable, "-c", KILLED, *map(str, folders)]
    done = subprocess.run(arguments, check=True, capture_output=True, text=True)
    codes = [int(code) for code in done.stdout.split()]
    count = codes.index(0)
    assert set(codes[:count]) == {9}
    assert set(codes[count:]) == {0}
    return folders[: count + 1]


@pytest.fixture
def folders(tmp_path):
    places = [tmp_path / f"at-{steps}" for steps in range(90)]
    for place in places:
        place.mkdir()
    return [place / "out" for place in places]


def made(folders):
    """The folders with old files and those of somebody else."""
    for folder in folders:
        leave(folder, OLD)
        for name, content in THEIRS.items():
            (folder / name).write_text(content)
    return folders


def visible(folder):
    return {name: text for name, text in contents(folder).items() if name[0] != "."}


def test_at_every_step_the_next_command_finds_all_old_or_all_new_files(folders):
    old, new = {**OLD, **THEIRS}, {**NEW, **THEIRS}
    is_new = []
    for folder in killed(made(folders)):
        before = visible(folder).items()
        assert THEIRS.items() <= before
        # What is there before the next command is some of the old or some of the new.
        assert before <= old.items() or before <= new.items()
        restore(folder)
        found = contents(folder)
        assert found in (old, new)
        assert not list(folder.glob(".*"))
        assert [path.name for path in folder.parent.iterdir()] == ["out"]
        is_new.append(found == new)
        leave(folder, OLD)
        assert contents(folder) == old
    assert is_new == sorted(is_new)  # old up to one step, new from there on
    assert not is_new[0]
    assert is_new.index(True) < len(is_new) - 5


def test_a_new_folder_is_whole_or_not_there(folders):
    there = []
    for folder in killed(folders):
        there.append(folder.exists())
        assert not there[-1] or contents(folder) == NEW
        restore(folder)
        assert [path.name for path in folder.parent.iterdir()] == ["out"][: there[-1]]
    assert there == sorted(there)
    assert there[-1]
    assert not there[0]


def test_what_a_living_process_stages_is_left_alone(tmp_path):
    folder = tmp_path / "out"
    for _ in range(2):
        with staging(folder) as stage:
            (stage / "new" / "a.csv").write_text("a")
            restore(folder)
            assert (stage / "new" / "a.csv").is_file()
        folder.mkdir(exist_ok=True)
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_what_looks_alike_is_left_alone(tmp_path):
    folder = tmp_path / "out"
    (tmp_path / ".out-of-date").mkdir()
    (tmp_path / ".out-lines").write_text("mine")
    leave(folder, OLD)
    leave(folder, NEW)
    assert {path.name for path in tmp_path.iterdir()} == {".out-of-date", ".out-lines", "out"}


def test_a_file_put_in_the_way_meanwhile_is_not_written_over(folders):
    # Those killed after old files were out, before new ones were in.
    between = [
        folder for folder in killed(made(folders)) if visible(folder).keys() == THEIRS.keys()
    ]
    assert between
    for folder in between:
        (folder / "a.csv").write_text("mine")
        for _ in range(2):
            with pytest.raises(ResultError, match=r"a\.csv, which was put there while"):
                restore(folder)
            assert (folder / "a.csv").read_text() == "mine"
        (folder / "a.csv").rename(folder / "mine.csv")
        restore(folder)
        assert contents(folder) == {**NEW, **THEIRS, "mine.csv": "mine"}


def test_an_interrupt_between_moves_finishes_them(tmp_path, monkeypatch):
    folder = tmp_path / "out"
    leave(folder, OLD)
    move, moved = module._move, []

    def interrupted(source, target):
        moved.append(target)
        if len(moved) == 3:
            raise KeyboardInterrupt
        move(source, target)

    monkeypatch.setattr(module, "_move", interrupted)
    with pytest.raises(KeyboardInterrupt):
        leave(folder, NEW)
    assert contents(folder) == NEW
    assert not list(folder.glob(".*"))
