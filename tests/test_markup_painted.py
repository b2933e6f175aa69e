"""The marked proof painted: what other programs see in the picture and in the PDF."""

import io
from dataclasses import replace

import cv2
import numpy as np
import pikepdf
import pypdfium2
import pytest
from markup_cases import HEADING, PITCH, fault, sheet
from PIL import Image

from proofcheck.base.errors import OutputError
from proofcheck.base.found import Cause
from proofcheck.base.kinds import Kind
from proofcheck.results.marked import draw_marked_proof, lay_out, png_names
from proofcheck.results.marked.paint_pdf import paint_pdf
from proofcheck.results.marked.paint_png import dashes, paint_png


@pytest.fixture(scope="module")
def proof():
    page_sheet, lines = sheet()
    faults = [
        fault(lines[0], number=1, at=0.2),
        fault(lines[1], number=2, kind=Kind.LETTER_MISSING, proof="", width=0),
        fault(lines[2], number=3, kind=Kind.WRONG_WORD, proof="form", copy="from", width=90),
        fault(lines[3], number=4, kind=Kind.CASE, proof="b", copy="B"),
        fault(lines[5], number=5, kind=Kind.SPACE_EXTRA, proof=" ", copy="", at=0.8, width=0),
        fault(lines[6], number=6, at=0.7, query=True),
        fault(
            lines[7], number=7, kind=Kind.WORDS_TRANSPOSED, proof="is it", copy="it is", width=120
        ),
    ]
    return page_sheet, lines, faults


def _pixels(page):
    return np.asarray(Image.open(io.BytesIO(paint_png(page))).convert("RGB")).astype(int)


def _red(pixels):
    return (pixels[..., 0] > 120) & (pixels[..., 0] - pixels[..., 1] > 60)


def test_the_picture_is_the_sheet_with_marks_on_it(proof):
    (page,) = lay_out([proof[0]], proof[1], proof[2], HEADING).pages
    picture = Image.open(io.BytesIO(paint_png(page)))
    assert picture.size == (page.width_px, page.height_px)
    assert picture.info["dpi"] == pytest.approx((300, 300), abs=0.1)
    pixels = _pixels(page)
    x, y = page.at
    height, width = proof[0].image.shape
    shown, red = pixels[y : y + height, x : x + width, 1], _red(pixels)
    for mark in (*page.signs, *page.text_marks):
        left, top, right, bottom = (int(v) for v in mark.rect)
        assert red[top : bottom + 1, left : right + 1].any()
    # Away from the marks the sheet is there pixel for pixel.
    untouched = ~np.pad(red, 3)[3:-3, 3:-3]
    for dy, dx in ((0, 2), (0, -2), (2, 0), (-2, 0)):
        untouched &= ~np.roll(red, (dy, dx), axis=(0, 1))
    clear = untouched[y : y + height, x : x + width]
    same = np.abs(shown - proof[0].image.astype(int)) < 5
    assert same[clear].mean() > 0.999


def test_the_letter_under_a_stroke_can_still_be_read(proof):
    page_sheet, lines, faults = proof
    (page,) = lay_out([page_sheet], lines, faults[2:3], HEADING).pages
    box = faults[2].box
    x, y = box.x + page.at[0], box.y + page.at[1]
    covered = _red(_pixels(page))[y : y + box.height, x : x + box.width].mean()
    assert 0.02 < covered < 0.25


def test_the_pdf_has_a_standard_annotation_for_every_mark(proof):
    page_sheet, lines, faults = proof
    faults = [replace(faults[0], cause=Cause.TURNED_SORT), *faults[1:]]
    layout = lay_out([page_sheet], lines, faults, HEADING)
    with pikepdf.open(io.BytesIO(paint_pdf(layout))) as pdf:
        assert len(pdf.pages) == 1
        page = pdf.pages[0]
        notes = {str(note.NM): note for note in page.Annots}
        assert notes.keys() == {f.id for f in faults}
        subtypes = {name: str(note.Subtype) for name, note in notes.items()}
        assert subtypes == {
            "F1": "/StrikeOut",
            "F2": "/Caret",
            "F3": "/StrikeOut",
            "F4": "/Underline",
            "F5": "/Ink",
            "F6": "/Ink",
            "F7": "/Ink",
        }
        assert "change u to n" in str(notes["F1"].Contents)
        assert "turned sort" in str(notes["F1"].Contents)
        assert str(notes["F6"].Contents).startswith("Line 7: query: ")
        left, low, right, high = (float(v) for v in page.MediaBox)
        for note in notes.values():
            # ISO 32000: NM, T, Contents, F bit 3 = Print; a Rect on the page; an appearance.
            assert {"/Type", "/Rect", "/NM", "/T", "/Contents", "/F", "/AP", "/P"} <= set(note)
            assert note.F == 4
            x0, y0, x1, y1 = (float(v) for v in note.Rect)
            assert left <= x0 < x1 <= right
            assert low <= y0 < y1 <= high
            form = note.AP.N
            assert form.Subtype == "/Form"
            assert [float(v) for v in form.BBox] == pytest.approx([x0, y0, x1, y1])
            operators = [str(op) for _, op in pikepdf.parse_content_stream(form)]
            assert "S" in operators
            needs = {
                "/StrikeOut": "/QuadPoints",
                "/Underline": "/QuadPoints",
                "/Ink": "/InkList",
                "/Caret": "/Sy",
            }
            assert needs[str(note.Subtype)] in note


@pytest.mark.parametrize("bilevel", [True, False])
def test_a_pdf_viewer_shows_what_the_picture_shows(bilevel):
    page_sheet, lines = sheet(bilevel=bilevel)
    faults = [fault(lines[k], number=k + 1, at=0.1 + 0.07 * k) for k in range(10)]
    layout = lay_out([page_sheet], lines, faults, HEADING)
    (page,) = layout.pages
    with pikepdf.open(io.BytesIO(paint_pdf(layout))) as pdf:
        image = pdf.pages[0].Resources.XObject.Sheet
        assert str(image.Filter) == ("/CCITTFaxDecode" if bilevel else "/DCTDecode")
        decoded = np.asarray(pikepdf.PdfImage(image).as_pil_image().convert("L")).astype(int)
        most = 0 if bilevel else 60  # JPEG frays the hard edges of these bars
        assert np.abs(decoded - page_sheet.image).max() <= most
        assert np.abs(decoded - page_sheet.image).mean() <= most / 20
        box = pdf.pages[0].MediaBox
        assert float(box[2]) == pytest.approx(page.width_px * 72 / 300, abs=0.01)
    document = pypdfium2.PdfDocument(paint_pdf(layout))
    seen = document[0].render(scale=300 / 72).to_numpy()[..., ::-1].astype(int)
    document.close()
    drawn = _pixels(page)
    rows, columns = (min(a, b) for a, b in zip(seen.shape[:2], drawn.shape[:2], strict=True))
    assert abs(seen.shape[0] - drawn.shape[0]) <= 1
    seen, drawn = seen[:rows, :columns], drawn[:rows, :columns]
    blurred = [cv2.blur(image.astype(np.float32), (15, 15)) for image in (seen, drawn)]
    assert np.abs(blurred[0] - blurred[1]).mean() < 2
    # Red against red: the marks lie in the same places to within a pixel or so.
    ours, theirs = _red(drawn), _red(seen)
    grown = ours.copy()
    for dy in (-2, -1, 0, 1, 2):
        for dx in (-2, -1, 0, 1, 2):
            grown |= np.roll(ours, (dy, dx), axis=(0, 1))
    assert theirs.sum() > 0.5 * ours.sum()
    assert (theirs & ~grown).sum() < 0.01 * theirs.sum()


def test_without_colour_faults_and_queries_still_differ(proof):
    page_sheet, lines, _ = proof
    faults = [fault(lines[2], number=1, at=0.1), fault(lines[2], number=1, at=0.1, query=True)]
    grey = []
    for found in faults:
        (page,) = lay_out([page_sheet], lines, [found], HEADING).pages
        (sign,) = page.signs
        left, top, right, bottom = (int(v) for v in sign.rect)
        grey.append(_pixels(page)[top:bottom, left:right].mean(axis=2) < 140)
    assert all(mark.any() for mark in grey)
    # The ring: ink in the first and last column of what the query fills, at mid height.
    ringed = grey[1]
    middle = slice(ringed.shape[0] // 3, -(ringed.shape[0] // 3))
    assert ringed[middle, :5].any()
    assert ringed[middle, -5:].any()


def test_several_sheets_make_one_pdf_and_a_picture_each(tmp_path):
    first, lines = sheet()
    second, more = sheet(6, number=1)
    more = [replace(line, number=line.number + 12) for line in more]
    faults = [fault(lines[0], number=1), fault(more[2], number=2)]
    written = draw_marked_proof(
        lay_out([first, second], [*lines, *more], faults, HEADING),
        png=tmp_path / "marked.png",
        pdf=tmp_path / "marked.pdf",
    )
    assert [p.name for p in written] == ["marked-1.png", "marked-2.png", "marked.pdf"]
    with pikepdf.open(tmp_path / "marked.pdf") as pdf:
        assert [len(page.Annots) for page in pdf.pages] == [1, 1]
        assert "Summer concert" in str(pdf.docinfo.Title)
    assert png_names(tmp_path / "a.png", 1) == [tmp_path / "a.png"]


def test_nothing_is_overwritten_unless_asked(tmp_path):
    page_sheet, lines = sheet(2)
    layout = lay_out([page_sheet], lines, [], HEADING)
    (tmp_path / "marked.pdf").write_text("kept")
    places = {"png": tmp_path / "marked.png", "pdf": tmp_path / "marked.pdf"}
    with pytest.raises(OutputError, match=r"marked\.pdf exists already"):
        draw_marked_proof(layout, **places)
    assert [p.name for p in tmp_path.iterdir()] == ["marked.pdf"]
    draw_marked_proof(layout, **places, overwrite=True)
    assert (tmp_path / "marked.pdf").read_bytes().startswith(b"%PDF")


def test_the_same_proof_gives_the_same_bytes(proof):
    layout = lay_out([proof[0]], proof[1], proof[2], HEADING)
    assert paint_pdf(layout) == paint_pdf(layout)
    assert paint_png(layout.pages[0]) == paint_png(layout.pages[0])


@pytest.mark.parametrize(
    "hostile",
    ["<script>", ") Tj ET (", "\x00\x1b[31m", "\u202eabc", "\ud800", "𝔐" * 40, "a" * 5000],
)
def test_hostile_matter_is_only_drawn(hostile):
    page_sheet, lines = sheet(4)
    found = fault(lines[1], kind=Kind.WRONG_WORD, proof=hostile, copy=hostile, width=50)
    layout = lay_out([page_sheet], lines, [found], replace(HEADING, job=hostile))
    with pikepdf.open(io.BytesIO(paint_pdf(layout))) as pdf:
        contents = str(pdf.pages[0].Annots[0].Contents)
    assert contents.isprintable()
    assert paint_png(layout.pages[0]).startswith(b"\x89PNG")
    assert layout.pages[0].width_px < 6000


def test_dashes_cover_the_line_and_leave_white():
    line = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 50.0]])
    pieces = dashes(line, 8.0)
    drawn = sum(np.hypot(*np.diff(piece, axis=0).T).sum() for piece in pieces)
    assert drawn == pytest.approx(150 * 8 / 14, abs=8)
    assert pieces[0][0] == pytest.approx([0, 0])


def test_marks_step_no_further_than_the_pitch_needs():
    # One sign on every line of solid matter stays level with its line.
    page_sheet, lines = sheet(20)
    faults = [fault(line, number=line.number, at=0.1) for line in lines]
    (page,) = lay_out([page_sheet], lines, faults, HEADING).pages
    tops = sorted(s.rect.top for s in page.signs)
    assert np.diff(tops) == pytest.approx(PITCH, abs=1)
