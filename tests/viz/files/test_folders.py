"""A command replaces what it left before, and nothing else."""

import errno
import json
import os

import pytest

from ohmscape.solver.errors import ResultError
from ohmscape.viz.files import staging
from ohmscape.viz.files.manifest import files_below, manifest_name, read_manifest
from ohmscape.viz.files.whole import check_folder, note_written, write_whole


def left(folder, /, *, command="soil", adding=False, **contents):
    """Leave files in a folder: names with _ for a dot, their content."""

    def write(into):
        files = []
        for name, content in contents.items():
            path = into / name.replace("__", "/").replace("_", ".")
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(content)
            files.append(path)
        return files

    return write_whole(folder, write=write, kind="soil", command=command, adding=adding)


def contents(folder):
    names = set(files_below(folder)) - {manifest_name}
    return {name: (folder / name).read_text() for name in names}


@pytest.fixture
def folder(tmp_path):
    folder = tmp_path / "out"
    left(folder, a_csv="a", b_csv="b", deep__c_csv="c")
    return folder


def test_the_list_names_what_was_made(folder):
    tree = json.loads((folder / manifest_name).read_text())
    assert tree["ohmscape files"] == 1
    assert tree["kind"] == "soil"
    assert {item["name"]: item["command"] for item in tree["files"]} == {
        "a.csv": "soil",
        "b.csv": "soil",
        "deep/c.csv": "soil",
    }
    # SHA-256 of the one letter a, as sha256sum gives it.
    assert tree["files"][0]["sha256"].startswith(
        "ca978112ca1bbdcafac231b39a23dc4da786eff8147c4e"
    )


def test_what_is_listed_is_replaced_and_all_else_kept(folder):
    (folder / "a-too.csv").write_text("mine")
    (folder / "deep" / "mine.txt").write_text("mine")
    (folder / "own" / "place").mkdir(parents=True)
    files = left(folder, a_csv="new")
    assert files == (folder / "a.csv",)
    assert contents(folder) == {"a.csv": "new", "a-too.csv": "mine", "deep/mine.txt": "mine"}
    assert (folder / "own" / "place").is_dir()
    assert set(read_manifest(folder).files) == {"a.csv"}


def test_folders_that_are_left_empty_go(folder):
    left(folder, a_csv="new")
    assert {path.name for path in folder.iterdir()} == {"a.csv", manifest_name}


def test_the_folder_itself_stays_the_same(folder):
    """It may be a mount, or the present folder of a shell."""
    before = folder.stat().st_ino
    left(folder, a_csv="new")
    assert folder.stat().st_ino == before


def test_the_present_folder_can_be_written_to(folder, monkeypatch):
    monkeypatch.chdir(folder)
    left(folder.relative_to(folder), a_csv="new")
    assert contents(folder) == {"a.csv": "new"}
    assert [path.name for path in folder.parent.iterdir()] == ["out"]


def test_a_link_to_a_folder_is_followed_and_stays(folder):
    link = folder.parent / "latest"
    link.symlink_to(folder)
    left(link, a_csv="new")
    assert link.is_symlink()
    assert contents(folder) == {"a.csv": "new"}


def test_more_can_be_added(folder):
    left(folder, a_csv="new", d_csv="d", command="draw", adding=True)
    assert contents(folder) == {"a.csv": "new", "b.csv": "b", "deep/c.csv": "c", "d.csv": "d"}
    made = read_manifest(folder).files
    assert {name: item.command for name, item in made.items()} == {
        "a.csv": "draw",
        "b.csv": "soil",
        "deep/c.csv": "soil",
        "d.csv": "draw",
    }


@pytest.mark.parametrize("adding", [False, True])
def test_a_file_of_somebody_else_in_the_way_is_refused(folder, adding):
    (folder / "d.csv").write_text("mine")
    before = contents(folder)
    with pytest.raises(ResultError, match=r"out holds files .* \(d\.csv\); move them, or name"):
        left(folder, a_csv="new", d_csv="new", adding=adding)
    assert contents(folder) == before
    assert set(read_manifest(folder).files) == {"a.csv", "b.csv", "deep/c.csv"}


def test_a_folder_in_the_way_is_refused(folder):
    (folder / "d.csv").mkdir()
    with pytest.raises(ResultError, match=r"\(d\.csv\)"):
        left(folder, d_csv="new")


def test_a_file_where_a_folder_must_be_is_refused(folder):
    (folder / "maps").write_text("mine")
    with pytest.raises(ResultError, match=r"\(maps\)"):
        left(folder, maps__d_csv="new")


def test_what_somebody_changed_is_refused_before_the_work(folder):
    (folder / "b.csv").write_text("b, with my notes")
    with pytest.raises(ResultError, match=r"or that were changed since, .* \(b\.csv\)"):
        check_folder(folder, kind="soil")
    with pytest.raises(ResultError, match=r"\(b\.csv\)"):
        left(folder, a_csv="new", b_csv="new")
    assert contents(folder)["b.csv"] == "b, with my notes"


def test_what_somebody_changed_is_kept_where_nothing_takes_its_place(folder):
    (folder / "b.csv").write_text("b, with my notes")
    left(folder, a_csv="new")
    assert contents(folder) == {"a.csv": "new", "b.csv": "b, with my notes"}
    check_folder(folder, kind="soil")


def test_a_changed_file_is_not_ours_after_something_was_added(folder):
    (folder / "b.csv").write_text("b, with my notes")
    left(folder, d_csv="d", adding=True)
    with pytest.raises(ResultError, match=r"\(b\.csv\)"):
        check_folder(folder, kind="soil")


def test_what_says_the_same_is_no_hindrance_but_stays_whose_it_was(folder):
    (folder / "d.csv").write_text("the same")
    files = left(folder, d_csv="the same")
    assert files == (folder / "d.csv",)
    left(folder, a_csv="new")
    assert contents(folder) == {"a.csv": "new", "d.csv": "the same"}


@pytest.mark.parametrize("to_its_like", [True, False])
def test_a_link_in_place_of_a_file_is_not_ours(folder, to_its_like):
    elsewhere = folder.parent / "elsewhere.csv"
    elsewhere.write_text("b" if to_its_like else "mine")
    (folder / "b.csv").unlink()
    (folder / "b.csv").symlink_to(elsewhere)
    left(folder, a_csv="new")
    assert (folder / "b.csv").is_symlink()
    assert elsewhere.exists()


def test_nothing_behind_a_link_to_a_folder_is_ours(folder):
    elsewhere = folder.parent / "elsewhere"
    (folder / "deep").rename(elsewhere)
    (folder / "deep").symlink_to(elsewhere)
    left(folder, a_csv="new")
    assert contents(elsewhere) == {"c.csv": "c"}


def test_what_was_deleted_is_not_missed(folder):
    (folder / "b.csv").unlink()
    left(folder, a_csv="new")
    assert contents(folder) == {"a.csv": "new"}


def test_a_copy_of_the_folder_is_as_good(folder, tmp_path):
    folder.rename(tmp_path / "moved")
    left(tmp_path / "moved", b_csv="new")
    assert contents(tmp_path / "moved") == {"b.csv": "new"}


def test_the_folder_of_another_kind_of_command_is_refused(folder):
    with pytest.raises(ResultError, match=r"no run left \(a\.csv, b\.csv, deep/c\.csv\); name"):
        check_folder(folder, kind="result")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("{", "does not say which files are ours"),
        ('{"notes": 1}', "does not say which files are ours: 'ohmscape files'; name another"),
        ('{"ohmscape files": 2}', "it has format 2, this version reads 1; name another folder"),
        (
            '{"ohmscape files": 1, "kind": "soil", "files": [{"name": "../x", "sha256": "", '
            '"command": "soil"}]}',
            "'../x' is not a file in the folder",
        ),
    ],
)
def test_a_list_that_cannot_be_read_is_refused(folder, text, message):
    (folder / manifest_name).write_text(text)
    with pytest.raises(ResultError, match=message):
        left(folder, a_csv="new")
    assert contents(folder) == {"a.csv": "a", "b.csv": "b", "deep/c.csv": "c"}


def test_files_written_by_hand_can_be_entered(folder):
    (folder / "a.csv").write_text("newer")
    note_written(folder, [folder / "a.csv"], command="draw")
    left(folder, b_csv="new")
    assert contents(folder) == {"b.csv": "new"}


def test_nothing_is_entered_where_there_is_no_list(tmp_path):
    (tmp_path / "a.csv").write_text("a")
    note_written(tmp_path, [tmp_path / "a.csv"], command="draw")
    assert [path.name for path in tmp_path.iterdir()] == ["a.csv"]


def test_a_failure_leaves_the_folder_as_it_was(folder):
    def write(into):
        (into / "a.csv").write_text("half")
        raise RuntimeError

    for target in (folder, folder.parent / "new"):
        with pytest.raises(RuntimeError):
            write_whole(target, write=write, kind="soil", command="soil")
    assert contents(folder) == {"a.csv": "a", "b.csv": "b", "deep/c.csv": "c"}
    assert sorted(folder.parent.iterdir()) == [folder]


def test_a_folder_may_have_the_longest_name_there_is(tmp_path):
    folder = tmp_path / ("ü" * 127 + "n")  # 255 bytes
    for content in ("old", "new"):
        left(folder, a_csv=content)
        assert contents(folder) == {"a.csv": content}
    assert [path.name for path in tmp_path.iterdir()] == [folder.name]


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("n" * 256, "cannot write to .*: File name too long"),
        ("file/out", "cannot write to .*/file/out: "),
        ("file", "file is a file"),
        ("link", "link is a link that leads nowhere"),
    ],
)
def test_a_folder_that_cannot_be_is_refused_before_the_work(tmp_path, name, why):
    (tmp_path / "file").write_text("mine")
    (tmp_path / "link").symlink_to("nowhere")
    with pytest.raises(ResultError, match=why):
        check_folder(tmp_path / name, kind="soil")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["file", "link"]


def test_a_check_leaves_no_folders_behind(tmp_path):
    check_folder(tmp_path / "a" / "b" / "out", kind="soil")
    assert not list(tmp_path.iterdir())


def test_a_link_to_a_folder_stays_one(tmp_path):
    (tmp_path / "there").mkdir()
    folder = tmp_path / "link"
    folder.symlink_to("there")
    left(folder, a_csv="a")
    left(folder, b_csv="b")
    assert folder.is_symlink()
    assert contents(tmp_path / "there") == {"b.csv": "b"}


def test_a_full_disk_leaves_what_was_there(folder):
    def write(into):
        (into / "a.csv").write_text("half of")
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with pytest.raises(ResultError, match="No space left on device; what was there is unch"):
        write_whole(folder, write=write, kind="soil", command="soil")
    assert contents(folder) == {"a.csv": "a", "b.csv": "b", "deep/c.csv": "c"}


def test_moves_that_fail_half_way_are_made_by_the_next_command(folder, monkeypatch):
    move = staging._move

    def failing(source, target):
        if target == folder / "new.csv":
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        move(source, target)

    monkeypatch.setattr(staging, "_move", failing)
    with pytest.raises(ResultError, match="the next command over it puts them in"):
        left(folder, a_csv="2", new_csv="2")
    monkeypatch.undo()
    check_folder(folder, kind="soil")
    assert contents(folder) == {"a.csv": "2", "new.csv": "2"}
