"""Set jobs by a browser: another typesetter than the project's, with rules of its own.

    python -m tests.benchmark.browserset --fonts HELD --out FOLDER [--jobs J] [--names a,b]

What a tool is tried on should not be set by the hand that made it. Each of `browserjobs/*.html` is
set by a browser in faces that the reader was never trained on (HELD: the files that
`tests/lab/faces.csv` marks as held), once right and once with faults put into its source, printed
at the usual wear, and laid in FOLDER as `tests.benchmark.jobs` reads it. Which faces a job is set
in follows from its name and the seed.
"""

from __future__ import annotations

import argparse
import csv
import json
import random
import shutil
import tempfile
import zlib
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np
from playwright.sync_api import sync_playwright

from tests.typesetter.printing import Proof
from tests.typesetter.wear import pull

from .markedup import read_markup
from .misset import missaid, misset

if TYPE_CHECKING:
    from playwright.sync_api import Page

JOBS = Path(__file__).with_name("browserjobs")
FACES = Path(__file__).parents[1] / "lab" / "faces.csv"
DPI = 300
_CSS_DPI = 96
ROLES = {
    "text": ("libre-baskerville", "crimson-text", "libre-caslon-text", "unna", "domine",
             "pt-serif", "noto-serif", "spectral", "fanwood", "linden-hill", "essays1743"),
    "other": ("century-catalogue", "goudy-bookletter-1911", "aleo"),
    "sans": ("work-sans", "noto-sans"),
    "display": ("alfa-slab-one", "fjalla-one", "dm-serif-display", "anton", "ultra"),
    "script": ("great-vibes", "italianno"),
    "black": ("unifrakturcook", "unifrakturmaguntia"),
}  # fmt: skip
"""What a job may ask for, and the families that serve."""
_WEIGHTS = {"bold": 700, "bold-italic": 700}
# Kerning and ligatures are taken from each element: a `font` in its style would bring them back.
_PAGE = """<!doctype html><html lang="en"><meta charset="utf-8"><style>{faces}
html{{background:#fff;color:#000}} body{{margin:0;font-family:text,serif;font-size:10pt;
line-height:1.2}}
p,h1,h2,h3,h4,ul,ol,dl,dd,figure{{margin:0;font-weight:inherit;font-size:inherit}}
ul,ol{{list-style:none;padding:0}} table{{border-collapse:collapse}} td,th{{padding:0;
text-align:left;font-weight:inherit;vertical-align:baseline}}
*{{font-kerning:none!important;font-variant-ligatures:none!important}}
#sheet{{display:inline-block;padding:9mm;background:#fff}}</style>
<body><div id="sheet">{job}</div></body></html>"""


def _faces_for(fonts: Path, seed: int) -> str:
    """The faces of one job, as the browser is told of them."""
    rng = random.Random(seed)
    with FACES.open(encoding="utf-8") as table:
        held = [row for row in csv.DictReader(table) if row["use"] == "held"]
    rules = []
    chosen = {role: rng.choice(families) for role, families in ROLES.items()}
    others = [family for family in ROLES["text"] if family != chosen["text"]]
    for role, family in {**chosen, "strange": rng.choice(others)}.items():
        seen: set[str] = set()
        for row in held:
            if row["family"] != family or row["style"] in seen:
                continue
            seen.add(row["style"])
            slope = "italic" if "italic" in row["style"] else "normal"
            weight = _WEIGHTS.get(row["style"], 400)
            rules.append(
                f"@font-face{{font-family:{role};font-style:{slope};font-weight:{weight};"
                f"src:url('{(fonts / row['file']).resolve().as_uri()}')}}"
            )
    return "".join(rules)


def _set(page: Page, source: str, faces: str, folder: Path) -> np.ndarray:
    """The sheet as set: grey, at `DPI`."""
    laid = folder / "job.html"
    laid.write_text(_PAGE.format(faces=faces, job=source), encoding="utf-8")
    page.goto(laid.as_uri())
    page.evaluate(
        """async () => {
          for (const one of [...document.querySelectorAll('[data-times]')])
            for (let n = 1; n < +one.dataset.times; n++) one.after(one.cloneNode(true));
          await document.fonts.ready;
        }"""
    )
    drawn = page.locator("#sheet").screenshot()
    sheet = cv2.imdecode(np.frombuffer(drawn, np.uint8), cv2.IMREAD_GRAYSCALE)
    assert sheet is not None
    return sheet


def set_job(page: Page, path: Path, fonts: Path, out: Path, seed: int) -> str:
    """Set one job into a folder; returns its class.

    Writes NAME.jpg, NAME-faults.jpg, NAME.txt and NAME-faults.json.
    """
    name = path.stem
    job = read_markup(path.read_text(encoding="utf-8"))
    number = zlib.crc32(name.encode()) + seed
    faces = _faces_for(fonts, number)
    faults = misset(job, number)
    with tempfile.TemporaryDirectory() as made:
        for suffix, source in (("", job.source), ("-faults", missaid(job, faults))):
            sheet = _set(page, source, faces, Path(made))
            printed = pull(Proof(sheet, (), float(DPI), "", ()), "good", number)
            cv2.imwrite(str(out / f"{name}{suffix}.jpg"), printed)
    (out / f"{name}.txt").write_text(job.copy + "\n", encoding="utf-8")
    told = [{k: v for k, v in asdict(each).items() if k != "source"} for each in faults]
    (out / f"{name}-faults.json").write_text(
        json.dumps(told, ensure_ascii=False, indent=1), encoding="utf-8"
    )
    return job.kind


def main() -> None:
    """Set the jobs that are asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--fonts", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--jobs", type=Path, default=JOBS, help="a folder of NAME.html")
    parser.add_argument("--names", default="")
    parser.add_argument("--seed", type=int, default=0)
    given = parser.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    there = given.jobs.glob("*.html")
    named = given.names.split(",") if given.names else sorted(path.stem for path in there)
    paths = [given.jobs / f"{name}.html" for name in named]
    found = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
    with sync_playwright() as driver:
        how = ["--no-sandbox", "--disable-gpu"]
        browser = driver.chromium.launch(executable_path=found, args=how)
        scale = DPI / _CSS_DPI
        page = browser.new_page(device_scale_factor=scale, viewport={"width": 1000, "height": 1400})
        rows = [
            f"{path.stem}\t{set_job(page, path, given.fonts, given.out, given.seed)}"
            for path in paths
        ]
        browser.close()
    (given.out / "list.tsv").write_text("\n".join(["name\tclass", *rows]) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
