"""Does memory stay flat over a long proof? One scan as a PDF of many pages.

python -m tests.benchmark.longproof [--pages 500] [--scan samples/notice-proof.png]
"""

from __future__ import annotations

import argparse
import resource
import tempfile
import time
from pathlib import Path

from PIL import Image

from proofcheck import check_proof


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark.longproof")
    parser.add_argument("--pages", type=int, default=500)
    parser.add_argument("--scan", type=Path, default=Path("samples/notice-proof.png"))
    parser.add_argument("--copy", type=Path, default=Path("samples/notice-copy.txt"))
    given = parser.parse_args()
    peaks: list[int] = []

    def tell(words: str) -> None:
        if words.startswith("reading"):
            peaks.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)

    with tempfile.TemporaryDirectory() as folder:
        pdf, copy = Path(folder) / "long.pdf", Path(folder) / "copy.txt"
        scan = Image.open(given.scan).convert("L")
        pages = (scan for _ in range(given.pages - 1))
        scan.save(pdf, "PDF", resolution=300, save_all=True, append_images=pages)
        copy.write_text((given.copy.read_text() + "\n\n") * given.pages)
        start = time.perf_counter()
        report = check_proof(pdf, copy, tell=tell)
        seconds = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(f"{len(report.sheets)} sheets, {len(report.lines)} lines, {report.verdict}")
    print(f"{seconds / given.pages:.2f} s a page; peak memory by page, MB:")
    for page in sorted({1, 10, given.pages // 4, given.pages // 2, given.pages}):
        if 0 < page <= len(peaks):
            print(f"  page {page}: {peaks[page - 1]}")
    print(f"  at the end: {peak}")


if __name__ == "__main__":
    main()
