"""What the customer is shown: the proof with what he is asked, his alterations with their cost.

As a sheet it is answered and signed by hand; the words are real type, so that it can be searched.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.base.fault_numbers import proof_name
from proofcheck.base.visible import visible
from proofcheck.docket.billing import bill_of, charge_words, slugs_words
from proofcheck.docket.decided import paper_of
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.proved import how_taken
from proofcheck.docket.record_words import counted, to_do
from proofcheck.docket.signoff import WORDS
from proofcheck.docket.signoff_sheet import NOTICE
from proofcheck.results.plain_page import (
    FOOT,
    HEIGHT,
    MARGIN,
    TOP,
    WIDTH,
    PlainPage,
    plain_pdf,
    wrapped,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.base.values import Box
    from proofcheck.docket.facts import Found
    from proofcheck.docket.job import Job
    from proofcheck.docket.shop import Shop
    from proofcheck.docket.verify import Checked
    from proofcheck.results.report import Report

__all__ = [
    "ANSWER",
    "MEANING",
    "SIGNATURE",
    "WORD",
    "Asked",
    "altered_rows",
    "asked_of",
    "bill_words",
    "customer_pdf",
]

MEANING = {
    "ok": "print as it stands",
    "ok-with-corrections": "print when the corrections marked are shown made on a revise",
    "revise-wanted": "correct, and send another proof before printing",
}
"""What each of the customer's words comes to."""
WORD, SIGNATURE, ANSWER = "word", "signature", "answer:"
"""What the sheet's fields are called: his word, his signature, and the answer to a query, with its
reference."""
_WIDE = WIDTH - 2 * MARGIN
_TALL = HEIGHT - FOOT - TOP - 40
_FIRST_TALL = 240.0
"""So high at least the picture of a single sheet may stand on the first page."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One open query to the customer."""

    number: int
    """On the sheet, from 1."""
    found: Found
    words: str
    line: str
    here: bool
    """Asked on the latest proof."""


def asked_of(job: Job) -> tuple[Asked, ...]:
    """The open queries, in the order they are put."""
    out = []
    for number, found in enumerate(job.open_queries, 1):
        note = found.decision.note if found.decision else ""
        of = "" if found.proof == len(job.proofs) else f" of the {proof_name(found.proof)}"
        out.append(
            Asked(number, found, visible(note) or to_do(found), f"line {found.line}{of}", not of)
        )
    return tuple(out)


def altered_rows(job: Job) -> list[tuple[str, str, str]]:
    """Each author's alteration: what it was, what it is, and the slugs that go for it."""
    return [
        (visible(change["was"]), visible(change["now"]), counted(len(change["slugs"]), "slug"))
        for copy in job.copies
        for change in copy.alterations
    ]


def bill_words(job: Job, shop: Shop) -> str:
    """What the alterations come to, in a line; "" where there are none."""
    bill = bill_of(job, shop)
    if not bill.alterations:
        return ""
    words = counted(bill.alterations, "alteration")
    return f"{words}, {slugs_words(bill)}, {charge_words(bill, visible(shop.money))}"


def customer_pdf(job: Job, shop: Shop, checked: Checked, report: Report) -> bytes:
    """The sheet as the bytes of a PDF.

    Args:
        job: as it stands.
        shop: the shop's choices.
        checked: the record gone through, for the link the sheet bears.
        report: of the latest proof as decided, with its pictures.

    Raises:
        DocketError: there is no proof.
    """
    if job.proof is None or job.copy is None:
        msg = f"job {visible(job.number)} has no proof to sign off"
        raise DocketError(msg)
    flow = _Flow([PlainPage()])
    _head(flow, job, shop)
    asked = asked_of(job)
    single = len(report.sheets) == 1
    if single:
        bare = _Flow([PlainPage()])
        _head(bare, job, shop)
        _words(bare, job, shop, asked, checked)
        # As large as leaves all on one page: it is what is approved.
        left = HEIGHT - FOOT - bare.page.y - 16 if len(bare.pages) == 1 else 0.0
        _picture(flow, report, asked, 0, max(_FIRST_TALL, left))
    _words(flow, job, shop, asked, checked)
    for at in range(0 if not single else 1, len(report.sheets)):
        flow.over()
        flow.text("B", 12, f"Sheet {at + 1} of the proof")
        _picture(flow, report, asked, at, _TALL)
    foot = f"Job {visible(job.number)}, {job.proof.name}"
    for number, page in enumerate(flow.pages, 1):
        words = f"{foot}: page {number} of {len(flow.pages)}"
        page.put("P", 8, MARGIN, HEIGHT - 30, words)
    return plain_pdf(flow.pages, f"{foot}: for approval", paper_of(job, job.proof).name)


def _words(flow: _Flow, job: Job, shop: Shop, asked: Sequence[Asked], checked: Checked) -> None:
    """What the customer is asked, what alterations cost, and where to sign."""
    _queries(flow, asked)
    _alterations(flow, job, shop)
    _sign(flow, job, checked)


@dataclass(slots=True)
class _Flow:
    """Text set down the pages."""

    pages: list[PlainPage]

    @property
    def page(self) -> PlainPage:
        return self.pages[-1]

    def over(self) -> None:
        """Begin a page."""
        self.pages.append(PlainPage())

    def room(self, height: float) -> None:
        """Begin a page where so much has no room any more."""
        if self.page.y + height > HEIGHT - FOOT:
            self.over()

    def text(self, font: str, size: float, words: str, x: float = MARGIN) -> None:
        """A paragraph broken to the measure."""
        for line in wrapped(words, size, x):
            self.room(size * 1.35)
            self.page.y += size * 1.35
            self.page.put(font, size, x, self.page.y, line)

    def line(self, label: str, x: float, length: float) -> None:
        """A line to write on, with what goes there under it."""
        self.page.rule(x, self.page.y, length)
        self.page.put("P", 7.5, x, self.page.y + 9, label)


def _head(flow: _Flow, job: Job, shop: Shop) -> None:
    if shop.name:
        flow.text("P", 11, visible(shop.name))
    proof = job.proof
    name = proof.name if proof is not None else ""
    flow.text("B", 17, f"For your approval: job {visible(job.number)}, {name}")
    details = [("customer", "for"), ("quantity", ""), ("stock", ""), ("ink", ""), ("size", "")]
    said = [
        f"{word} {visible(job.details[key])}".strip()
        for key, word in details
        if job.details.get(key)
    ]
    if said:
        flow.text("P", 10, "; ".join(said))
    if proof is not None and job.copy is not None and job.copy.number != proof.copy:
        flow.text("B", 10, "The copy was changed after this proof was read; ask for a new proof.")
    taken = how_taken(proof) if proof is not None else ""
    if taken:
        flow.text("P", 9, f"This proof was not read here: {visible(taken)}.")
    flow.page.y += 6
    flow.page.rule(MARGIN, flow.page.y, _WIDE)
    flow.page.y += 8


def _picture(flow: _Flow, report: Report, asked: Sequence[Asked], at: int, tall: float) -> None:
    """A sheet, with a numbered frame at each place that is asked about."""
    sheet = report.sheets[at]
    image = sheet.as_printed()
    height, width = image.shape
    wide = min(_WIDE - 24, tall * width / height)
    x, y, scale = MARGIN, flow.page.y + 6, wide / width
    flow.page.y = y + flow.page.picture(image, x, y, wide) + 8
    flow.page.frame_thin(x, y, wide, height * scale)
    for one, box in _places(report, asked):
        if box[0] != sheet.number:
            continue
        place = box[1]
        flow.page.frame(
            x + (place.x - 8) * scale, y + (place.y - 6) * scale,
            (max(place.width, 10) + 16) * scale, (place.height + 12) * scale,
        )  # fmt: skip
        flow.page.put("B", 10, x + wide + 6, y + (place.y + place.height) * scale, str(one.number))


def _places(report: Report, asked: Sequence[Asked]) -> list[tuple[Asked, tuple[int, Box]]]:
    """Where on the sheets the queries of this proof stand."""
    held: Mapping[str, tuple[int, Box]] = {
        fault.id: (fault.sheet, fault.box) for fault in report.faults
    }
    return [(one, held[one.found.id]) for one in asked if one.here and one.found.id in held]


def _queries(flow: _Flow, asked: Sequence[Asked]) -> None:
    if not asked:
        return
    flow.room(90)
    flow.text("B", 12, "We ask you")
    for one in asked:
        flow.room(62)
        flow.page.y += 6
        top = flow.page.y + 13.5
        flow.page.put("B", 10, MARGIN, top, f"{one.number}.")
        flow.text("P", 10, f"{one.words} ({one.line})", MARGIN + 18)
        flow.page.y += 16
        for k, words in enumerate(("yes, change it", "no, leave it as it is")):
            told = f"{ANSWER}{one.found.ref}", ("correct", "stand")[k]
            flow.page.tick(*told, MARGIN + 18 + k * 110, flow.page.y + 1, 9)
            flow.page.put("P", 9, MARGIN + 32 + k * 110, flow.page.y, words)
        flow.page.rule(MARGIN + 255, flow.page.y, _WIDE - 255)
        flow.page.y += 4


def _alterations(flow: _Flow, job: Job, shop: Shop) -> None:
    rows = altered_rows(job)
    if not rows:
        return
    flow.room(60)
    flow.page.y += 10
    flow.text("B", 12, "Your alterations of the copy")
    for was, now, slugs in rows:
        flow.text("P", 9.5, f"“{was}” now “{now}”: {slugs}")
    flow.text("B", 10, f"Together {bill_words(job, shop)}.")


def _sign(flow: _Flow, job: Job, checked: Checked) -> None:
    """The three words, the signature, and the terms, together on one page."""
    flow.room(250)
    flow.page.y += 12
    for key, words in WORDS.items():
        flow.page.y += 20
        flow.page.tick(WORD, key, MARGIN, flow.page.y + 2, 11)
        flow.page.put("B", 10.5, MARGIN + 20, flow.page.y, words)
        flow.page.put("P", 9.5, MARGIN + 170, flow.page.y, MEANING[key])
    for left, right in (("Signature", "Name"), ("Date", "On behalf of")):
        flow.page.y += 42
        if left == "Signature":
            flow.page.sign_here(SIGNATURE, MARGIN, flow.page.y - 2, _WIDE / 2 - 12, 34)
        flow.line(left, MARGIN, _WIDE / 2 - 12)
        flow.line(right, MARGIN + _WIDE / 2 + 12, _WIDE / 2 - 12)
    flow.page.y += 22
    flow.text("P", 8, NOTICE)
    flow.page.y += 4
    hashes = ", ".join(job.proof.hashes) if job.proof else ""
    held = job.copies[job.proof.copy - 1].sha256 if job.proof else ""
    told = f"Proof {hashes}; copy {held}. Record: entry {checked.number}, {checked.book}. "
    flow.text("P", 6.5, f"{told}This sheet holds for exactly this copy and this proof.")
    flow.text("P", 6.5, "The record stands at:")
    for line in checked.anchor.splitlines():
        flow.text("P", 6.5, line)
