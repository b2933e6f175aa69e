"""Spoil inputs of every kind and see that each run ends in one line and a status.

    python -m tests.fuzz --cases 100000 [--seed 1] [--from 0] [--processes 4] [--keep FOLDER]

Each case is made from the seed and its number alone. Those that end in a trace, a second line on
standard error, a status of no meaning, more than 60 s or more than 2 GB are kept in FOLDER with
their arguments. `--only N` runs one and shows what it says.
"""

from __future__ import annotations

import argparse
import contextlib
import shutil
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

from .bounded import MOST_BYTES, MOST_SECONDS, Ended, ready, run_bounded
from .cases import make_case
from .samples import COPY, samples


def run_case(seed: int, number: int, keep: Path | None = None) -> tuple[str, Ended, list[str]]:
    """Kind, end and troubles of one case; its folder is kept if there are any."""
    with tempfile.TemporaryDirectory(prefix="fuzz-") as name:
        folder = Path(name)
        case = make_case(seed, number, folder)
        ended = run_bounded(case.arguments, folder, encoding=case.encoding)
        troubles = ended.troubles()
        if troubles and keep is not None:
            kept = keep / f"{seed}-{number}-{case.kind}"
            shutil.rmtree(kept, ignore_errors=True)
            shutil.copytree(folder, kept)
            words = [case.encoding, *troubles, *map(ascii, case.arguments)]
            (kept / "case.txt").write_text("\n".join(words) + "\n")
            _keep_trace(ended, kept)
    return case.kind, ended, troubles


def _keep_trace(ended: Ended, kept: Path) -> None:
    """The trace that the line names, beside the case."""
    for word in ended.err.split():
        if "proofcheck-trouble-" in word and Path(word).is_file():
            shutil.move(word, kept / "trace.txt")


def main() -> int:
    """Run the cases asked for; 1 if any ended as it must not."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--cases", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--from", type=int, default=0, dest="first")
    parser.add_argument("--only", type=int, default=None)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--keep", type=Path, default=None)
    asked = parser.parse_args()
    begin()
    if asked.only is not None:
        kind, ended, troubles = run_case(asked.seed, asked.only, asked.keep)
        sys.stdout.write(f"{kind}: {ended}\n{troubles}\n")
        return 1 if troubles else 0
    if asked.keep is not None:
        asked.keep.mkdir(parents=True, exist_ok=True)
    numbers = range(asked.first, asked.first + asked.cases)
    return tell(asked.seed, run_all(asked.seed, numbers, asked.processes, asked.keep))


def begin() -> None:
    """Make the samples and load the libraries, before anything is forked."""
    ready(samples().scans["a.png"], COPY)


def run_all(seed: int, numbers: range, processes: int, keep: Path | None):
    """Each case as it ends."""
    run = partial(run_case, seed, keep=keep)
    if processes == 1:
        yield from ((number, *run(number)) for number in numbers)
        return
    with ProcessPoolExecutor(processes, initializer=begin) as pool:
        yield from ((n, *done) for n, done in zip(numbers, pool.map(run, numbers), strict=True))


def tell(seed: int, results) -> int:
    """Count how the cases ended, and name those that ended as they must not."""
    begun, kinds, ends, bad = time.monotonic(), Counter(), Counter(), Counter()
    slowest, largest = 0.0, 0
    with contextlib.suppress(KeyboardInterrupt):  # what was run by then is told
        for number, kind, ended, troubles in results:
            kinds[kind] += 1
            ends[kind, ended.status] += 1
            slowest, largest = max(slowest, ended.seconds), max(largest, ended.most_bytes)
            for trouble in troubles:
                bad[trouble.split()[-1] if trouble[0].isdigit() else trouble] += 1
            if troubles:
                said = f"{', '.join(troubles)}: {ended.err[:300]!r}"
                sys.stdout.write(f"{seed}/{number} {kind}: {said}\n")
                sys.stdout.flush()
    for kind, count in kinds.items():
        shares = ", ".join(f"{n} × {status}" for (k, status), n in ends.items() if k == kind)
        sys.stdout.write(f"{kind}: {count} ({shares})\n")
    sys.stdout.write(
        f"{kinds.total()} cases in {time.monotonic() - begun:.0f} s; {dict(bad) or 'none'} bad; "
        f"slowest {slowest:.1f} s of {MOST_SECONDS}, largest {largest / 2**30:.2f} GB of "
        f"{MOST_BYTES / 2**30:g}\n"
    )
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
