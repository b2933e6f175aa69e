"""What a page takes of the processor, beside the OCR engine alone on it, whatever else runs.

    python -m tests.benchmark.pagecpu PAGE.png [PAGE.png …]

Each page with its text beside it (NAME.txt). Seconds are the processor's (user and system, of the
program and of what it starts), so that a busy machine makes them longer by little; the engine is
asked right after, so that it suffers as much. Cold is the whole command with all its files, started
anew for every page; warm is the check alone, in a process that has read the page once. Start it
where Python may keep its byte code: an installed program is never compiled as it starts.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
from dataclasses import astuple, dataclass, fields
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

_ROOT = Path(__file__).parents[2]
_TIMES = 2
"""Of so many runs the quickest counts."""


@dataclass(frozen=True, slots=True)
class Taken:
    """Seconds of the processor that one page takes."""

    engine: float
    """The OCR engine alone."""
    cold: float
    """The whole command with its files: text and type."""
    warm: float
    """Text and type, without files."""
    text: float
    """The text alone, without files."""


def processor_seconds() -> float:
    """What this process and those it has waited for have taken so far."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(each.ru_utime + each.ru_stime for each in used)


def taken_by(page: Path) -> Taken:
    """Measure one page each way, one after another."""
    cold = _least(lambda: _command(page))
    engine = _least(lambda: _engine(page))
    warm, text = (_warm(page, what) for what in ("type", "text"))
    return Taken(engine, cold, warm, text)


def _least(run: Callable[[], None]) -> float:
    found = []
    for _ in range(_TIMES):
        start = processor_seconds()
        run()
        found.append(processor_seconds() - start)
    return min(found)


def _command(page: Path) -> None:
    with tempfile.TemporaryDirectory() as folder:
        asked = ["read", str(page), "--copy", str(page.with_suffix(".txt")), "--out", folder]
        program = [sys.executable, "-m", "proofcheck.cli"]
        done = subprocess.run([*program, *asked], capture_output=True, check=False, cwd=_ROOT)
        if not list(Path(folder).iterdir()):
            raise SystemExit(done.stderr.decode())


def _engine(page: Path) -> None:
    from proofcheck.reading.engine import find_engine

    # As the engine lays out a page by itself, at the resolution the file gives.
    program = [find_engine().program, str(page), "stdout", "--psm", "3"]
    subprocess.run(program, capture_output=True, check=True)


def _warm(page: Path, what: str) -> float:
    again = [sys.executable, "-m", "tests.benchmark.pagecpu", what, str(page)]
    done = subprocess.run(again, capture_output=True, check=True, text=True, cwd=_ROOT)
    return float(done.stdout)


def _read_again(page: Path, what: str) -> float:
    from proofcheck import Options, check_proof

    options = Options(type_too=what == "type")

    def run() -> None:
        check_proof(page, page.with_suffix(".txt"), options=options)

    run()
    return _least(run)


def main(arguments: Sequence[str]) -> None:
    """Print a table, and the middle of each way against the engine."""
    if arguments[0] in {"type", "text"}:
        print(_read_again(Path(arguments[1]), arguments[0]))
        return
    names = [field.name for field in fields(Taken)]
    print(f"| page | {' | '.join(names)} |\n|---|{'---|' * len(names)}")
    held = []
    for page in map(Path, arguments):
        held.append(taken_by(page))
        seconds = " | ".join(f"{each:.2f}" for each in astuple(held[-1]))
        print(f"| {page.stem} | {seconds} |", flush=True)
    for name in names[1:]:
        shares = [getattr(each, name) / each.engine for each in held]
        print(
            f"{name}: {median(shares):.2f} of the engine ({min(shares):.2f} to {max(shares):.2f})"
        )


if __name__ == "__main__":
    main(sys.argv[1:])
