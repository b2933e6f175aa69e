"""The shop's sign-off sheet: type that can be searched, the proof's picture, all that is open."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pikepdf
import pypdfium2
import pytest
from desk_cases import JOB, many_faults, with_proof
from docket_cases import begun, decide_all, pull, quick_folder, report_on
from test_marked_back import signed_right

from proofcheck.docket import ProofTaken, decide, open_docket, pull_proof, verify
from proofcheck.docket.decided import decided_report
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.originals import Original
from proofcheck.docket.recording import amend_job
from proofcheck.docket.signed_sheet import sheet_said
from proofcheck.docket.signoff_sheet import sign_off_pdf
from proofcheck.papers_job import pictured_report, sign_off_sheet
from proofcheck.results.hand_font import HandLetters, by_hand_width, stretches
from proofcheck.results.plain_page import PlainPage, plain_pdf
from proofcheck.results.plain_widths import text_width

NAMES = (
    "Dvořák, Łódź, Şişli, Đặng",
    "Ιωάννης Παπαδόπουλος",
    "Пётр Щедрин, Київ, Ђорђе",
    "Zoë Müller-Ångström",
)
"""Latin beyond the viewers' fonts, Greek, Cyrillic, and what those fonts have."""


@pytest.fixture
def folder():
    with quick_folder() as held:
        yield held


def opened(data):
    return pypdfium2.PdfDocument(io.BytesIO(data))


def text(page):
    return " ".join(page.get_textpage().get_text_range().split())


def words(data):
    return " ".join(text(page) for page in opened(data))


def pictures(page):
    return [held.get_bounds() for held in page.get_objects() if held.type == 3]


def reported(docket):
    return pictured_report(docket, decided_report(docket, docket.job(JOB).proof))


def on_sheets(report, *shapes):
    """The report with sheets of those shapes (px), blank but for a bar at the foot."""
    sheets = []
    for number, shape in enumerate(shapes):
        image = np.full(shape, 250, np.uint8)
        image[-40:-20, 20:-20] = 0
        sheets.append(replace(report.sheets[0], number=number, image=image, panels=(), lifted=()))
    return replace(report, sheets=tuple(sheets))


def test_the_sheet_is_a_page_of_a4_in_type_in_reading_order(folder) -> None:
    docket = begun(folder)
    with pytest.raises(DocketError, match="no proof"):
        sign_off_sheet(docket, docket.job(JOB))
    pull(docket)
    decide_all(docket)
    (folder / "docket.toml").write_text("name = 'The Press'\n")
    docket = open_docket(folder / "docket.db")
    pdf = opened(sign_off_sheet(docket, docket.job(JOB)))
    # ISO 216: A4 is 210 mm by 297 mm.
    assert [len(pdf), *(round(side * 25.4 / 72) for side in pdf[0].get_size())] == [1, 210, 297]
    told = text(pdf[0])
    places = [told.index(said) for said in (
        "The Press", "Proof for approval: job 1042, first proof", "Customer Village band",
        "Quantity 250", "Copy, version 1", "Marked to be corrected", "1/1, line 2 change n to u",
        "O.K. print as it stands", "Revised proof wanted", "Signature", "On behalf of",
        "usual custom of the trade", "The record stands at:", "page 1 of 1",
    )]  # fmt: skip
    assert places == sorted(places)
    assert docket.job(JOB).proof.hashes[0] in told.replace(" ", "")


def test_the_proof_is_shown_with_a_frame_and_number_at_each_place(folder) -> None:
    docket = with_proof(folder, change=signed_right)
    decide(docket, JOB, "4", "query", by="B.A.", note="is a full point wanted here?")
    decide(docket, JOB, "1", "correct", by="B.A.")
    data = sign_off_sheet(docket, docket.job(JOB))
    pdf = opened(data)
    shown = [page for page in pdf if pictures(page)]
    assert len(shown) == 1
    left, _, right, _ = pictures(shown[0])[0]
    assert right - left > 0.6 * shown[0].get_width()
    assert {"1/1", "1/2", "1/3", "1/4"} <= set(text(shown[0]).split())
    picture = shown[0].render(scale=2).to_numpy().astype(int)
    red = (picture[..., 2] > 120) & (picture[..., 0] < 90) & (picture[..., 1] < 90)
    rows = red.any(axis=1).nonzero()[0]
    # Four lines have one each, and white between them.
    assert (rows[1:] - rows[:-1] > 8).sum() >= 3
    told = words(data)
    assert "Queries to you 1/4, line 5 is a full point wanted here?" in told


def test_what_has_room_for_a_small_picture_alone_is_shown_large_on_a_page_of_its_own(folder):
    docket = with_proof(folder, change=signed_right)
    job, checked = docket.job(JOB), verify(docket)
    for shapes in (((3508, 2480),), ((3508, 2480), (3508, 2480), (700, 2480))):
        data = sign_off_pdf(job, docket.shop, checked, on_sheets(reported(docket), *shapes))
        pdf = opened(data)
        tall = [page for page in pdf for _, low, _, high in pictures(page)
                if high - low > 0.75 * page.get_height()]  # fmt: skip
        assert len(tall) == sum(shape[0] > 3000 for shape in shapes)
        assert sum(len(pictures(page)) for page in pdf) == len(shapes)
        for at in range(len(shapes)):
            assert f"Sheet {at + 1} of the proof" in words(data)
        for page in pdf:
            for left, low, right, high in pictures(page):
                assert left >= 50
                assert low > 60
                assert right < page.get_width() - 60
                assert high < page.get_height() - 40


@pytest.mark.parametrize("count", [40, 59])
def test_a_long_list_goes_over_to_numbered_pages_and_says_how_many_more(folder, count) -> None:
    docket = many_faults(folder, count, change=signed_right)
    for fault in ("F1", "F2", "F3"):
        decide(docket, JOB, fault, "query", by="B.A.", note="which of the two is meant? " * 12)
    data = sign_off_sheet(docket, docket.job(JOB))
    pdf = opened(data)
    assert len(pdf) > 1
    for number, page in enumerate(pdf, 1):
        told = text(page)
        assert f"Job {JOB}, first proof: page {number} of {len(pdf)}" in told
        # Every letter stands on the page.
        held = page.get_textpage()
        boxes = [held.get_charbox(at) for at in range(held.count_chars())]
        assert min(box[0] for box in boxes) >= 50
        assert max(box[2] for box in boxes) < page.get_width() - 8
    assert f"and {count - 24} more, framed in the picture" in words(data)
    # Words, signature and the whole link stand on one page.
    (signed,) = [page for page in map(text, pdf) if "Signature Name" in page]
    assert all(line in signed for line in verify(docket).anchor.splitlines())
    shown = words(data)
    assert all(f"1/{number}" in shown for number in range(1, count + 1))


def test_names_come_out_of_the_file_as_they_were_put_in(folder) -> None:
    docket = with_proof(folder, change=signed_right)
    society = "Society for the Encouragement of Long Names and of those who bear them "
    amend_job(docket, JOB, {"customer": "; ".join(NAMES), "remarks": society * 6}, by="P.C.")
    data = sign_off_sheet(docket, docket.job(JOB))
    told = words(data)
    assert f"Customer {'; '.join(NAMES)}" in told
    assert (society * 6).strip() in told
    page = opened(data)[0]
    held = page.get_textpage()
    assert max(held.get_charbox(at)[2] for at in range(held.count_chars())) < 595 - 50


def test_what_no_font_here_has_is_told_by_its_number_and_never_by_a_box(folder) -> None:
    docket = with_proof(folder, change=signed_right)
    amend_job(docket, JOB, {"customer": "中文 Press \u202e"}, by="P.C.")
    told = words(sign_off_sheet(docket, docket.job(JOB)))
    assert "Customer U+4E2DU+6587 Press <U+202E>" in told


def test_the_hand_is_a_font_with_a_map_to_unicode(folder) -> None:
    """Held against pikepdf here and pdfium above (ISO 32000-1, 9.6.5 and 9.10.3, from memory)."""
    page = PlainPage()
    page.put("B", 12, 54, 100, "Пётр")
    page.put("P", 12, 54, 120, "Пётр and plain")
    with pikepdf.open(io.BytesIO(plain_pdf([page], "x"))) as pdf:
        fonts = pdf.pages[0].Resources.Font
        hand = fonts["/Hand0"]
        assert str(hand.Subtype) == "/Type3"
        assert len(hand.Widths) == hand.LastChar - hand.FirstChar + 1 == 8
        cmap = hand.ToUnicode.read_bytes().decode("ascii")
        assert cmap.count("<043f>") + cmap.count("<041f>") == 2
        assert len(hand.CharProcs) == 8


def test_a_page_of_more_letters_than_one_font_holds_takes_another(folder) -> None:
    letters = "".join(
        chr(c) for c in (*range(0x100, 0x17F), *range(0x391, 0x3CA), *range(0x410, 0x450),
                         *range(0x1EA0, 0x1EF9))
        if stretches(chr(c)) == [(chr(c), True)]
    )  # fmt: skip
    page = PlainPage()
    for at in range(0, len(letters), 40):
        page.put("P", 9, 54, 100 + at, letters[at : at + 40])
        page.put("B", 9, 54, 120 + at, letters[at : at + 40])
    assert len(page.hand.codes) > 256
    told = text(opened(plain_pdf([page], "x"))[0])
    for at in range(0, len(letters), 40):
        assert told.count(letters[at : at + 40]) == 2


def test_a_line_with_such_letters_is_as_wide_as_reckoned(folder) -> None:
    line = "Пётр Щедрин and Dvořák"
    page = PlainPage()
    page.put("P", 20, 50, 100, line)
    shown = opened(plain_pdf([page], "x"))[0].render(scale=1).to_numpy()[..., 0] < 128
    ink = shown.any(axis=0).nonzero()[0]
    assert abs((ink.max() - 50) - text_width(line, 20)) < 5
    assert by_hand_width("ЩЩ") > by_hand_width("ii")
    assert HandLetters().codes == {}


def test_the_sheet_can_come_back_signed_as_the_customers_can(folder) -> None:
    docket = with_proof(folder, change=signed_right)
    said = sheet_said(sign_off_sheet(docket, docket.job(JOB)), "sheet.pdf")
    assert said is not None
    assert (said.paper.job, said.paper.proof, said.word, said.signed) == (JOB, 1, "", False)


def test_a_proof_of_another_hand_says_that_it_has_no_picture(folder) -> None:
    docket = begun(folder)
    report = report_on(docket)
    taken = ProofTaken(report, (Original("proof.png", b"first"),), here=True)
    pull_proof(docket, JOB, taken, by="B.A.")
    data = sign_off_sheet(docket, docket.job(JOB))
    assert not any(pictures(page) for page in opened(data))
    assert "No picture the proof can't be shown here: " in words(data)
