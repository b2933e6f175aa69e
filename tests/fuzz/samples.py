"""Small sound files of every kind that is taken, to be spoilt: made once, in memory."""

from __future__ import annotations

import io
import json
import tempfile
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import docx
import numpy as np
import pikepdf
from odf import text as odf_text
from odf.opendocument import OpenDocumentText
from PIL import Image

from proofcheck import check_proof
from proofcheck.base.options import Options
from proofcheck.results.report_json import report_text
from tests import typesetter

DPI = 150


@dataclass(frozen=True)
class Samples:
    """Files by name."""

    scans: dict[str, bytes]
    copies: dict[str, bytes]
    settings: dict[str, bytes]
    reports: dict[str, bytes]
    sheet: np.ndarray
    """The proof's own pixels, grey."""


COPY = "The fair opens at seven.\n\nTea and cake 6d. at the gate; come early, and stay."
"""Few letters: what lives through its mutation is read to the end."""
PRINTED = COPY.replace("early", "eerly").replace("cake", "cakes")
"""What the proof has: two faults, so that there is something to tell and to mark."""

SETTINGS = """dpi = 150
measure_picas = 14.0
hand_set = true
second_look = false
enforced = ["point-space"]
fault_certainty = 0.5
query_certainty = 0.02
bands = "thick"
minutes_a_slug = 0.5
language = "eng"
"""


@lru_cache(maxsize=1)
def samples() -> Samples:
    """All samples."""
    blocks = [typesetter.Para(part) for part in PRINTED.split("\n\n")]
    proof = typesetter.print_proof(typesetter.compose(blocks, measure_picas=14), dpi=DPI)
    sheet = np.pad(np.asarray(proof.image, np.uint8), 30, constant_values=int(proof.image[0, 0]))
    scans = _scans(sheet)
    return Samples(scans, _copies(), _settings(), _reports(scans["a.png"]), sheet)


def _scans(sheet: np.ndarray) -> dict[str, bytes]:
    grey = Image.fromarray(sheet)
    made = {
        "a.png": _saved(grey, "PNG", dpi=(DPI, DPI)),
        "rgba.png": _saved(grey.convert("RGBA"), "PNG"),
        "few.png": _saved(grey.quantize(8), "PNG"),
        "one.png": _saved(grey.convert("1"), "PNG"),
        "deep.png": _saved(Image.fromarray(sheet.astype(np.uint16) * 257), "PNG"),
        "a.jpg": _saved(grey.convert("RGB"), "JPEG", quality=80, dpi=(DPI, DPI)),
        "a.webp": _saved(grey.convert("RGB"), "WEBP"),
        "a.bmp": _saved(grey, "BMP"),
        "a.gif": _saved(grey, "GIF"),
        "a.pgm": _saved(grey, "PPM"),
        "plain.tif": _saved(grey, "TIFF", dpi=(DPI, DPI)),
        "lzw.tif": _saved(grey, "TIFF", compression="tiff_lzw"),
        "fax.tif": _saved(grey.convert("1"), "TIFF", compression="group4"),
        "deflate.tif": _saved(grey.convert("RGB"), "TIFF", compression="tiff_adobe_deflate"),
        "two.tif": _saved(grey, "TIFF", save_all=True, append_images=[grey]),
        "floats.tif": _saved(Image.fromarray(sheet.astype(np.float32)), "TIFF"),
    }
    return made | {"scan.pdf": _scan_pdf(sheet), "drawn.pdf": _drawn_pdf()}


def _saved(image: Image.Image, form: str, **how: object) -> bytes:
    held = io.BytesIO()
    image.save(held, form, **how)
    return held.getvalue()


def _scan_pdf(sheet: np.ndarray) -> bytes:
    held = io.BytesIO()
    height, width = sheet.shape
    size = (width * 72 / DPI, height * 72 / DPI)
    with pikepdf.new() as pdf:
        page = pdf.add_blank_page(page_size=size)
        scan = pdf.make_stream(
            sheet.tobytes(),
            Type=pikepdf.Name.XObject,
            Subtype=pikepdf.Name.Image,
            Width=width,
            Height=height,
            ColorSpace=pikepdf.Name.DeviceGray,
            BitsPerComponent=8,
        )
        page.Resources = pikepdf.Dictionary(XObject={"/S": scan})
        page.Contents = pdf.make_stream(b"q %f 0 0 %f 0 0 cm /S Do Q" % size)
        pdf.save(held, compress_streams=True)
    return held.getvalue()


def _drawn_pdf() -> bytes:
    held = io.BytesIO()
    with pikepdf.new() as pdf:
        for words in (b"The fair opens at seven.", b"Tea and cake 6d. at the gate"):
            page = pdf.add_blank_page(page_size=(220, 60))
            font = pikepdf.Dictionary(
                Type=pikepdf.Name.Font, Subtype=pikepdf.Name.Type1, BaseFont=pikepdf.Name.Helvetica
            )
            page.Resources = pikepdf.Dictionary(Font={"/F": font})
            page.Contents = pdf.make_stream(b"BT /F 12 Tf 30 30 Td (" + words + b") Tj ET")
        pdf.save(held, compress_streams=False)
    return held.getvalue()


def _copies() -> dict[str, bytes]:
    marked = COPY.replace("fair", "*fair*").replace("Tea", "# Tea") + "\n\n| a | b |\n|---|---|\n"
    return {
        "a.txt": COPY.encode(),
        "wide.txt": COPY.encode("utf-16"),
        "old.txt": COPY.replace("6d.", "6d. café – “so”").encode("cp1252"),
        "a.md": marked.encode(),
        "a.docx": _docx(),
        "a.odt": _odt(),
    }


def _docx() -> bytes:
    document = docx.Document()
    first, second = COPY.split("\n\n")
    document.add_heading(first, level=1)
    document.add_paragraph(second).add_run(" gladly").italic = True
    grid = document.add_table(rows=1, cols=2)
    grid.cell(0, 0).text, grid.cell(0, 1).text = "Tea", "6d."
    document.sections[0].header.paragraphs[0].text = "Draft"
    held = io.BytesIO()
    document.save(held)
    return held.getvalue()


def _odt() -> bytes:
    document = OpenDocumentText()
    first, second = COPY.split("\n\n")
    document.text.addElement(odf_text.H(outlinelevel=1, text=first))
    paragraph = odf_text.P(text=second)
    paragraph.addElement(odf_text.S(c=2))
    paragraph.addElement(odf_text.Tab())
    document.text.addElement(paragraph)
    held = io.BytesIO()
    document.save(held)
    return held.getvalue()


def _settings() -> dict[str, bytes]:
    return {
        "shop.toml": SETTINGS.encode(),
        "bill.toml": b"[sorts]\na = 30\nb = 12\n",
        "face.toml": b"[widths]\na = 0.5\nb = 0.48\n",
        "face.csv": b"unit,width_em\na,0.5\nb,0.48\n",
    }


def _reports(proof: bytes) -> dict[str, bytes]:
    with tempfile.TemporaryDirectory() as folder:
        scan, copy = Path(folder) / "a.png", Path(folder) / "a.txt"
        scan.write_bytes(proof)
        copy.write_text(COPY)
        report = check_proof(scan, copy, options=Options(unfit=True, second_look=False))
    return {"a.json": json.dumps(json.loads(report_text(report))).encode()}
