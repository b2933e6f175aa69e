"""Does memory stay flat over a long proof? Scans taken in turn, as a PDF of many pages.

    python -m tests.benchmark.longproof [--pages 10 100 500] [--scans PAGE.png …]

Each scan with its text beside it (NAME.txt); one sample of the project again and again if none is
given. Each number of pages is measured in a process of its own, because peak memory can't be reset.
"""

from __future__ import annotations

import argparse
import itertools
import resource
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

from PIL import Image

from proofcheck import check_proof

SAMPLE = Path("samples/notice-proof.png"), Path("samples/notice-copy.txt")


def measure(pages: int, scans: list[tuple[Path, Path]]) -> None:
    """Read one proof and print how much memory it had by page."""
    peaks: list[int] = []

    def tell(words: str) -> None:
        if words.startswith("reading"):
            peaks.append(peak_mb())

    in_turn = list(itertools.islice(itertools.cycle(scans), pages))
    with tempfile.TemporaryDirectory() as folder:
        pdf, copy = Path(folder) / "long.pdf", Path(folder) / "copy.txt"
        with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as apart:
            # Writing a long PDF takes more memory than reading it.
            apart.submit(_write, pdf, [scan for scan, _ in in_turn]).result()
        copy.write_text("\n\n".join(text.read_text(encoding="utf-8") for _, text in in_turn))
        start = time.perf_counter()
        report = check_proof(pdf, copy, tell=tell)
        seconds = time.perf_counter() - start
    print(f"{len(report.sheets)} sheets, {len(report.lines)} lines, {report.verdict}")
    print(f"{seconds / pages:.2f} s a page; peak memory by page, MB:")
    for page in sorted({1, 10, pages // 4, pages // 2, pages}):
        if 0 < page <= len(peaks):
            print(f"  page {page}: {peaks[page - 1]}")
    print(f"  at the end: {peak_mb()}", flush=True)


def _write(pdf: Path, scans: list[Path]) -> None:
    """The scans as pages of a PDF."""
    pictures = (Image.open(scan).convert("L") for scan in scans)
    next(pictures).save(pdf, "PDF", resolution=300, save_all=True, append_images=pictures)


def peak_mb() -> int:
    """The most memory this process has had."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark.longproof")
    parser.add_argument("--pages", type=int, nargs="+", default=[500])
    parser.add_argument("--scans", type=Path, nargs="+", default=[])
    given = parser.parse_args()
    if len(given.pages) == 1:
        pairs = [(scan, scan.with_suffix(".txt")) for scan in given.scans]
        measure(given.pages[0], pairs or [SAMPLE])
        return
    for count in given.pages:
        again = ["--pages", str(count), *(["--scans", *given.scans] if given.scans else [])]
        command = [sys.executable, "-m", "tests.benchmark.longproof", *map(str, again)]
        subprocess.run(command, check=True)


if __name__ == "__main__":
    main()
