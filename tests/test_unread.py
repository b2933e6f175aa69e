"""Ink that belongs to no line of the text: read where it can be, told where it can't.

Every sheet here carries matter that the copy has not, so none may pass; or a border, a cut or a
rule, which is no matter, and then none may be refused.
"""

from __future__ import annotations

import io
from dataclasses import replace

import cv2
import numpy as np
import pikepdf
import pytest
from PIL import Image
from typesetter import (
    Leader,
    Para,
    Rule,
    Style,
    block_of,
    compose,
    cut_of,
    framed,
    laid_beside,
    panel_of,
    print_proof,
    pull,
)

from proofcheck import Options, check_proof
from proofcheck.base.found import Verdict
from proofcheck.base.values import Box, Copy, Lifted, Panel, Scan, Sheet, Span
from proofcheck.read_job import Progress, ReadJob, run_read
from proofcheck.results.report import exit_status
from proofcheck.results.report_json import report_to_json
from proofcheck.sheet.letterlike import are_letterlike
from proofcheck.sheet.lines import lay_lines
from proofcheck.sheet.orient import turned
from proofcheck.sheet.pieces import find_pieces
from proofcheck.sheet.whereabouts import place_words, size_words

TEXT = (
    "The ferry at Orrenmouth will cross every half hour from seven in the morning until dusk, and "
    "after the lamps are lit as often as four persons are waiting on the slip. Carts pay double."
)
QUICK = Options(type_too=False, recast=False, second_look=False)
UNFIT = Options(type_too=False, recast=False, second_look=False, unfit=True)


def plain(family="schola", *more):
    style = Style(family=family, body_pt=11)
    return print_proof(compose([Para(TEXT), *more], measure_picas=20, style=style))


def report_on(tmp_path, proof, wear="good", seed=1, copy=None, options=QUICK):
    path = tmp_path / "proof.png"
    Image.fromarray(pull(proof, wear, seed=seed)).save(path, dpi=(proof.dpi, proof.dpi))
    text = copy or proof.copy
    approved = Copy(text, "copy.txt", "", "utf-8", (Span(0, len(text)),))
    return check_proof(path, approved, options=options)


def sheet_of(image, source="file"):
    height, width = image.shape
    scan = Scan("proof.png", 0, "", width, height)
    return Sheet(image, scan, 0, 300.0, source, 0, mirrored=False, skew_deg=0.0, to_scan=np.eye(3))


# ------------------------------------------------------------------- matter too much


@pytest.mark.parametrize(
    ("family", "words", "body_pt"),
    [("schola", "7", 96), ("old-standard", "B", 120), ("goudy", "4", 60), ("schola", "£", 144)],
)
def test_one_figure_or_letter_of_display_does_not_pass(tmp_path, family, words, body_pt):
    # A large capital alone at the foot is no signature, and no cut.
    block = block_of(words, body_pt=body_pt, family=family)
    report = report_on(tmp_path, laid_beside(plain(family), block, "foot"))
    assert exit_status(report) in {1, 2}


@pytest.mark.parametrize(
    ("family", "words", "body_pt", "where"),
    [
        ("old-standard", "HALT", 96, "foot"),
        ("goudy", "Gratis", 120, "head"),
        ("schola", "No 9", 120, "head"),
    ],
)
def test_display_that_the_copy_has_not_is_a_fault(tmp_path, family, words, body_pt, where):
    block = block_of(words, body_pt=body_pt, family=family)
    report = report_on(tmp_path, laid_beside(plain(family), block, where))
    assert exit_status(report) != 0, report.warnings


@pytest.mark.parametrize(
    ("family", "lines", "body_pt", "shape", "where", "wear"),
    [
        ("schola", ("Shut",), 30, "square", "head", "good"),
        ("old-standard", ("TO LET", "ring twice"), 14, "round", "foot", "worn"),
        ("goudy", ("Withdrawn",), 24, "oval", "head", "good"),
        ("old-standard", ("Sold Out",), 8, "square", "right", "good"),
        ("old-standard", ("SALE",), 12, "square", "foot", "clean"),
        ("goudy", ("LATE",), 10, "square", "foot", "worn"),
    ],
)
def test_white_on_black_is_read(tmp_path, family, lines, body_pt, shape, where, wear):
    block = block_of(*lines, body_pt=body_pt, family=family)
    panel = panel_of(block, pad_px=int(1.5 * body_pt) + 8, shape=shape)
    report = report_on(tmp_path, laid_beside(plain(family), panel, where), wear)
    assert exit_status(report) == 1, (report.unread, report.warnings)
    read = " ".join(reading.text for reading in report.readings)
    assert sum(word in read for line in lines for word in line.split()) >= 1


def _stacked(words, sizes_pt, gap_px, family="schola"):
    """Lines of many sizes under one another, centred, with little white between them."""
    parts = [block_of(w, body_pt=pt, family=family) for w, pt in zip(words, sizes_pt, strict=True)]
    wide = max(part.shape[1] for part in parts)
    rows = []
    for part in parts:
        left = (wide - part.shape[1]) // 2
        sides = (left, wide - part.shape[1] - left)
        rows.append(np.pad(part, ((0, gap_px), sides), constant_values=255))
    return np.vstack(rows)[:-gap_px]


LABEL = ("PURE", "Honey", "from the hives", "one pound")


@pytest.mark.parametrize(
    ("family", "sizes_pt", "gap_px"),
    [
        ("schola", (60, 10, 36, 14), 14),
        ("schola", (10, 12, 48, 10), 12),
        ("old-standard", (36, 8, 24, 8), 18),
        ("old-standard", (14, 60, 10, 36), 20),
    ],
)
@pytest.mark.parametrize("black", [False, True])
def test_small_lines_between_large_ones_are_read(tmp_path, family, sizes_pt, gap_px, black):
    """On labels white on black the small lines were cleared away as grain of the ink; close under
    a large line small ones were taken for its own, and not read."""
    block = _stacked(LABEL, sizes_pt, gap_px, family)
    image = panel_of(block, pad_px=60) if black else block
    image = np.pad(image, 150, constant_values=255)
    proof = replace(plain(), image=image, lines=())
    report = report_on(tmp_path, proof, "good", copy="\n".join(LABEL))
    assert [reading.text for reading in report.readings] == list(LABEL)
    assert not report.faults


def test_a_label_full_of_specks_is_read_as_far_as_it_can_be_and_not_refused(tmp_path):
    """Starved ink leaves specks of paper in a solid, which were counted as crumbs of type."""
    words = ("FARTHING’S", "Finest Preserved", "DAMSON JAM", "Net weight 2 lb.", "Made at the Mill")
    label = panel_of(_stacked(words, (20, 10, 26, 9, 8), 28, "goudy"), pad_px=50)
    sheet = np.pad(label, 150, constant_values=255)
    once = pull(replace(plain(), image=sheet, lines=()), "good", 7)
    proof = replace(plain(), image=once, lines=())
    report = report_on(tmp_path, proof, "worn", seed=7, copy="\n\n".join(words))
    assert exit_status(report) != 0
    read = " ".join(reading.text for reading in report.readings)
    assert "FARTHING" in read
    assert "DAMSON" in read


def test_a_panel_that_its_frame_goes_on_from_is_read(tmp_path):
    """As on a label: the head white on black, a rule round it and what stands under it."""
    head = panel_of(block_of("LAVENDER", body_pt=36), pad_px=50)
    text = np.pad(block_of("a soft cloth, and rub until dry", body_pt=14), 60, constant_values=255)
    wide = max(head.shape[1], text.shape[1])
    head = cv2.resize(head, (wide, head.shape[0]))
    sides = wide - text.shape[1]
    text = np.pad(text, ((0, 0), (sides // 2, sides - sides // 2)), constant_values=255)
    framed = np.vstack([head, text])
    framed[:, :6] = framed[:, -6:] = framed[-6:] = 0
    image = np.pad(framed, 120, constant_values=255)
    large = cv2.resize(image, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)
    proof = replace(plain(), image=large, lines=(), dpi=600.0)
    copy = "LAVENDER\na soft cloth, and rub until dry"
    report = report_on(tmp_path, proof, "good", copy=copy)
    assert [reading.text for reading in report.readings] == copy.split("\n")


@pytest.mark.parametrize(
    ("family", "words", "body_pt"),
    [
        ("schola", "SOLD OUT", 12),
        ("old-standard", "SOLD OUT", 12),
        ("goudy", "HIGH TEA", 14),
        ("old-standard", "Tonight at nine", 12),
    ],
)
def test_a_slender_panel_that_reads_badly_is_no_rule(tmp_path, monkeypatch, family, words, body_pt):
    # However unsure its white letters read, a bar that has a row of them is no rule, and no dirt.
    monkeypatch.setattr("proofcheck.sheet.panels._SURE", 1.0)
    monkeypatch.setattr("proofcheck.sheet.panels._LIKELY", 1.0)
    panel = panel_of(block_of(words, body_pt=body_pt, family=family), pad_px=14)
    assert panel.shape[1] > 3 * panel.shape[0]
    report = report_on(tmp_path, laid_beside(plain(), panel, "foot"))
    assert report.verdict is Verdict.NOT_WHOLLY_READ


@pytest.mark.parametrize(
    ("family", "lines", "body_pt", "where"),
    [
        ("goudy", ("Errors", "excepted"), 6, "left"),
        ("schola", ("P. T. O.",), 8, "right"),
        ("old-standard", ("Turn over",), 4, "right"),
    ],
)
def test_small_type_in_a_margin_does_not_pass(tmp_path, family, lines, body_pt, where):
    block = block_of(*lines, body_pt=body_pt, family=family)
    report = report_on(tmp_path, laid_beside(plain(family), block, where))
    assert exit_status(report) != 0, report.warnings


def test_what_is_read_apart_is_laid_on_the_copy_in_its_place(tmp_path):
    proof = laid_beside(plain(), panel_of(block_of("NOTICE", body_pt=40), pad_px=40), "head")
    assert report_on(tmp_path, proof, copy=f"NOTICE\n\n{TEXT}").verdict is Verdict.CLEAN
    assert report_on(tmp_path, proof, copy=f"{TEXT}\n\nNOTICE").verdict is Verdict.FAULTS
    display = laid_beside(plain(), block_of("FERRY", body_pt=90), "foot")
    assert report_on(tmp_path, display, copy=f"{TEXT}\n\nFERRY").verdict is Verdict.CLEAN


@pytest.mark.parametrize(("printed", "status"), [("4", 0), ("3", 1), ("", 1)])
def test_one_figure_of_display_that_the_copy_has_is_read(tmp_path, printed, status):
    # "4 PERFORMANCES", the figure as high as several lines beside it.
    proof = plain()
    image = np.pad(proof.image, ((0, 0), (300, 0)), constant_values=255)
    if printed:
        figure = block_of(printed, body_pt=60)
        top = int(np.flatnonzero((image < 128).any(1))[0])
        image[top : top + figure.shape[0], 250 : 250 + figure.shape[1]] = figure
    report = report_on(tmp_path, replace(proof, image=image), copy=f"4 {TEXT}")
    assert exit_status(report) == status, (report.faults, report.unread)


# ------------------------------------------------------------------- what can't be read


def unreadable_row(size_px=90):
    """A row of signs of no alphabet, alike in height and stroke."""
    row = np.full((size_px, 7 * size_px), 255, np.uint8)
    rng = np.random.default_rng(4)
    for place in range(6):
        x = int((1.15 * place + 0.1) * size_px)
        sign = np.full((size_px, size_px), 255, np.uint8)
        thick = size_px // 7
        sign[:, :thick] = sign[:thick] = 0
        at = int(rng.integers(2, 5)) * thick
        sign[at : at + thick, : size_px - thick] = sign[at:, at : at + thick] = 0
        row[:, x : x + size_px] = np.rot90(sign, place)
    return row


def test_a_row_of_no_alphabet_does_not_pass(tmp_path):
    report = report_on(tmp_path, laid_beside(plain(), unreadable_row(), "foot"))
    assert exit_status(report) != 0, report.warnings


def test_what_is_not_read_is_told_with_its_place(tmp_path):
    block = block_of("Turn over", body_pt=4, family="old-standard")
    proof = laid_beside(plain(), block, "foot")
    report = report_on(tmp_path, proof)
    assert report.verdict is Verdict.NOT_WHOLLY_READ
    assert exit_status(report) == 2
    (place,) = report.unread
    assert place.words.endswith(" mm at the foot")
    assert place.box.y > max(line.box[1] for line in proof.lines)
    assert report_to_json(report)["unread"][0]["words"] == place.words
    assert exit_status(report_on(tmp_path, proof, options=UNFIT)) == 0


def test_tiny_type_is_hatched_on_every_marked_proof(tmp_path):
    block = block_of("Turn over", body_pt=4, family="old-standard")
    proof = laid_beside(plain(), block, "foot")
    Image.fromarray(pull(proof, seed=1)).save(tmp_path / "p.png", dpi=(300, 300))
    (tmp_path / "c.txt").write_text(proof.copy)
    out = io.StringIO()
    job = ReadJob((tmp_path / "p.png",), str(tmp_path / "c.txt"), QUICK)
    assert run_read(job, out, Progress(None)) == 2
    assert "Not read: " in out.getvalue()
    assert "at the foot" in out.getvalue()
    page = np.asarray(Image.open(tmp_path / "p-marked.png").convert("RGB")).astype(int)
    red = (page[..., 0] - page[..., 1]) > 80
    assert red.sum() > 400
    with pikepdf.open(tmp_path / "p-marked.pdf") as pdf:
        notes = [str(note.Contents) for note in pdf.pages[0].Annots]
    assert any(note.startswith("Not read: ") for note in notes)
    assert "Not read: " in (tmp_path / "p-marked.html").read_text(encoding="utf-8")


# ------------------------------------------------------------------- no matter


@pytest.mark.parametrize(
    ("border", "wear"),
    [
        ({}, "worn"),
        ({"double": True}, "good"),
        ({"round_px": 60}, "worn"),
        ({"weight_px": 14, "inset_px": 70}, "good"),
    ],
)
def test_a_border_holds_text_and_is_no_matter(tmp_path, border, wear):
    report = report_on(tmp_path, framed(plain(), **border), wear, seed=5)
    assert report.verdict is Verdict.CLEAN, (report.unread, report.faults)
    assert any("border" in note for note in report.warnings)


@pytest.mark.parametrize(
    ("kind", "seed"), [("halftone", 1), ("halftone", 2), ("line", 1), ("solid", 2)]
)
def test_a_cut_is_named_and_spoils_nothing(tmp_path, kind, seed):
    proof = laid_beside(plain(), cut_of(420, 300, kind=kind, seed=seed), "head")
    report = report_on(tmp_path, proof)
    assert exit_status(report) == 0, [reading.text for reading in report.readings]
    assert any("cut" in note for note in report.warnings)


def test_rules_and_leaders_are_no_matter(tmp_path):
    more = (Rule(120), Leader("Return", "9d."), Rule(), Rule(60, double=True))
    report = report_on(tmp_path, plain("schola", *more), "worn")
    assert exit_status(report) == 0, (report.unread, report.faults)
    assert any("rule" in note for note in report.warnings)


def test_a_plain_sheet_has_nothing_to_tell(tmp_path):
    report = report_on(tmp_path, plain("goudy"), "worn", seed=8)
    assert report.verdict is Verdict.CLEAN
    assert not report.unread
    assert not report.warnings


# ------------------------------------------------------------------- the parts


def test_letters_have_the_look_of_letters_and_drawings_have_not():
    letters = block_of("ABCDEFGHKMRSWXYZ&258", body_pt=60, family="old-standard")
    pieces, labels = find_pieces((letters < 128).astype(np.uint8))
    assert are_letterlike(pieces, labels, np.arange(len(pieces))).mean() > 0.9
    comb = np.full((300, 500), 255, np.uint8)
    comb[140:160] = 0
    comb[:, np.arange(500) % 30 < 12] = 0
    pieces, labels = find_pieces((comb < 128).astype(np.uint8))
    assert not are_letterlike(pieces, labels, np.array([0])).any()


def test_panels_and_what_was_lifted_turn_with_their_sheet():
    image = np.arange(60, dtype=np.uint8).reshape(6, 10)
    printed = image.copy()
    image = image.copy()
    box = Box(1, 2, 3, 2)
    image[2:4, 1:4] = 255
    panel = Panel(box, printed[2:4, 1:4])
    image[4:6, 6:9] = 255
    lifted = Lifted(Box(6, 4, 3, 2), printed[4:6, 6:9], "rule")
    sheet = replace(sheet_of(image), panels=(panel,), lifted=(lifted,))
    assert np.array_equal(sheet.as_printed(), printed)
    for turn in (0, 90, 180, 270):
        for mirrored in (False, True):
            other = turned(sheet, turn, mirrored=mirrored)
            flipped = printed[:, ::-1] if mirrored else printed
            assert np.array_equal(other.as_printed(), np.rot90(flipped, -turn // 90))


def test_small_matter_beside_large_is_not_given_to_it():
    large = block_of("COTLEY", body_pt=100)
    small = block_of("via Temple Orren", body_pt=9)
    image = np.full((1200, large.shape[1] + 200), 255, np.uint8)
    image[400 : 400 + large.shape[0], 100 : 100 + large.shape[1]] = large
    image[330 : 330 + small.shape[0], 200 : 200 + small.shape[1]] = small
    (line,) = lay_lines(sheet_of(image)).lines
    assert abs(line.box.y - 400) < 4


@pytest.mark.parametrize(
    ("source", "box", "size", "place"),
    [
        ("file", Box(100, 900, 472, 142), "40 × 12 mm", "at the foot"),
        ("guess", Box(100, 900, 500, 100), "50% × 10% of the sheet", "at the foot"),
    ],
)
def test_places_are_told_in_plain_words(source, box, size, place):
    sheet = sheet_of(np.full((1000, 1000), 255, np.uint8), source)
    assert size_words(sheet, box) == size
    assert place_words(sheet, box, ()) == place
