"""The docket's book of faces: learnt from proofs that have the customer's O.K.

The book lies beside the docket, not in its chain: what stands there is worked out of originals that
the docket keeps, may be forgotten by whoever likes, and can be learnt again.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from proofcheck.base.errors import ProofcheckError
from proofcheck.base.values import Box
from proofcheck.base.visible import visible
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.own_marks import stored_report
from proofcheck.metal.context import Matter
from proofcheck.metal.face import Taught
from proofcheck.metal.face_book import FaceBook, load_faces, save_faces
from proofcheck.metal.face_learning import Lesson, learn
from proofcheck.metal.findings import MetalSettings
from proofcheck.results.sheets_again import with_pictures

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from proofcheck.base.options import Options
    from proofcheck.docket.book import Docket
    from proofcheck.docket.facts import ProofPulled
    from proofcheck.docket.job import Job
    from proofcheck.results.report import Report

__all__ = ["faces_path", "forget", "learn_job", "passed_proof", "with_faces"]

AT_ONCE = 2
"""Proofs learnt before another is read: some seconds."""
LOOKED_BACK = 10
"""Passed proofs that a new book, or one left behind, goes back over; older ones by `learn`."""


def faces_path(docket: Docket) -> Path:
    """Where the docket's book of faces lies: beside it, by its name."""
    return docket.originals.folder.parent / f"{docket.heads.path.stem}.faces"


def with_faces(
    docket: Docket, options: Options, tell: Callable[[str], None] = lambda _: None
) -> Options:
    """The choices for reading a proof of the docket, with its book of faces brought up to date.

    No trouble with the book keeps a proof from being read: what it is stands in the report.
    """
    if options.faces is not None or not options.type_too or not docket.shop.book_of_faces:
        return options
    try:
        catch_up(docket, tell)
    except ProofcheckError as error:
        tell(visible(str(error)))
    return replace(options, faces=faces_path(docket))


def catch_up(docket: Docket, tell: Callable[[str], None] = lambda _: None) -> None:
    """Learn from the proofs that were passed since the book was last looked after, a few at once.

    Raises:
        FaceBookError: the book can't be used.
        OutputError: it can't be written.
    """
    path = faces_path(docket)
    book = load_faces(path)
    last = docket.last_number()
    # A docket put in another's place has fewer entries than the book has seen.
    seen = book.seen if book.seen <= last else 0
    signed = [entry for entry in docket.later(seen) if entry.kind == "signed"][-LOOKED_BACK:]
    done = 0
    for entry in signed:
        if done == AT_ONCE:
            last = seen
            break
        seen = entry.number
        job = docket.current(entry.job)
        proof = passed_proof(job) if job is not None else None
        if job is None or proof is None or book.knows(proof.report_sha256):
            continue
        tell("learning its faces from a proof that was passed")
        done += 1
        try:
            book = _lesson(docket, book, job, proof).book
        except ProofcheckError as error:
            # One that can't be read again (an older record, a scan gone) is passed over.
            tell(visible(str(error)))
    if done or signed:
        save_faces(path, replace(book, seen=last))


def learn_job(docket: Docket, number: str) -> Lesson:
    """Learn from the passed proof of one job.

    Raises:
        DocketError: there is no such job, or no proof of it has the customer's O.K.
        FaceBookError, RecordError, ScanError, OutputError: the book, the record or a scan can't be
            used.
    """
    job = docket.job(number)
    proof = passed_proof(job)
    if proof is None:
        msg = (
            f"no proof of job {visible(number)} has the customer's O.K.; faces are learnt from "
            "passed proofs alone (docket sign)"
        )
        raise DocketError(msg)
    path = faces_path(docket)
    lesson = _lesson(docket, load_faces(path), job, proof)
    if lesson.face is not None:
        save_faces(path, lesson.book)
    return lesson


def forget(docket: Docket, number: int, job: str = "") -> FaceBook:
    """Forget a face of the book, or what it has of one job.

    Raises:
        FaceBookError: there is no such face, or the book can't be used.
        DocketError: the face has nothing of that job.
    """
    path = faces_path(docket)
    book = load_faces(path)
    face = book.face(number)
    if job and job not in {taught.job for taught in face.proofs}:
        msg = f"{face.called} has nothing of job {visible(job)}; see proofcheck faces list"
        raise DocketError(msg)
    if job and (left := face.without(job)).proofs:
        book = book.with_face(left)
    else:
        book = replace(book, faces=tuple(one for one in book.faces if one.number != number))
    gone = tuple(each.record for each in face.proofs if job in ("", each.job))
    book = replace(book, forgotten=(*book.forgotten, *gone))
    save_faces(path, book)
    return book


def passed_proof(job: Job) -> ProofPulled | None:
    """The latest proof of a job on which the customer's last word is an O.K.; None for none."""
    words = {word.proof: word.words for word in job.signoffs}
    passed = [proof for proof in job.proofs if words.get(proof.number, "").startswith("ok")]
    return passed[-1] if passed else None


def _lesson(docket: Docket, book: FaceBook, job: Job, proof: ProofPulled) -> Lesson:
    report = stored_report(docket, proof)
    for sha256 in proof.hashes:
        trouble = docket.originals.trouble(sha256)
        if trouble:
            msg = f"the scan {sha256[:12]}… of the proof {trouble}; run verify"
            raise DocketError(msg)
    report = with_pictures(report, [docket.originals.path(sha256) for sha256 in proof.hashes])
    matter = Matter.of(
        report.sheets, report.lines, report.readings, report.collation, report.copy,
        MetalSettings(),
    )  # fmt: skip
    day = docket.clock().date().isoformat()
    taught = Taught(job.number, proof.number, proof.report_sha256, day, 0)
    return learn(book, matter, _touched(report, proof), taught, job.details.get("face", "").strip())


def _touched(report: Report, proof: ProofPulled) -> set[tuple[int, int]]:
    """(row, letter) of all that a fault, a query, a decision or a reader's mark is about.

    Boxes that meet are enough: what stands beside a fault is no example either.
    """
    whole = {found.line for found in proof.found if found.status == "revise"}
    places = [(fault.line, fault.box) for fault in report.faults]
    places += [(mark.line, mark.box) for mark in report.let_go]
    for found in proof.found:
        if found.place is not None:
            x, y, width, height = found.place["box"]
            places.append((found.line, Box(x, y, width, height)))
    # A mat that failed shows its scar on other lines too.
    scarred = {(line, fault.copy_text) for fault in report.faults for line in fault.other_lines}
    touched = set()
    for row, (line, reading) in enumerate(zip(report.lines, report.readings, strict=True)):
        boxes = [box for number, box in places if number == line.number]
        for at, letter in enumerate(reading.letters):
            meets = any(b.x <= letter.box.right and letter.box.x <= b.right for b in boxes)
            if meets or line.number in whole or (line.number, letter.text) in scarred:
                touched.add((row, at))
    return touched
