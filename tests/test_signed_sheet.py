"""The customer's sheet signed electronically and taken in: who, by which certificate, over what."""

from __future__ import annotations

import io
import shutil
from datetime import timedelta

import pikepdf
import pypdfium2
import pytest
from desk_cases import JOB, with_proof
from docket_cases import START, Clock, decide_all, pull, quick_folder
from pyhanko.pdf_utils.generic import pdf_name
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from signing import certificate, signed, ticked
from test_marked_back import marked_proof, signed_right
from typer.testing import CliRunner

from proofcheck.cli.program import app
from proofcheck.docket import clear_for_press, decide, open_docket, open_job, verify
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.originals import Original
from proofcheck.docket.pdf_signature import signature_of
from proofcheck.docket.show import job_text
from proofcheck.docket.taking_in import take_marked
from proofcheck.papers_job import customers_sheet


@pytest.fixture(scope="module")
def begun_once():
    """A docket with a proof and one query open, and the customer's sheet as it was drawn."""
    with quick_folder() as folder:
        docket = with_proof(folder, change=signed_right)
        decide(docket, JOB, "4", "query", by="B.A.", note="is a full point wanted here?")
        decide_all(docket, "stand")
        yield folder, customers_sheet(docket, docket.job(JOB))


@pytest.fixture
def docket(begun_once):
    with quick_folder() as folder:
        shutil.copytree(begun_once[0], folder, dirs_exist_ok=True)
        yield open_docket(folder / "docket.db", clock=Clock(START + timedelta(days=1)))


@pytest.fixture
def sheet(begun_once):
    return begun_once[1]


@pytest.fixture
def okd(sheet):
    return signed(ticked(sheet, ("word", "ok"), ("answer:1/F4", "stand")))


def take(docket, data, **how):
    return take_marked(docket, Original("sheet.pdf", data), **{"by": "B.A.", **how})


def know(docket, pem):
    folder = docket.originals.folder.with_name("docket-certificates")
    folder.mkdir()
    (folder / "secretary.pem").write_bytes(pem)


def test_the_sheet_has_fields_that_another_reader_of_pdf_finds(sheet) -> None:
    pdf = pypdfium2.PdfDocument(io.BytesIO(sheet))
    assert pdf.get_formtype() == 1  # a form of ISO 32000, as pdfium numbers them
    with pikepdf.open(io.BytesIO(sheet)) as held:
        names = [str(field.T) for field in held.Root.AcroForm.Fields]
    assert sorted(names) == ["answer:1/F4", "signature", "word"]


def test_a_signed_sheet_is_his_word_with_who_signed_and_by_which_certificate(docket, okd) -> None:
    result = take(docket, okd)
    assert result.left == 0
    assert "O.K., signed by The secretary, certificate not known to the shop" in (
        result.lines[-1].words
    )
    assert "covers the whole file" in result.lines[-1].words
    job = docket.job(JOB)
    word = job.signoffs[-1]
    assert (word.words, word.by, word.how) == ("ok", "The secretary", "signed sheet")
    assert (word.recorded_by, word.signature["known"]) == ("B.A.", False)
    assert job.at("1/F4").decision.answer == "no, leave it as it is"
    assert docket.originals.read(docket.entries(JOB)[-1].originals[0]["sha256"]) == okd
    assert "certificate is not known to the shop" in job_text(job, docket.shop)
    assert verify(docket).troubles == ()


def test_a_certificate_the_shop_has_put_beside_its_docket_is_known(docket, okd) -> None:
    know(docket, certificate()[0])
    assert "certificate known to the shop" in take(docket, okd).lines[-1].words
    assert docket.job(JOB).signoffs[-1].signature["known"] is True


def test_another_certificate_of_the_same_name_and_one_that_ran_out_are_not_known(
    docket, sheet
) -> None:
    know(docket, certificate()[0])
    other = certificate("The secretary", days=9)
    said = ("word", "revise-wanted")
    assert "not known" in take(docket, signed(ticked(sheet, said), other)).lines[-1].words
    old = certificate("The treasurer", days=-1)
    folder = docket.originals.folder.with_name("docket-certificates")
    (folder / "treasurer.pem").write_bytes(old[0])
    assert "not known" in take(docket, signed(ticked(sheet, said), old)).lines[-1].words


def test_what_was_taken_once_is_not_taken_again(docket, okd) -> None:
    take(docket, okd)
    count = docket.last_number()
    (line,) = take(docket, okd).lines
    assert (line.before, docket.last_number()) == (True, count)


def test_only_showing_records_nothing(docket, okd) -> None:
    before = docket.last_number()
    assert [line.recorded for line in take(docket, okd, only_show=True).lines] == [True, True]
    assert docket.last_number() == before


def refused(docket, data, words, **how):
    before = docket.last_number()
    with pytest.raises(DocketError, match=words):
        take(docket, data, **how)
    assert docket.last_number() == before


def test_a_file_written_to_after_it_was_signed_is_refused(docket, okd) -> None:
    """Another saved the file on top of it: the signature holds for what it was."""
    writer = IncrementalPdfFileWriter(io.BytesIO(okd))
    writer.root["/PageMode"] = pdf_name("/UseNone")
    writer.update_root()
    out = io.BytesIO()
    writer.write(out)
    refused(docket, out.getvalue(), "written to after it was signed")
    refused(docket, okd + b"\n% and a line more\n", "written to after|broken")


def test_a_file_that_is_not_what_was_signed_is_refused(docket, okd) -> None:
    assert b"for approval" in okd
    refused(docket, okd.replace(b"for approval", b"FOR approval"), "is not what was signed")
    with pikepdf.open(io.BytesIO(okd)) as pdf:
        out = io.BytesIO()
        pdf.save(out)
    refused(docket, out.getvalue(), "broken|written to after")


def test_a_word_ticked_after_the_signature_is_refused(docket, sheet) -> None:
    refused(docket, ticked(signed(sheet), ("word", "ok")), "broken|written to after")


@pytest.mark.parametrize("at", range(20))
def test_no_byte_of_a_signed_sheet_can_be_changed(docket, okd, at) -> None:
    where = (at * 7919 + 1009) % len(okd)
    if okd[where] == ord("0"):
        return  # Room left over for the signature itself is of nobody's saying.
    spoilt = okd[:where] + bytes([okd[where] ^ 1]) + okd[where + 1 :]
    with pytest.raises(DocketError):
        take(docket, spoilt)
    assert not docket.job(JOB).signoffs


def test_a_sheet_not_signed_or_with_no_word_ticked_is_refused(docket, sheet) -> None:
    refused(docket, ticked(sheet, ("word", "ok")), "not signed electronically")
    refused(docket, signed(sheet), "none of the three words is ticked")
    refused(docket, signed(ticked(sheet, ("word", "ok"))), "initials", by=" ")
    refused(docket, signed(ticked(sheet, ("word", "ok"), looks=False)), "shows other boxes")


def test_two_signatures_on_one_sheet_are_refused(docket, okd) -> None:
    refused(docket, signed(okd, certificate("Another"), field="second"), "2 signatures")


def test_a_sheet_of_another_docket_or_job_is_refused(docket, okd) -> None:
    with quick_folder() as folder:
        other = with_proof(folder)
        refused(other, okd, "of another docket")
        empty = open_docket(folder / "more.db", create=True)
        open_job(empty, "7", {}, by="P.C.")
        refused(empty, okd, "of another docket")


def test_a_word_on_a_proof_that_is_superseded_holds_for_that_proof_alone(docket, okd) -> None:
    decide(docket, JOB, "1", "correct", by="B.A.")
    pull(docket, b"later")
    take(docket, okd)
    assert docket.job(JOB).signoffs[-1].proof == 1
    assert not clear_for_press(docket, JOB).clear


def test_the_marked_proof_is_no_sheet_for_approval(docket) -> None:
    assert take(docket, marked_proof(docket)).lines == ()
    with pytest.raises(DocketError, match="bears none"):
        signature_of(marked_proof(docket), "marked.pdf", [])


def test_from_the_command_line(docket, okd, tmp_path) -> None:
    file = tmp_path / "signed.pdf"
    file.write_bytes(okd)
    place = str(docket.originals.folder.with_name("docket.db"))
    told = CliRunner().invoke(app, ["docket", "take", str(file), "--by", "B.A.", "--docket", place])
    assert told.exit_code == 0, told.output
    assert "signed by The secretary, certificate not known to the shop" in told.output
    assert "Traceback" not in told.output
