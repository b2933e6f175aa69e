"""Recording on the docket: opening a job, its copy and proofs, decisions, the customer's word."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from proofcheck.base.visible import visible
from proofcheck.cli.arguments import (
    PLACE,
    By,
    Folder,
    Number,
    Overwrite,
    Place,
    Scans,
    opened,
    out,
    said,
    said_head,
)

if TYPE_CHECKING:
    from proofcheck.docket.book import Docket
    from proofcheck.papers_job import PapersJob

__all__ = ["COMMANDS"]

_Record = Annotated[
    Path | None,
    typer.Option(
        metavar="FILE", help="The record (JSON) of reading it elsewhere; to be answered for."
    ),
]


def open_(  # noqa: PLR0913, PLR0917 - one parameter an option
    job: Number,
    by: By,
    customer: Annotated[str, typer.Option(metavar="TEXT")] = "",
    wanted: Annotated[str, typer.Option(metavar="TEXT", help="When it is wanted.")] = "",
    quantity: Annotated[str, typer.Option(metavar="TEXT")] = "",
    stock: Annotated[str, typer.Option(metavar="TEXT")] = "",
    ink: Annotated[str, typer.Option(metavar="TEXT")] = "",
    size: Annotated[str, typer.Option(metavar="TEXT")] = "",
    measure: Annotated[str, typer.Option(metavar="TEXT")] = "",
    face: Annotated[str, typer.Option(metavar="TEXT")] = "",
    machine: Annotated[str, typer.Option(metavar="TEXT")] = "",
    remarks: Annotated[str, typer.Option(metavar="TEXT")] = "",
    amend: Annotated[bool, typer.Option("--amend", help="Change what an open job says.")] = False,
    another: Annotated[
        bool, typer.Option("--another", help="Another job, though its number looks like one's.")
    ] = False,
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Open a job (or amend one) on the docket."""
    from proofcheck.docket import amend_job, open_job

    given = {
        "customer": customer, "wanted": wanted, "quantity": quantity, "stock": stock, "ink": ink,
        "size": size, "measure": measure, "face": face, "machine": machine,
        "remarks": remarks,
    }  # fmt: skip
    details = {key: text for key, text in given.items() if text}
    held = opened(docket, originals, create=not amend)
    if amend:
        entry = amend_job(held, job, details, by=by)
    else:
        entry = open_job(held, job, details, by=by, another=another)
    said(f"job {visible(job)} {'amended' if amend else 'opened'}", entry)


def copy_(
    job: Number,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The approved copy.")],
    by: By,
    encoding: Annotated[str | None, typer.Option(metavar="NAME")] = None,
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Take in a version of the copy; alterations against the one before are noted (AA)."""
    from proofcheck.copytext import load_copy
    from proofcheck.docket import take_copy
    from proofcheck.docket.originals import Original
    from proofcheck.docket.recorded import copy_text

    held = opened(docket, originals)
    copy = load_copy(file, encoding=encoding)
    entry = take_copy(held, job, copy, Original.of(file), by=by)
    said(copy_text(held.job(job)), entry)
    for note in copy.notes:
        said(f"note: {visible(note)}")


def pull(  # noqa: PLR0913, PLR0917 - one parameter an option
    job: Number,
    scans: Scans,
    by: By,
    reader: Annotated[str, typer.Option(metavar="INITIALS")] = "",
    copyholder: Annotated[str, typer.Option(metavar="INITIALS")] = "",
    operator: Annotated[str, typer.Option(metavar="INITIALS")] = "",
    corrector: Annotated[str, typer.Option(metavar="INITIALS")] = "",
    report: _Record = None,
    read_by: Annotated[
        str, typer.Option(metavar="NAME", help="The report is made by hand: who read the proof.")
    ] = "",
    papers: Annotated[
        Path | None,
        typer.Option("--out", metavar="FOLDER", help="Where its papers go; else beside the scan."),
    ] = None,
    no_papers: Annotated[bool, typer.Option("--no-papers", help="Leave no papers.")] = False,
    overwrite: Overwrite = False,
    settings: Annotated[Path | None, typer.Option(metavar="FILE", help="Shop settings.")] = None,
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Read a proof against the job's copy and record it with all that was found.

    It leaves the papers that read leaves, named by job and proof, beside the first scan.
    Taken in is only the record of a reading, whole to the last byte (read --json); a report made
    by hand only under the name of the person who read the proof.
    """
    from proofcheck.base.found_settings import settings_for
    from proofcheck.docket import People, pull_proof
    from proofcheck.docket.pulled import proof_pulled
    from proofcheck.docket.recorded import proof_text
    from proofcheck.papers_job import PapersJob, papers_free

    held = opened(docket, originals)
    asked = PapersJob(job, folder=papers or scans[0].parent, overwrite=overwrite)
    if not no_papers:
        papers_free(held, asked)
    people = People(reader, copyholder, operator, corrector)
    options = settings_for(settings, tell=said)
    taken = proof_pulled(held, job, scans, people, options, report=report, read_by=read_by)
    entry = pull_proof(held, job, taken, by=by)
    said(proof_text(held.job(job)), entry)
    if not no_papers and not _leave_papers(held, asked) and papers is not None:
        raise typer.Exit(2)


def _leave_papers(docket: Docket, asked: PapersJob) -> bool:
    """The papers of the latest proof, and its list printed; False where it can't be drawn."""
    from proofcheck.papers_job import leave_papers
    from proofcheck.read_job import Progress

    lacking = leave_papers(docket, asked, sys.stdout, Progress(None))
    if lacking:
        out(f"no papers of it can be drawn: {visible(lacking)}\n")
    return not lacking


def decide(  # noqa: PLR0913, PLR0917 - one parameter an option
    job: Number,
    fault: Annotated[
        str,
        typer.Argument(metavar="FAULT", help="3, or 1/3 of the first proof; 3,5 or 1-5."),
    ],
    what: Annotated[
        str, typer.Argument(metavar="WHAT", help="correct, stand, query, sound, undecided.")
    ],
    by: By,
    note: Annotated[str, typer.Option(metavar="TEXT", help="Why, or what is asked.")] = "",
    charge: Annotated[str, typer.Option(metavar="PE|AA", help="At whose cost.")] = "",
    settle: Annotated[
        bool, typer.Option("--settle", help="It settles what was decided in two ways.")
    ] = False,
    answer: Annotated[str, typer.Option(metavar="TEXT", help="The customer's answer.")] = "",
    answered_by: Annotated[str, typer.Option(metavar="NAME", help="Who answered.")] = "",
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Decide a fault: correct, let stand, query, or none at all; or record a query's answer."""
    from proofcheck.docket import answer_query
    from proofcheck.docket.decisions import decide_several
    from proofcheck.docket.recorded import left_text

    held = opened(docket, originals)
    if answer:
        entry = answer_query(held, job, fault, what, answer, answered_by=answered_by, by=by)
    else:
        *_, entry = decide_several(
            held, job, fault, what, by=by, note=note, charge=charge, settles=settle
        )
    said(left_text(held.job(job)), entry)


def sign(  # noqa: PLR0913, PLR0917 - one parameter an option
    job: Number,
    words: Annotated[
        str, typer.Argument(metavar="WORDS", help="ok, ok-with-corrections or revise-wanted.")
    ],
    by: Annotated[str, typer.Option("--by", metavar="NAME", help="Who gave the word.")],
    how: Annotated[
        str, typer.Option(metavar="HOW", help="in person, signed sheet or letter.")
    ] = "in person",
    sheet: Annotated[
        Path | None, typer.Option(metavar="FILE", help="The signed sheet or letter, scanned.")
    ] = None,
    proof: Annotated[int | None, typer.Option(metavar="N", help="On which proof.")] = None,
    fault: Annotated[
        list[str] | None, typer.Option(metavar="FAULT", help="To be corrected (again for more).")
    ] = None,
    note: Annotated[str, typer.Option(metavar="TEXT")] = "",
    recorded_by: Annotated[
        str, typer.Option(metavar="INITIALS", help="Who puts it on record.", envvar="PROOFCHECK_BY")
    ] = "",
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Record the customer's word on a proof; it holds for that proof and copy alone."""
    from proofcheck.docket import Word, sign_off
    from proofcheck.docket.originals import Original
    from proofcheck.docket.recorded import signed_text

    held = opened(docket, originals)
    word = Word(words, by, how, note, Original.of(sheet) if sheet else None)
    entry = sign_off(held, job, word, proof=proof, corrections=fault or (), recorded_by=recorded_by)
    said(signed_text(held.job(job)), entry)
    said_head(entry)


def vouch(
    job: Number,
    what: Annotated[
        list[str] | None,
        typer.Argument(metavar="WHAT...", help="As clear names it: not-proved:40-80, unread:1."),
    ] = None,
    by: Annotated[str, typer.Option("--by", metavar="NAME", help="Who answers for it.")] = "",
    reason: Annotated[
        str, typer.Option(metavar="TEXT", help="How it was proved instead: read by eye …")
    ] = "",
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Answer by name for what was not proved; with nothing named, list what there is."""
    from proofcheck.docket import vouch as record_vouched
    from proofcheck.docket.clear import to_vouch_for
    from proofcheck.docket.recorded import vouched_text
    from proofcheck.docket.show import vouching_text

    held = opened(docket, originals)
    if not what:
        out(vouching_text(job, to_vouch_for(held, job)))
        return
    entry = record_vouched(held, job, what, by=by, reason=reason)
    said(vouched_text(held.job(job), entry), entry)
    said_head(entry)


COMMANDS = (
    ("open", open_),
    ("copy", copy_),
    ("pull", pull),
    ("decide", decide),
    ("sign", sign),
    ("vouch", vouch),
)
"""By name, in the order a job goes."""
