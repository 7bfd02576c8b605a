"""Kills real commands at random times, and tells what is wrong with what they left.

    .venv/bin/python tests/killing.py FOLDER 20261128 100 90

Commands run in forks of one process that has loaded everything, so that most of their time is
work. Each is run once to its end, for its time; kills fall anywhere in it, half of them in its
last fifth, where files are put in place. Of a run that draws now the command is killed, now the
process that draws for it, now both. After as many seconds as the last argument says no more are
begun. Prints a line of JSON.
"""

import json
import os
import random
import shutil
import signal
import sys
import time
from contextlib import suppress
from pathlib import Path

from click.testing import CliRunner
from well_rod import WELL_ROD

import ohmscape.jobs.earth_tests
import ohmscape.jobs.field_chapters
import ohmscape.jobs.run
import ohmscape.viz.report.page
import ohmscape.viz.report.paper
import ohmscape.viz.scene  # noqa: F401 - loaded once, before all forks
from ohmscape.command_line import main
from ohmscape.solver.errors import ResultError
from ohmscape.viz.files.manifest import digest, files_below, manifest_name, read_manifest
from ohmscape.viz.files.whole import check_folder

WHOM = ("command", "others", "both")
CASE = (
    WELL_ROD
    + """\
study: {area: {margin: 3 m, spacing: 1 m}}
numerics: {accuracy: coarse, second_opinion: never}
earth_tests:
  - name: usual
    method: fall of potential
    electrode: well rod
    current_probe: {distance: 20 m}
    potential_probe: {count: 4}
"""
)
SURVEY = "spacing [m],resistance [ohm]\n1,31.5\n2,14.2\n4,6.1\n8,2.9\n16,1.4\n"
THEIRS = "notes.txt"
ENDS_WITHIN = 30.0  # a process whose command was killed; it may be loading libraries [s]


def forked(arguments):
    """Process that runs a command in a fork."""
    child = os.fork()
    if child == 0:
        os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
        os._exit(CliRunner().invoke(main, [*arguments, "-q"]).exit_code)
    return child


def seconds_of(arguments):
    """Time of a command that comes to its end."""
    began = time.monotonic()
    code = os.waitstatus_to_exitcode(os.waitpid(forked(arguments), 0)[1])
    assert code == 0, (arguments, code)
    return time.monotonic() - began


def started_by(parent):
    """Processes that a process has started, where the system tells."""
    found = []
    for entry in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):  # it has just ended
            state, its_parent = stat_of(entry.name)[:2]
            found += [int(entry.name)] if int(its_parent) == parent and state != "Z" else []
    return found


def stat_of(process):
    """State, parent and more of a process."""
    return Path(f"/proc/{process}/stat").read_text().rsplit(")", 1)[1].split()


def lives(process):
    """Whether a process has not ended; one that nobody has asked how it ended has."""
    try:
        return stat_of(process)[0] not in "ZX"
    except OSError:
        return False


def orphans(processes):
    """Those of some processes that do not end by themselves."""
    ends = time.monotonic() + ENDS_WITHIN
    while any(map(lives, processes)) and time.monotonic() < ends:
        time.sleep(0.02)
    return [process for process in processes if lives(process)]


def state(folder):
    """Hashes of all files of a folder, somebody's apart; None where there is none."""
    if not folder.is_dir():
        return None
    names = set(files_below(folder)) - {THEIRS}
    return {name: digest(folder / name) for name in names}


def faults(folder, *, before, kind):
    """What is wrong with what a killed command left."""
    if before is not None and (folder / THEIRS).read_text() != "mine":
        yield "somebody's file was touched"
    try:
        check_folder(folder, kind=kind)  # as the next command begins
    except ResultError as error:
        yield f"the next command fails: {error}"
        return
    litter = [path.name for path in (*folder.parent.iterdir(), *folder.glob(".*"))]
    if any(name.startswith(".") for name in litter):
        yield f"left over: {litter}"
    after = state(folder)
    if after == before:
        return
    if after is None:
        yield "nothing is left"
    elif read_manifest(folder).ours(folder) != after.keys() - {manifest_name}:
        yield "files do not belong together"


def killed(child, *, whom):
    """Whether a kill came before the command had ended, and what then goes on without it.

    `whom` is the command, the processes that it started, or both.
    """
    others = started_by(child)
    if whom != "command":
        for process in others:
            with suppress(ProcessLookupError):
                os.kill(process, signal.SIGKILL)
    if whom != "others":
        os.kill(child, signal.SIGKILL)
    code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    return code == (1 if whom == "others" else -signal.SIGKILL), orphans(others)


def tried(command, folder, *, kind, seconds, source, whom, random):
    """Faults after one kill, and whether it came before the command had ended."""
    shutil.rmtree(folder.parent, ignore_errors=True)
    folder.parent.mkdir()
    if source is not None:
        shutil.copytree(source, folder)
        (folder / THEIRS).write_text("mine")
    before = state(folder)
    share = random.uniform(0.8, 1.05) if random.random() < 0.5 else random.random()
    child = forked(command)
    time.sleep(share * seconds)
    was_killed, left = killed(child, whom=whom)
    changed = state(folder) != before
    wrong = [f"process {process} goes on" for process in left]
    return [*wrong, *faults(folder, before=before, kind=kind)], was_killed, changed


def run(place, seed, count, most_seconds):
    """Kill them all, and print what was found."""
    os.chdir(place)
    Path("well.yaml").write_text(CASE, encoding="utf-8")
    Path("yard.csv").write_text(SURVEY, encoding="utf-8")
    out = Path("at") / "out"
    commands = {
        # What draws is slow, and goes by few kills; each has the same time at most.
        "run": (["run", "well.yaml", "--no-pictures", "-o"], "result", 0.42),
        "run and draw": (["run", "well.yaml", "-o"], "result", 0.06),
        "soil": (["soil", "yard.csv", "-o"], "soil", 0.16),
        "earth-test": (["earth-test", "well.yaml", "--no-pictures", "-o"], "earth-test", 0.24),
        "compare": (["compare", "measured-fresh-rod", "--accuracy", "coarse", "-o"], "compare",
                    0.04),
        "draw": (["draw"], "result", 0.04),
        "report": (["report"], "result", 0.04),
    }  # fmt: skip
    random_, found = random.Random(int(seed)), {}
    for name, (words, kind, share) in commands.items():
        ready = Path("ready") / name
        if name in ("draw", "report"):
            shutil.copytree(Path("ready") / "run", ready)
        seconds = seconds_of([*words, str(ready)])
        wrong, killed, changed, done = [], 0, 0, 0
        began = time.monotonic()
        for trial in range(round(share * int(count))):
            if time.monotonic() - began > float(most_seconds) / len(commands):
                break
            bad, was_killed, has_changed = tried(
                [*words, str(out)],
                out,
                kind=kind,
                seconds=seconds,
                # One in four of those that can make a folder finds none.
                source=None if trial % 4 == 3 and name not in ("draw", "report") else ready,
                whom=WHOM[trial % len(WHOM)] if name == "run and draw" else "command",
                random=random_,
            )
            wrong += [f"{name} {trial}: {fault}" for fault in bad]
            killed, changed, done = killed + was_killed, changed + has_changed, done + 1
        found[name] = {"wrong": wrong, "done": done, "killed": killed, "changed": changed}
    sys.stdout.write(json.dumps(found))


if __name__ == "__main__":
    run(*sys.argv[1:])
