"""Workers and clients of a batch killed at random times: no row is lost, no number differs."""

import os
import random
import signal
import subprocess
import sys
import threading
import time
from contextlib import suppress

import pytest
from plot_rods import TEMPLATE

from ohmscape.cases.family.reading import read_family
from ohmscape.jobs import family_engines
from ohmscape.jobs.family import batch_of
from ohmscape.jobs.family_engines import Workers
from ohmscape.jobs.family_kept import KeptRows, kept_name

pytestmark = pytest.mark.slow

_dry = TEMPLATE[TEMPLATE.index("variants:") : TEMPLATE.index("electrodes:")]
ONE_SEASON = TEMPLATE.replace(_dry, "")
WORKER_KILLS = CLIENT_KILLS = int(os.environ.get("OHMSCAPE_KILLS", "10"))
"""More of them by hand."""


def written(folder, rows):
    """Template and table of so many rows."""
    lines = ["name,soil.layers[1].resistivity [ohm*m]"]
    lines += [f"plot {k},{40 + 0.5 * k}" for k in range(rows)]
    (folder / "plots.yaml").write_text(ONE_SEASON, encoding="utf-8")
    (folder / "plots.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder / "plots.yaml", folder / "plots.csv"


def test_workers_killed_at_random_times_cost_no_row_and_no_figure(tmp_path):
    made = read_family(*written(tmp_path, 80 * WORKER_KILLS))
    draw = random.Random(5)
    killed, over = [], threading.Event()

    def kill(client):
        while len(killed) < WORKER_KILLS and not over.wait(draw.uniform(0.3, 2.0)):
            # One that is just being killed or started answers with an error: passed over.
            alive = list(client.run(os.getpid, on_error="ignore").values())
            pid = draw.choice(alive) if alive else 0
            with suppress(ProcessLookupError):
                if pid:
                    os.kill(pid, signal.SIGKILL)
                    killed.append(pid)

    with Workers(count=2) as engine:
        killer = threading.Thread(target=kill, args=(engine._client,))
        killer.start()
        try:
            batch = batch_of(made, folder=tmp_path / "out", engine=engine, sample=0, band=0)
        finally:
            over.set()
            killer.join()
        deaths = engine.deaths()
    assert len(set(killed)) >= WORKER_KILLS
    assert len(deaths) >= WORKER_KILLS
    assert batch.lost == deaths
    assert not batch.unanswered
    assert not batch.bad
    alone = batch_of(made, sample=0, band=0)
    assert numbers(batch) == numbers(alone)


def numbers(batch):
    return {row.number: repr((row.sha256, row.thin)) for row in batch.rows}


def test_clients_killed_at_random_times_lose_nothing_that_was_kept(tmp_path):
    rows = 100 * CLIENT_KILLS
    template, table = written(tmp_path, rows)
    out = tmp_path / "out"
    command = [sys.executable, "-m", "ohmscape", "batch", str(template), str(table), "-o",
               str(out), "-q", "--workers", "2", "--sample", "0", "--band", "0"]  # fmt: skip
    draw = random.Random(8)
    before, growing = {}, 0
    for number in range(CLIENT_KILLS):
        process = subprocess.Popen(command)
        if number % 2:  # at any time, also while it starts
            time.sleep(draw.uniform(0.5, 5.0))
        else:  # at work, however slow the machine is
            _wait_for_more(out, len(before), process)
            time.sleep(draw.uniform(0.0, 1.0))
        process.kill()
        assert process.wait() == -signal.SIGKILL
        now = KeptRows(out).records
        assert all(repr(now[key]) == repr(record) for key, record in before.items())
        growing += len(now) > len(before)
        before = now
    assert growing >= CLIENT_KILLS // 2
    assert subprocess.run(command).returncode == 0
    after = KeptRows(out).records
    assert all(repr(after[key]) == repr(record) for key, record in before.items())
    alone = batch_of(read_family(template, table), sample=0, band=0)
    assert len(alone.rows) == rows
    thin = {key[1]: repr(one) for key, one in after.items() if one.method == "thin conductors"}
    assert thin == {row.sha256: repr(row.thin) for row in alone.rows}


def _wait_for_more(folder, count, process):
    """Wait until more is kept than before."""
    path = folder / kept_name
    while process.poll() is None:
        if path.exists() and path.read_text().count("\n") > count + 1:
            return
        time.sleep(0.05)


def test_workers_that_die_while_they_start_are_replaced(monkeypatch):
    """Dask gives such a worker up; with the last one gone nobody would answer."""
    monkeypatch.setattr(family_engines, "_every", 0.5)
    with Workers(count=1) as engine:
        cluster = engine._client.cluster
        nanny = next(iter(cluster.workers.values()))
        monkeypatch.setattr(nanny, "instantiate", _fails)  # as where it dies on the way
        (pid,) = engine._client.run(os.getpid).values()
        os.kill(pid, signal.SIGKILL)
        found: list[tuple[int, int]] = []
        asking = threading.Thread(
            target=lambda: found.extend(engine.answers(abs, [-1, -2, -3])), daemon=True
        )
        asking.start()
        asking.join(60)
        assert sorted(found) == [(0, 1), (1, 2), (2, 3)]
        assert len(cluster.scheduler.workers) == 1


async def _fails():
    raise RuntimeError
