"""A docket for the desk: the village concert's programme with its first proof, its scan at hand."""

from __future__ import annotations

import gc
import threading
import time
import warnings
from contextlib import contextmanager
from dataclasses import replace

import cv2
import uvicorn
from docket_cases import JOB, begun
from report_cases import programme

from proofcheck.base.options import Options
from proofcheck.desk.serve import listening_at
from proofcheck.desk.shared import make_desk
from proofcheck.desk.site import make_site
from proofcheck.docket import People, ProofTaken, pull_proof
from proofcheck.docket.canonical import sha256_of
from proofcheck.docket.originals import Original
from proofcheck.docket.recording import stored_copy

__all__ = ["JOB", "many_faults", "served", "with_proof"]


def with_proof(folder, *, change=lambda report: report, findings=()):
    """The docket; `change` is made to the report before it is recorded.

    `findings` are what a revise shows of slugs as a whole.
    """
    docket = begun(folder)
    report = programme()
    scan = cv2.imencode(".png", report.sheets[0].image)[1].tobytes()
    copy = stored_copy(docket, docket.job(JOB).copy)
    sheet = replace(report.sheets[0].scan, sha256=sha256_of(scan))
    report = change(replace(report, copy=copy, sheets=(replace(report.sheets[0], scan=sheet),)))
    taken = ProofTaken.of(report, [Original("proof.png", scan)], People())
    pull_proof(docket, JOB, replace(taken, findings=tuple(findings)), by="B.A.")
    return docket


def many_faults(folder, count, *, change=lambda report: report):
    """The same with so many faults, changed before that by `change`."""

    def more(report):
        report = change(report)
        faults = [replace(report.faults[at % 3], id=f"F{at + 1}") for at in range(count)]
        return replace(report, faults=tuple(sorted(faults, key=lambda f: f.line)))

    return with_proof(folder, change=more)


@contextmanager
def served(docket, *, readers=None):
    """The desk on a port of this machine."""
    listening = listening_at("127.0.0.1")
    host = f"127.0.0.1:{listening.getsockname()[1]}"
    made = make_desk(docket, Options(recast=False, type_too=False), "B.A.")
    config = uvicorn.Config(
        make_site(made, (host,), readers),
        log_level="error",
        lifespan="on",
        timeout_graceful_shutdown=1,
    )
    server = uvicorn.Server(config)
    made.news.closing = lambda: server.should_exit
    running = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    running.start()
    while not server.started:
        time.sleep(0.02)
    try:
        yield f"http://{host}"
    finally:
        server.should_exit = True
        running.join(10)
        listening.close()
        # Connections that a browser still holds are left to the collector: now, and not in the
        # middle of another test, which would be told of them.
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", ResourceWarning)
            gc.collect()
