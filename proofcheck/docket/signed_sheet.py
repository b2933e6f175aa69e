"""The customer's sheet come back signed electronically: the answers and the word, on the record."""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any, Final

from proofcheck.base.fault_numbers import shown_ref
from proofcheck.base.visible import visible
from proofcheck.docket.approval_parts import SIGNATURE, WORD
from proofcheck.docket.came_back import CameBack
from proofcheck.docket.canonical import sha256_of
from proofcheck.docket.customer_sheet import ANSWER
from proofcheck.docket.decided import paper_of
from proofcheck.docket.decisions import answer_query
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.pdf_signature import certificates_in, signature_of
from proofcheck.docket.pdf_values import Lasting, text_of
from proofcheck.docket.signoff import WORDS, Word, sign_off
from proofcheck.docket.taken_lines import TakenIn, TakenLine
from proofcheck.results.paper_names import PIECE, Paper, named_paper
from proofcheck.results.plain_form import FOR_APPROVAL

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    import pikepdf

    from proofcheck.docket.book import Docket
    from proofcheck.docket.job import Job
    from proofcheck.docket.originals import Original
    from proofcheck.docket.pdf_signature import Signature

__all__ = ["SheetSaid", "certificates_beside", "sheet_said", "take_sheet"]

_SAYS: Final = {"correct": "yes, change it", "stand": "no, leave it as it is"}
_MOST_FIELDS: Final = 5_000


@dataclass(frozen=True, slots=True)
class SheetSaid:
    """What stands on a customer's sheet that came back."""

    paper: Paper
    word: str
    """One of `signoff.WORDS`; "" where none is ticked."""
    answers: Mapping[str, str]
    """To the queries that are ticked, by reference: "correct" or "stand"."""
    signed: bool
    """Its place to sign holds an electronic signature, whatever that is worth."""


def certificates_beside(docket: Docket) -> Path:
    """The folder in which the shop keeps the certificates it knows."""
    folder = docket.originals.folder
    return folder.with_name(f"{folder.name.removesuffix('-originals')}-certificates")


def sheet_said(data: bytes, name: str) -> SheetSaid | None:
    """What stands on a sheet for approval; None where the file is no such sheet.

    Raises:
        DocketError: it is one, and what is ticked on it can't be told.
    """
    import pikepdf

    try:
        with pikepdf.open(io.BytesIO(data)) as pdf:
            papers = {_paper(page) for page in pdf.pages} - {None}
            if not papers:
                return None
            if len(papers) > 1:
                msg = f"{visible(name)} has sheets of more than one proof; take each by itself"
                raise DocketError(msg)
            (paper,) = papers
            ticked, signed = _fields(pdf)
    except (pikepdf.PdfError, pikepdf.PasswordError, AttributeError, *Lasting):
        return None  # Whoever reads it as a marked proof says what is wrong with it.
    if paper is None:
        return None
    word = ticked.get(WORD, "")
    answers = {
        key.removeprefix(ANSWER): value
        for key, value in ticked.items()
        if key.startswith(ANSWER) and value
    }
    if any(value is None for value in ticked.values()) or not {*answers.values()} <= set(_SAYS):
        msg = f"{visible(name)} shows other boxes ticked than it says; ask for it anew"
        raise DocketError(msg)
    if word and word not in WORDS:
        msg = f"{visible(name)} says {visible(word)[:40]!r}, which is no word of the customer's"
        raise DocketError(msg)
    return SheetSaid(paper, word or "", {k: v for k, v in answers.items() if v}, signed)


def _paper(page: pikepdf.Page) -> Paper | None:
    held: Any = page.obj
    for key in ("/PieceInfo", PIECE, "/Private"):
        held = held.get(key) if hasattr(held, "get") else None
        if held is None:
            return None
    return named_paper(text_of(held, FOR_APPROVAL))


def _fields(pdf: pikepdf.Pdf) -> tuple[dict[str, str | None], bool]:
    """What is ticked in each group ("" for nothing, None where value and look part); if signed."""
    form: Any = pdf.Root.get("/AcroForm")
    ticked: dict[str, str | None] = {}
    signed = False
    for field in list(form.get("/Fields", []))[:_MOST_FIELDS] if form is not None else ():
        name = text_of(field, "/T")
        if text_of(field, "/FT") == "Sig":
            signed = signed or (name == SIGNATURE and field.get("/V") is not None)
        elif text_of(field, "/FT") == "Btn":
            shown = {text_of(kid, "/AS") for kid in field.get("/Kids", [])} - {"", "Off"}
            value = text_of(field, "/V").removeprefix("Off")
            ticked[name] = value if shown == ({value} - {""}) else None
    return ticked, signed


def take_sheet(
    docket: Docket, sheet: Original, said: SheetSaid, *, by: str, only_show: bool
) -> TakenIn:
    """Record the answers and the word of a sheet that was signed electronically.

    Args:
        docket: the record.
        sheet: the file.
        said: what stands on it (`sheet_said`).
        by: initials of whoever records it.
        only_show: tell what would be recorded, and record nothing.

    Raises:
        DocketError: it is of another docket, job or proof; not signed, or its signature does not
            hold for the whole file; no word is ticked on it.
    """
    shown, paper = visible(sheet.name), said.paper
    job = docket.current(paper.job)
    held = job.proofs[paper.proof - 1] if job and paper.proof <= len(job.proofs) else None
    if job is None or held is None or paper_of(job, held) != paper:
        msg = (
            f"{shown} asks for the approval of proof {paper.proof} of job {visible(paper.job)} of "
            "another docket; nothing was recorded"
        )
        raise DocketError(msg)
    if not said.signed:
        msg = f"{shown} is not signed electronically; record a sheet signed by hand with its scan"
        raise DocketError(f"{msg} (docket sign --how 'signed sheet' --sheet)")
    signature = signature_of(sheet.data, sheet.name, certificates_in(certificates_beside(docket)))
    if not said.word:
        msg = f"{shown}: {signature.words}, but none of the three words is ticked on it"
        raise DocketError(msg)
    if not by.strip():
        msg = "say with your initials who records the customer's word (--by)"
        raise DocketError(msg)
    lines = list(_recorded(docket, job, sheet, said, signature, by=by, only_show=only_show))
    return TakenIn(job.number, paper.proof, tuple(lines))


def _recorded(
    docket: Docket,
    job: Job,
    sheet: Original,
    said: SheetSaid,
    signature: Signature,
    *,
    by: str,
    only_show: bool,
) -> Iterator[TakenLine]:
    digest = sha256_of(sheet.data)
    if any(
        e.kind == "signed" and digest in {o["sha256"] for o in e.originals} for e in job.entries
    ):
        yield TakenLine(f"{signature.words}: taken before", recorded=False, before=True)
        return
    for ref, what in said.answers.items():
        yield _answered(docket, job, sheet, (ref, what), signature, by=by, only_show=only_show)
    told = f"{WORDS[said.word]}, {signature.words}; the signature covers the whole file"
    if signature.at:
        at = datetime.fromisoformat(signature.at).astimezone(docket.shop.clock_zone())
        told += f", signed {at:%d %b %Y %H:%M} {docket.shop.zone_at(at)} by the signer's clock"
    if not only_show:
        word = Word(said.word, signature.who, "signed sheet", sheet=sheet, signature=signature)
        sign_off(docket, job.number, word, proof=said.paper.proof, recorded_by=by)
    yield TakenLine(told, recorded=True)


def _answered(
    docket: Docket,
    job: Job,
    sheet: Original,
    said: tuple[str, str],
    signature: Signature,
    *,
    by: str,
    only_show: bool,
) -> TakenLine:
    """One query answered on the sheet. `said`: its reference, and the decision."""
    ref, what = said
    found = job.at(ref)
    told = f"{shown_ref(ref)}: “{_SAYS[what]}”, {signature.who}"
    if found is None or found.decision is None or not found.decision.open:
        return TakenLine(f"{told}; but no query is open on it any more", recorded=False)
    if not only_show:
        paper = CameBack(sha256_of(f"{sha256_of(sheet.data)} {ref}"), sheet)
        answer_query(
            docket, job.number, ref, what, _SAYS[what], answered_by=signature.who, by=by,
            paper=paper,
        )  # fmt: skip
    return TakenLine(told, recorded=True)
