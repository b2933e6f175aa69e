"""Time and peak memory of one page: through everything, or through the OCR engine alone.

    python -m tests.benchmark.cost SCAN [COPY READER type|text [WEIGHTS]]

Each is measured in a process of its own, because peak memory can't be reset. Prints JSON.
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from proofcheck.base.options import Options

__all__ = ["Cost", "cost_of_page"]

_ROOT = Path(__file__).parents[2]


@dataclass(frozen=True, slots=True)
class Cost:
    """What one page takes."""

    seconds: float
    start_seconds: float
    """Before that: starting Python and loading the libraries, once for any number of pages."""
    engine_seconds: float
    peak_mb: float
    """Of the process; the engine is a process of its own."""
    engine_mb: float


def cost_of_page(
    scan: Path, copy: Path, reader: str, weights: Path | None, *, type_too: bool = True
) -> Cost:
    """Measure one page, each way in a fresh process on the same machine, one after another."""
    extra = [str(weights)] if weights else []
    whole = _measured([str(scan), str(copy), reader, "type" if type_too else "text", *extra])
    engine = _measured([str(scan)])
    return Cost(
        whole["seconds"],
        whole["start_seconds"],
        engine["seconds"],
        whole["peak_mb"],
        engine["engine_mb"],
    )


def _measured(arguments: list[str]) -> dict[str, float]:
    command = [sys.executable, "-m", "tests.benchmark.cost", *arguments]
    start = time.perf_counter()
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=_ROOT)
    found: dict[str, float] = json.loads(done.stdout)
    return {**found, "start_seconds": time.perf_counter() - start - found["seconds"]}


def _whole(scan: Path, copy: Path, options: Options) -> float:
    import onnxruntime  # noqa: F401  (loaded when first needed; not part of reading a page)

    from proofcheck import check_proof

    start = time.perf_counter()
    check_proof([scan], copy, options=options)
    return time.perf_counter() - start


def _engine_alone(scan: Path) -> float:
    import cv2

    from proofcheck.reading.engine import find_engine, words_in

    image = cv2.imread(str(scan), cv2.IMREAD_GRAYSCALE)
    assert image is not None
    start = time.perf_counter()
    words_in(find_engine(), image, "eng", layout=3)
    return time.perf_counter() - start


def main(arguments: list[str]) -> None:
    os.environ["OMP_THREAD_LIMIT"] = "1"
    if len(arguments) == 1:
        seconds = _engine_alone(Path(arguments[0]))
    else:
        from proofcheck.base.options import Options

        scan, copy, reader, what, *weights = arguments
        options = Options(
            reader=reader,
            weights=Path(weights[0]) if weights else None,
            type_too=what == "type",
        )
        seconds = _whole(Path(scan), Path(copy), options)
    own, child = (
        resource.getrusage(who).ru_maxrss / 1024
        for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    print(json.dumps({"seconds": seconds, "peak_mb": own, "engine_mb": child}))


if __name__ == "__main__":
    main(sys.argv[1:])
