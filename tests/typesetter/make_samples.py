"""Make the files of `samples/`: `PYTHONPATH=tests python -m typesetter.make_samples [FOLDER]`.

Everything comes from seeds, so that the same files come out again.
"""

from __future__ import annotations

import json
import sys
import zipfile
from dataclasses import replace
from pathlib import Path
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from . import faults as hand
from . import linefaults as slugs
from .jobs import CONCERT, CONCERT_STYLE, NOTICE, NOTICE_STYLE, PRICES, PRICES_STYLE
from .matter import Forme
from .photo import photograph
from .printing import Proof, print_proof
from .setting import compose
from .wear import PRESETS, Wear, pull

__all__ = ["concert_first", "concert_revise", "make_all", "notice_clean", "prices_first"]

SAMPLES = Path(__file__).parents[2] / "samples"
DPI = 300

CONCERT_WEAR = Wear(
    spread_mil=0.7, ragged=0.13, uneven=0.07, rim=0.22, starved=0.2, specks=2.0, ink_level=46,
    paper_level=229, paper_grain=2.0, noise=1.5, skew_deg=0.8,
)  # fmt: skip
# Few specks: in small figures one too many turns a comma into a point for anyone who looks.
PRICES_WEAR = replace(PRESETS["good"], specks=0.3)


def concert_set() -> Forme:
    """The programme as it should be."""
    return compose(CONCERT, measure_picas=25, style=CONCERT_STYLE)


def concert_first() -> Forme:
    """The programme as first set, with a dozen faults."""
    forme = concert_set()
    forme = hand.misset(forme, 7, "wheelwright", "wheelwrihgt", "letters-transposed")
    forme = hand.turned_sort(forme, 8, "sense", letter=2)
    forme = hand.misset(forme, 9, "learned", "leaned", "letter-missing")
    forme = hand.misset(forme, 24, "the donkey", "the the donkey", "word-doubled")
    forme = hand.misset(forme, 15, "afterwards.", "afterwards,", "point-wrong")
    forme = hand.misset(forme, 18, "donkey", "Donkey", "case")
    forme = hand.misset(forme, 20, "shut both gates", "shut gates", "word-missing")
    forme = hand.misset(forme, 21, "sheep", "sleep", "wrong-letter")
    forme = hand.misset(forme, 28, "Quillfeather", "Quillfeathcr", "wrong-letter")
    forme = hand.misset(forme, 31, "Milestone Road", "MilestoneRoad", "space-missing")
    forme = hand.work_up(forme, 33, 5)
    return slugs.run_down_line(forme, 22)


def concert_revise() -> Forme:
    """The programme after correction: one fault left standing, one new in a recast line."""
    forme = hand.misset(concert_set(), 21, "sheep", "sleep", "wrong-letter")
    return hand.misset(forme, 15, "overture", "ovreture", "letters-transposed")


def prices_first() -> Forme:
    """The price list as first set: figures are where a reader must not guess."""
    forme = compose(PRICES, measure_picas=33, style=PRICES_STYLE)
    forme = hand.misset(forme, 6, "4½d", "4¼d", "wrong-letter")
    forme = hand.misset(forme, 9, "Carrot", "Carrol", "wrong-letter")
    forme = hand.misset(forme, 16, "10d", "1d", "letter-missing")
    forme = hand.turned_sort(forme, 25, "9d")
    forme = hand.misset(forme, 35, "12s", "21s", "letters-transposed")
    forme = hand.misset(forme, 39, "Fridays", "Friday", "letter-missing")
    return slugs.swap_lines(forme, 28, 29)


def notice_clean() -> Forme:
    """A notice without a fault."""
    return compose(NOTICE, measure_picas=24, style=NOTICE_STYLE)


def make_all(folder: Path) -> None:
    """Write every sample into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    concert = concert_first()
    _text(folder / "concert-copy.txt", concert.copy.replace("’", "'"))
    first = print_proof(concert, dpi=DPI, misalign_pt=0.08, seed=11)
    _png(folder / "concert-proof.png", pull(first, CONCERT_WEAR, seed=5))
    _truth(folder / "concert-proof.faults.json", first)
    other = print_proof(concert, dpi=DPI, misalign_pt=0.08, seed=11)
    picture = photograph(
        pull(other, "good", seed=23), seed=4, width_px=2000, noise=1.2, jpeg_quality=80
    )
    rgb = Image.fromarray(np.ascontiguousarray(picture.image[:, :, ::-1]))
    rgb.save(folder / "concert-phone.jpg", quality=80, optimize=True)
    _truth(folder / "concert-phone.faults.json", other)
    revise = print_proof(concert_revise(), dpi=DPI, misalign_pt=0.08, seed=12)
    _png(folder / "concert-revise.png", pull(revise, CONCERT_WEAR, seed=6))
    _truth(folder / "concert-revise.faults.json", revise)
    prices = prices_first()
    _docx(folder / "prices-copy.docx", prices.copy)
    priced = print_proof(prices, dpi=DPI, misalign_pt=0.06, seed=13)
    _png(folder / "prices-proof.png", pull(priced, PRICES_WEAR, seed=17))
    _truth(folder / "prices-proof.faults.json", priced)
    notice = print_proof(notice_clean(), dpi=DPI, misalign_pt=0.06, seed=14)
    _text(folder / "notice-copy.txt", notice.copy)
    _png(folder / "notice-proof.png", pull(notice, "good", seed=8))
    _truth(folder / "notice-proof.faults.json", notice)


def _text(path: Path, text: str) -> None:
    path.write_text(text + "\n", encoding="utf-8", newline="\n")


def _png(path: Path, image: NDArray[np.uint8]) -> None:
    """Save in 64 greys, which halves the file and shows nowhere."""
    coarse = np.minimum((image.astype(np.uint16) + 2) // 4 * 4, 255).astype(np.uint8)
    Image.fromarray(coarse).save(path, dpi=(DPI, DPI), optimize=True)


def _truth(path: Path, proof: Proof) -> None:
    faults = [
        {
            "kind": fault.kind,
            "line": fault.line,
            "printed": fault.printed,
            "copy": fault.copy,
            **({"other_lines": list(fault.other_lines)} if fault.other_lines else {}),
        }
        for fault in proof.faults
    ]
    lines = [line.text for line in proof.lines]
    _text(path, json.dumps({"faults": faults, "lines": lines}, ensure_ascii=False, indent=1))


WORD = "http://schemas.openxmlformats.org/wordprocessingml/2006/main"
RELATIONS = "http://schemas.openxmlformats.org/package/2006/relationships"
TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument"
MAIN = "application/vnd.openxmlformats-officedocument.wordprocessingml.document.main+xml"
HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'


def _docx(path: Path, text: str) -> None:
    """The smallest WordprocessingML package (ECMA-376) that holds these paragraphs."""
    body = "".join(f"<w:p>{_runs(p)}</w:p>" for p in text.split("\n\n"))
    parts = {
        "[Content_Types].xml": f'<Types xmlns="{TYPES}"><Default Extension="rels" ContentType='
        '"application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Override PartName="/word/document.xml" ContentType="{MAIN}"/></Types>',
        "_rels/.rels": f'<Relationships xmlns="{RELATIONS}"><Relationship Id="rId1" '
        f'Type="{OFFICE}" Target="word/document.xml"/></Relationships>',
        "word/document.xml": f'<w:document xmlns:w="{WORD}"><w:body>{body}</w:body></w:document>',
    }
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as package:
        for name, content in parts.items():
            # A fixed date, so that the same bytes come out.
            package.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), HEAD + content)


def _runs(paragraph: str) -> str:
    texts = (f'<w:t xml:space="preserve">{escape(t)}</w:t>' for t in paragraph.split("\t"))
    return f"<w:r>{'<w:tab/>'.join(texts)}</w:r>"


if __name__ == "__main__":
    make_all(Path(sys.argv[1]) if len(sys.argv) > 1 else SAMPLES)
