"""The customer's sheet and page: what is asked, what alterations cost, who recorded the O.K."""

from __future__ import annotations

import io

import pypdfium2
import pytest
from desk_cases import JOB, served, with_proof
from docket_cases import add_copy, ok, pull, quick_folder
from report_cases import COPY_LINES
from test_desk import asked, right
from test_marked_back import signed_right

from proofcheck.docket import Word, decide, open_docket, sign_off, verify
from proofcheck.docket.customer_sheet import bill_words
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.record_words import entry_words
from proofcheck.docket.show import job_text
from proofcheck.papers_job import customers_sheet


@pytest.fixture(scope="module")
def once():
    with quick_folder() as folder:
        docket = with_proof(folder, change=signed_right)
        (folder / "docket.toml").write_text(
            "name = 'The Press'\nhour_costs = '36.00'\nmoney = '£'\nminutes_a_slug = 4\n"
        )
        docket = open_docket(folder / "docket.db")
        decide(docket, JOB, "4", "query", by="B.A.", note="is a full point wanted here?")
        decide(docket, JOB, "1", "query", by="B.A.")
        yield docket


@pytest.fixture(scope="module")
def sheet(once):
    return pypdfium2.PdfDocument(io.BytesIO(customers_sheet(once, once.job(JOB))))


def words(pdf):
    return " ".join(" ".join(page.get_textpage().get_text_range() for page in pdf).split())


def test_the_sheet_says_in_real_type_what_is_asked_and_signed(once, sheet) -> None:
    told = words(sheet)
    # ISO 216: A4 is 210 mm by 297 mm.
    assert [round(side * 25.4 / 72) for side in sheet[0].get_size()] == [210, 297]
    for said in ("The Press", "For your approval: job 1042, first proof", "for Village band",
                 "1. change n to u (line 2)", "2. is a full point wanted here? (line 5)",
                 "yes, change it", "Revised proof wanted", "Signature",
                 "usual custom of the trade"):  # fmt: skip
        assert said in told, said
    assert once.job(JOB).proof.hashes[0] in told.replace(" ", "")
    assert verify(once).book in told.replace(" ", "")


def test_the_picture_has_a_frame_at_each_place_that_is_asked_about(once, sheet) -> None:
    page = sheet[0]
    kinds = [held.type for held in page.get_objects()]
    assert kinds.count(3) == 1  # an image, as pdfium numbers its objects
    shown = page.render(scale=2).to_numpy().astype(int)
    red = (shown[..., 2] > 120) & (shown[..., 0] < 90) & (shown[..., 1] < 90)
    rows = red.any(axis=1).nonzero()[0]
    assert len(rows)
    # Two frames, one above the other, on the picture in the upper half of the page.
    gaps = (rows[1:] - rows[:-1] > 8).sum()
    assert gaps >= 1
    assert rows.max() < 0.6 * shown.shape[0]


def test_the_picture_is_as_large_as_leaves_all_on_one_page() -> None:
    """It is what is approved: where nothing is asked it has the room."""
    with quick_folder() as folder:
        docket = with_proof(folder, change=signed_right)
        pdf = pypdfium2.PdfDocument(io.BytesIO(customers_sheet(docket, docket.job(JOB))))
        left, _, right, _ = next(o for o in pdf[0].get_objects() if o.type == 3).get_bounds()
        assert right - left > 0.75 * pdf[0].get_width()
        assert len(pdf) == 1
        assert "The record stands at:" in words(pdf)


def test_alterations_stand_with_their_slugs_and_cost() -> None:
    with quick_folder() as folder:
        docket = with_proof(folder, change=signed_right)
        shop = folder / "docket.toml"
        shop.write_text("hour_costs = '36.00'\nmoney = '£'\nminutes_a_slug = 5\n")
        docket = open_docket(folder / "docket.db")
        add_copy(docket, [*COPY_LINES[:2], "Saturday the fifth, at half past six.",
                          *COPY_LINES[3:]])  # fmt: skip
        job = docket.job(JOB)
        # One slug at 5 minutes, 36 an hour: 3.00.
        assert bill_words(job, docket.shop) == "1 alteration, 1 new slug, 5 minutes, £3.00"
        pdf = pypdfium2.PdfDocument(io.BytesIO(customers_sheet(docket, job)))
        told = words(pdf)
        assert "“fourth,” now “fifth,”: 1 slug" in told
        assert "Together 1 alteration, 1 new slug, 5 minutes, £3.00." in told
        assert "The copy was changed after this proof was read" in told


def test_no_sheet_without_a_proof_or_of_a_broken_record() -> None:
    from docket_cases import begun, script

    with quick_folder() as folder:
        docket = begun(folder)
        with pytest.raises(DocketError, match="no proof"):
            customers_sheet(docket, docket.job(JOB))
        pull(docket)
        job = docket.job(JOB)
        script(folder / "docket.db", "UPDATE docket_entries SET book = 'x' WHERE number = 1")
        with pytest.raises(DocketError, match="broken record"):
            customers_sheet(docket, job)


def test_who_recorded_the_o_k_stands_beside_who_gave_it() -> None:
    with quick_folder() as folder:
        docket = with_proof(folder)
        for fault in ("1", "2", "3", "4"):
            decide(docket, JOB, fault, "stand", by="B.A.")
        ok(docket)
        sign_off(docket, JOB, Word("ok", "the secretary", "in person"), recorded_by="B.A.")
        first, second = docket.job(JOB).signoffs
        assert (first.recorded_by, second.by, second.recorded_by) == ("", "the secretary", "B.A.")
        assert entry_words(second.entry).endswith("recorded by B.A.")
        assert "recorded by B.A." in job_text(docket.job(JOB), docket.shop)
        with pytest.raises(DocketError, match="initials"):
            sign_off(docket, JOB, Word("ok", "him", "in person"), recorded_by="\u202e")


def form(**fields):
    parts = "".join(
        f'--x\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{text}\r\n'
        for name, text in fields.items()
    )
    return (parts + "--x--\r\n").encode()


def test_the_customer_answers_and_signs_at_the_desk() -> None:
    with quick_folder() as folder:
        docket = with_proof(folder)
        decide(docket, JOB, "4", "query", by="B.A.", note="is a point wanted?")
        with served(docket) as address:
            host = address.removeprefix("http://")
            status, _, body = asked(host, "GET", f"/customer?job={JOB}&proof=1")
            assert status == 200
            assert "is a point wanted?" in body
            head = {**right(host), "Content-Type": "multipart/form-data; boundary=x"}
            told = form(job=JOB, fault="1/F4", what="correct", words="", named="the secretary",
                        by="B.A.")  # fmt: skip
            assert asked(host, "POST", "/reply", told, head)[0] == 303
            held = docket.job(JOB).at("1/F4").decision
            assert (held.what, held.answer, held.answered_by, held.by) == (
                "correct", "yes, change it", "the secretary", "B.A.",
            )  # fmt: skip
            assert asked(host, "POST", "/reply", told, head)[0] == 400, "no query is open now"
            signing = {"job": JOB, "words": "revise-wanted", "customer": "the secretary",
                       "how": "in person", "note": ""}  # fmt: skip
            assert asked(host, "POST", "/sign", form(**signing, by=""), head)[0] == 400
            assert docket.job(JOB).signoffs == ()
            assert asked(host, "POST", "/sign", form(**signing, by="B.A."), head)[0] == 303
            assert docket.job(JOB).signoffs[0].recorded_by == "B.A."
