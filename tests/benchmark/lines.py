"""Count the lines found on scanned pages against their true text, line for line.

    python tests/benchmark/lines.py FOLDER

FOLDER holds NAME.png with NAME.txt beside it, one printed line a text line. Prints the pages whose
counts differ, the shares, and the time a page. Running heads and page numbers may be absent from
the text, so a page with one line more need not be wrong: look at it.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import cv2
import numpy as np

from proofcheck.base.values import Grey, Scan, Sheet
from proofcheck.sheet.lines import find_lines


def as_sheet(image: Grey, dpi: float = 300.0) -> Sheet:
    """A sheet of a picture that is clean already."""
    height, width = image.shape
    scan = Scan("page", 0, "", width, height)
    return Sheet(image, scan, 0, dpi, "option", 0, mirrored=False, skew_deg=0.0, to_scan=np.eye(3))


def main() -> None:
    cv2.setNumThreads(1)
    folder = Path(sys.argv[1])
    same = lines = wanted = pages = 0
    times = []
    for path in sorted(folder.glob("*.png")):
        text = path.with_suffix(".txt").read_text("utf-8")
        true = [line for line in text.splitlines() if line.strip()]
        sheet = as_sheet(cv2.imread(str(path), cv2.IMREAD_GRAYSCALE))
        start = time.perf_counter()
        found = find_lines(sheet)
        times.append(time.perf_counter() - start)
        pages += 1
        same += len(found) == len(true)
        lines += len(found)
        wanted += len(true)
        if len(found) != len(true):
            print(f"{path.stem}: {len(found)} found, {len(true)} in the text")
    print(f"{pages} pages, {same} with the same count; {lines} lines found, {wanted} in the text")
    print(f"ms a page: median {1000 * np.median(times):.0f}, longest {1000 * max(times):.0f}")


if __name__ == "__main__":
    main()
