"""The customer's word on a proof: O.K., O.K. with corrections, revised proof wanted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.chain import Draft, Entry
from proofcheck.docket.decisions import found_at
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.recording import checked_name, known
from proofcheck.docket.which_proof import proof_meant

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.docket.book import Docket
    from proofcheck.docket.canonical import Data
    from proofcheck.docket.facts import ProofPulled, SignOff
    from proofcheck.docket.job import Job
    from proofcheck.docket.originals import Original
    from proofcheck.docket.pdf_signature import Signature

__all__ = ["HOW", "WORDS", "Word", "how_signed", "sign_off"]

WORDS = {
    "ok": "O.K.",
    "ok-with-corrections": "O.K. with corrections",
    "revise-wanted": "Revised proof wanted",
}
"""The customer's answers by the custom of the trade (US employing printers' body, 1922)."""
HOW = ("in person", "signed sheet", "letter")


@dataclass(frozen=True, slots=True)
class Word:
    """What the customer said. Raises DocketError for words or ways the trade does not know."""

    words: str
    """One of `WORDS`."""
    by: str
    """Who gave it."""
    how: str
    """One of `HOW`."""
    note: str = ""
    sheet: Original | None = None
    """The signed sheet or the letter, scanned; it is kept with the sign-off."""
    signature: Signature | None = None
    """Of a sheet that was signed electronically."""

    def __post_init__(self) -> None:
        if self.words not in WORDS:
            msg = f"no such word of the customer: {visible(self.words)!r}; choose: "
            raise DocketError(msg + ", ".join(WORDS))
        if self.how not in HOW:
            msg = f"no such way to sign off: {visible(self.how)!r}; choose: {', '.join(HOW)}"
            raise DocketError(msg)
        if self.how == "signed sheet" and self.sheet is None:
            msg = "a signed sheet is kept with the sign-off; give its scan"
            raise DocketError(msg)


def sign_off(
    docket: Docket,
    number: str,
    word: Word,
    *,
    proof: int | None = None,
    corrections: Sequence[str] = (),
    recorded_by: str = "",
) -> Entry:
    """Record the customer's word; it holds for exactly the copy and proof whose hashes it names.

    Args:
        docket: the record.
        number: the job's.
        word: what the customer said.
        proof: which proof it was given on; the latest if not said.
        corrections: faults it asks to have corrected, beside those decided already.
        recorded_by: initials of whoever puts it on record.

    Raises:
        DocketError: no such job, proof or fault; O.K. with corrections where there is nothing
            to correct.
    """

    def draft(job: Job | None) -> Draft:
        held = known(job, number)
        signed = proof_meant(held, proof)
        copy = held.copies[signed.copy - 1]
        to_correct = _to_correct(held, signed, word, corrections)
        data: Data = {
            "words": word.words,
            "how": word.how,
            "proof": signed.number,
            "proof_hashes": list(signed.hashes),
            "copy_sha256": copy.sha256,
            "corrections": to_correct,
            "note": visible(word.note),
        }
        if word.signature is not None:
            data["signature"] = _signature_data(word.signature)
        if recorded_by:
            data["recorded_by"] = checked_name(recorded_by, "initials")
        return Draft("signed", checked_name(word.by, "the customer's name"), data)

    return docket.record(number, draft, [word.sheet] if word.sheet is not None else [])


def _signature_data(signature: Signature) -> dict[str, str | bool]:
    told: dict[str, str | bool] = {
        "certificate": signature.certificate,
        "known": signature.known,
    }
    return told | ({"at": signature.at} if signature.at else {})


def how_signed(word: SignOff) -> str:
    """How a word was given, as the papers and lists say it."""
    if word.signature is None:
        return word.how
    known = "known" if word.signature["known"] else "not known"
    return f"{word.how}, by an electronic signature whose certificate is {known} to the shop"


def _to_correct(job: Job, signed: ProofPulled, word: Word, named: Sequence[str]) -> list[str]:
    """References of what is to be corrected on a proof: as decided, and as named with the word."""
    asked = [found_at(job, ref).ref for ref in named]
    if word.words != "ok-with-corrections":
        return []
    wanted = {*asked, *(f.ref for f in job.corrections if f.proof <= signed.number)}
    if not wanted:
        msg = "O.K. with corrections, but none is decided or named; name them or sign O.K."
        raise DocketError(msg)
    return sorted(wanted)
