"""The docket's book of faces: what was passed is learnt before the next proof is read."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from docket_cases import JOB, add_copy, begun, decide_all, ok, pull, quick_folder
from metal_cases import PROSE, seen
from PIL import Image
from report_cases import COPY_LINES, programme
from typer.testing import CliRunner
from typesetter import Para, Style, compose, print_proof
from typesetter import pull as pulled

from proofcheck.base.errors import RecordError
from proofcheck.base.options import Options
from proofcheck.base.values import Box
from proofcheck.cli.program import app
from proofcheck.docket import People, Word, open_job, pull_proof, sign_off
from proofcheck.docket import face_lessons as lessons
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.own_marks import OwnMark, mark_own
from proofcheck.docket.pulled import proof_pulled
from proofcheck.docket.shop import Shop
from proofcheck.metal.face_book import FaceBook, FaceBookError, load_faces


@pytest.fixture
def docket():
    with quick_folder() as folder:
        yield begun(folder)


@cache
def _set_proof():
    forme = compose([Para(text) for text in PROSE], measure_picas=24, style=Style())
    sheets, lines, readings, collation, copy = seen(forme, seed=3)
    return replace(
        programme(faults=(), recast=()), sheets=tuple(sheets), lines=tuple(lines),
        readings=tuple(readings), collation=collation, copy=copy, let_go=(),
    )  # fmt: skip


@pytest.fixture
def read_again(monkeypatch):
    """Whatever proof is learnt from, its record is that of a proof set in Schola."""
    report = _set_proof()
    monkeypatch.setattr(lessons, "stored_report", lambda *_: report)
    monkeypatch.setattr(lessons, "with_pictures", lambda told, _: told)
    return report


def _another(docket, job, scan):
    open_job(docket, job, {"face": "Schola"}, by="P.C.", another=True)
    add_copy(docket, COPY_LINES, job=job)
    pull(docket, scan, job=job, faults=False)


def test_only_a_proof_with_the_customers_last_word_ok_is_passed(docket):
    pull(docket)
    assert passed(docket) is None
    decide_all(docket)
    ok(docket, "ok-with-corrections")
    assert passed(docket) == 1
    ok(docket, "revise-wanted")
    assert passed(docket) is None


def passed(docket):
    proof = lessons.passed_proof(docket.job(JOB))
    return proof and proof.number


def test_what_was_passed_is_learnt_before_the_next_proof_is_read_and_once(docket, read_again):
    pull(docket, faults=False)
    read_with = lessons.with_faces(docket, Options())
    assert read_with.faces == lessons.faces_path(docket)
    assert load_faces(read_with.faces) == FaceBook()
    ok(docket)
    lessons.with_faces(docket, Options())
    (face,) = load_faces(read_with.faces).faces
    assert [(taught.job, taught.proof) for taught in face.proofs] == [(JOB, 1)]
    written = read_with.faces.stat().st_mtime_ns
    lessons.with_faces(docket, Options())
    assert read_with.faces.stat().st_mtime_ns == written


def test_a_few_are_learnt_at_a_time_and_none_is_forgotten(docket, read_again, monkeypatch):
    monkeypatch.setattr(lessons, "AT_ONCE", 1)
    for number in range(3):
        _another(docket, f"20{number}", b"scan %d" % number)
        ok(docket, job=f"20{number}")
    for count in (1, 2, 3, 3):
        lessons.catch_up(docket)
        (face,) = load_faces(lessons.faces_path(docket)).faces
        assert len(face.proofs) == count
    assert face.name == "Schola"


def test_one_that_cannot_be_read_again_is_passed_over_and_said(docket, monkeypatch):
    def gone(*_):
        msg = "the record is of an older version"
        raise RecordError(msg)

    monkeypatch.setattr(lessons, "stored_report", gone)
    pull(docket, faults=False)
    ok(docket)
    said = []
    lessons.with_faces(docket, Options(), said.append)
    assert said[-1] == "the record is of an older version"
    lessons.with_faces(docket, Options(), said.append)
    assert len(said) == 2


def test_no_trouble_with_the_book_keeps_a_proof_from_being_read(docket):
    path = lessons.faces_path(docket)
    path.write_bytes(b"no book of faces")
    said = []
    assert lessons.with_faces(docket, Options(), said.append).faces == path
    assert "is damaged, or no book of faces" in said[0]
    with pytest.raises(FaceBookError):
        lessons.learn_job(passed_job(docket), JOB)


def passed_job(docket):
    pull(docket, faults=False)
    ok(docket)
    return docket


def test_a_shop_can_do_without_and_name_another_book(docket, tmp_path):
    without = replace(docket, shop=Shop(book_of_faces=False))
    assert lessons.with_faces(without, Options()).faces is None
    assert lessons.with_faces(docket, Options(type_too=False)).faces is None
    own = Options(faces=tmp_path / "another.faces")
    assert lessons.with_faces(docket, own) == own


def test_the_book_is_the_dockets_own_and_outlives_another_put_in_its_place(docket, read_again):
    path = lessons.faces_path(docket)
    assert (path.parent, path.name) == (docket.originals.folder.parent, "docket.faces")
    lessons.catch_up(passed_job(docket))
    lessons.save_faces(path, replace(load_faces(path), seen=10_000))
    lessons.catch_up(docket)  # As if it had belonged to a longer record.
    assert load_faces(path).seen == docket.last_number()


def test_what_a_reader_marked_is_not_learnt(docket, read_again, monkeypatch):
    pull(docket, faults=False)
    box = read_again.readings[2].letters[0].box
    found = replace(
        docket.job(JOB).proofs[0],
        found=(_marked(read_again.lines[2].number, box),),
    )
    touched = lessons._touched(read_again, found)
    assert (2, 0) in touched
    assert len(touched) <= 3


def _marked(line, box):
    class Marked:
        status = "reader"
        place = {"box": list(Box(*box))}  # noqa: RUF012

    Marked.line = line
    return Marked


def test_faces_are_listed_shown_and_forgotten_on_the_command_line(docket, read_again, tmp_path):
    def run(*words):
        place = ["--docket", str(docket.store.place), "--originals", str(docket.originals.folder)]
        return CliRunner().invoke(app, ["faces", *words, *place], catch_exceptions=False)

    assert "no face yet" in run("list").output
    pull(docket, faults=False)
    with pytest.raises(DocketError, match=r"faces are learnt from passed proofs alone"):
        run("learn", JOB)
    ok(docket)
    assert "face 1 begun with" in run("learn", JOB).stderr
    assert f"1 proof: {JOB}/1" in run("list").output
    assert run("show", "1", str(tmp_path / "face.pdf")).exit_code == 0
    assert (tmp_path / "face.pdf").read_bytes().startswith(b"%PDF")
    with pytest.raises(DocketError, match="has nothing of job 77"):
        run("forget", "1", "--job", "77")
    assert run("forget", "1").stderr == "face 1 forgotten\n"
    with pytest.raises(FaceBookError, match="no face 1 in the book of faces; there are: none yet"):
        run("show", "1", str(tmp_path / "gone.pdf"))
    # Its number is not given again, nor is what was forgotten learnt again by itself.
    lessons.catch_up(docket)
    assert not load_faces(lessons.faces_path(docket)).faces
    assert "face 2 begun" in run("learn", JOB).stderr


@pytest.mark.slow
def test_a_proof_really_read_and_passed_is_learnt(docket):
    forme = compose([Para(text) for text in PROSE], measure_picas=24, style=Style())
    proof, folder = print_proof(forme, dpi=300, seed=3), docket.originals.folder.parent
    open_job(docket, "300", {}, by="P.C.", another=True)
    add_copy(docket, proof.copy.splitlines(), job="300")
    scan = folder / "proof.png"
    Image.fromarray(np.asarray(pulled(proof, "good", seed=3))).save(scan, dpi=(300, 300))
    taken = proof_pulled(docket, "300", [scan], People(), Options(second_look=False))
    pull_proof(docket, "300", taken, by="B.A.")
    mark_own(docket, "300", OwnMark(2, 0, 1, kind="broken-letter"), by="B.A.")
    sign_off(docket, "300", Word("ok", "the customer", "in person"))
    lesson = lessons.learn_job(docket, "300")
    assert lesson.face.letters.body_pt == pytest.approx(10, rel=0.15)
    assert lesson.face.proofs[0].letters > 500
