"""Reading on many machines: the workers of a Dask scheduler, which is somebody else's work.

Scans and copy travel with each job as bytes, or are opened by the worker where they have an
address; papers come back as bytes and are written here. A worker that goes is the scheduler's to
replace: it gives the job to another, and since a job gives the same bytes however often it is
read, nobody notices.
"""

from __future__ import annotations

import logging
import warnings
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

from proofcheck.base.errors import ProofcheckError
from proofcheck.base.visible import visible
from proofcheck.pile.crew import Crew
from proofcheck.pile.one_read import read_one

if TYPE_CHECKING:
    from collections.abc import Iterator

    from proofcheck.pile.one_read import Outcome, Task

__all__ = ["cluster_crew", "read_there"]

_NEEDS = "reading on a cluster needs Dask's scheduler: pip install 'proofcheck[cluster]'"
_WAIT_S = 20
_AHEAD = 2
"""Jobs given out for each worker, so that none waits for the next to travel."""


@contextmanager
def cluster_crew(address: str) -> Iterator[Crew]:
    """The workers of the scheduler at an address ("tcp://host:8786").

    Raises:
        ProofcheckError: the library is missing, nobody answers there, or it has no worker.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise ProofcheckError(_NEEDS) from error
    logging.getLogger("distributed").setLevel(logging.CRITICAL)
    try:
        client = Client(address, timeout=_WAIT_S, set_as_default=False)
    except Exception as error:
        msg = f"no scheduler answers at {visible(address)} ({type(error).__name__}); start one"
        raise ProofcheckError(msg) from error
    with client, warnings.catch_warnings():
        # That scans are large is known; they are held no longer than they are read.
        warnings.filterwarnings("ignore", message="Sending large graph", category=UserWarning)
        threads = sum(client.nthreads().values())
        if not threads:
            msg = f"the scheduler at {visible(address)} has no worker; start one (dask worker)"
            raise ProofcheckError(msg)
        executor = client.get_executor(pure=False)
        yield Crew(
            threads * _AHEAD, lambda _: executor, can_renew=False, read=read_there, sends_bytes=True
        )


def read_there(task: Task) -> Outcome:
    """Read one job in a worker elsewhere, on one thread."""
    from proofcheck.base.threads import use_threads

    use_threads(1)
    return read_one(replace(task, scratch=None))
