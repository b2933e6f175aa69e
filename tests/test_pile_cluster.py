"""The same work on a cluster: a real scheduler, two workers, one of them killed in mid-work."""

from __future__ import annotations

import json
import os
import signal
import threading
import time
from pathlib import Path

import pytest
from pile_cases import real_pile
from test_cli import refused, run

from proofcheck.pile.batch_job import BatchJob, read_pile

distributed = pytest.importorskip("distributed", reason="the cluster extra is not installed")

# What the library itself leaves open or warns of when a worker is killed is not ours to judge.
pytestmark = [
    pytest.mark.filterwarnings("default"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]


@pytest.mark.slow
def test_a_scheduler_that_is_not_there_is_one_clear_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("proofcheck.pile.cluster._WAIT_S", 1)
    pile = real_pile(tmp_path / "in", 1)
    refused(run("batch", pile, "--cluster", "tcp://127.0.0.1:1"), "no scheduler", "127.0.0.1:1")
    refused(run("batch", pile, "--cluster", "an owl"), "no scheduler", "an owl")


@pytest.mark.slow
def test_a_worker_killed_in_mid_work_is_not_missed(tmp_path: Path) -> None:
    pile = real_pile(tmp_path / "in", 3)
    there, here = BatchJob(pile, tmp_path / "there"), BatchJob(pile, tmp_path / "here", workers=1)
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
        ) as cluster,
        distributed.Client(cluster, set_as_default=False) as client,
    ):
        pids = client.run(os.getpid)
        assert len(set(pids.values()) | {os.getpid()}) == 3
        killed: list[str] = []

        def kill() -> None:
            # As soon as one of them has a job in hand.
            while not killed:
                for worker, held in client.processing().items():
                    if held and worker in pids:
                        time.sleep(0.5)
                        os.kill(pids[worker], signal.SIGKILL)
                        killed.append(worker)
                        return
                time.sleep(0.1)

        killer = threading.Thread(target=kill)
        killer.start()
        summary = read_pile(BatchJob(pile, there.out, cluster=cluster.scheduler_address))
        killer.join()
    assert killed
    assert summary.counted() == {"clean": 3}
    assert summary.read_now == 3
    # A job read on a cluster, once or twice, gives the same bytes as one read here.
    assert read_pile(here).counted() == {"clean": 3}
    for path in sorted(here.out.glob("*/*")):
        if path.parent.name.startswith("."):
            continue
        other = there.out / path.relative_to(here.out)
        if path.name == "done.json":
            one, two = (json.loads(each.read_text()) for each in (path, other))
            one["seconds"] = two["seconds"] = 0
            assert one == two
        else:
            assert other.read_bytes() == path.read_bytes(), path


def test_files_with_an_address_are_read_from_there(tmp_path: Path) -> None:
    pytest.importorskip("fsspec")
    pile = real_pile(tmp_path / "in", 1)
    table = tmp_path / "pile.csv"
    address = (pile / "300.png").as_uri()
    table.write_text(f"proof,copy\n{address},in/300.txt\nfile:///none/at-all.png,in/300.txt\n")
    done = run("batch", table, "--workers", 1)
    assert done.returncode == 2
    assert "at-all  not read: file:///none/at-all.png can't be read" in done.stdout
    assert "1 clean" in done.stdout
