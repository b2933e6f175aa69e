"""The printed sign-off sheet: what is being approved, the three words, room for a signature."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from proofcheck.base.fault_numbers import proof_name
from proofcheck.base.visible import visible
from proofcheck.base.writing import write_whole
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.proved import how_taken
from proofcheck.docket.record_words import details_of, to_do
from proofcheck.docket.signoff import WORDS
from proofcheck.marks.lettering import write
from proofcheck.marks.paths import extent, moved, parse
from proofcheck.results.marked.paint_pdf import paint_pages
from proofcheck.results.marked.parts import FAINT, TYPE, Inked, Page

if TYPE_CHECKING:
    from pathlib import Path

    from proofcheck.docket.facts import Found
    from proofcheck.docket.job import Job
    from proofcheck.docket.shop import Shop
    from proofcheck.docket.verify import Checked

__all__ = ["NOTICE", "sign_off_pages", "write_sign_off_sheet"]

NOTICE = (
    "Please read the proof with care; what is approved here is what will be printed. By the usual "
    "custom of the trade the printer does not answer for errors in work printed to the customer's "
    "O.K., nor for changes given by word of mouth only, and changes of copy are charged by the "
    "time they take. The terms agreed between the parties, and the law of the place, come first."
)
"""After the custom put together by the US employing printers' body in 1922 (common practice)."""

_WIDTH_PX, _HEIGHT_PX, _DPI = 2480, 3508, 300.0  # A4
_MARGIN_PX = 210
_SIZE_PX = 21.0
_HASH_PX = 15.0
_LABEL_PX = 430
"""From the margin to what is said beside a label."""
_LEAD = 2.6
"""From line to line, in sizes."""
_MOST = 24
"""Corrections and queries listed before the rest are only counted."""


@dataclass(slots=True)
class _Flow:
    """Text set down the pages, from the top."""

    pages: list[list[Inked]] = field(default_factory=lambda: [[]])
    y: float = 300.0

    def text(
        self, words: str, *, size: float = _SIZE_PX, ink: str = TYPE, indent: float = 0
    ) -> None:
        """A paragraph, broken to the measure."""
        room = (_WIDTH_PX - 2 * _MARGIN_PX - indent) / size
        for line in _broken(words, room):
            self.space(size * _LEAD)
            drawing = moved(
                write(line, 0.0), by=(_MARGIN_PX + indent, self.y), scale=size, flip=True
            )
            self.pages[-1].append(Inked(drawing, 0.1 * size, ink))

    def pair(self, label: str, words: str, *, size: float = _SIZE_PX, ink: str = TYPE) -> None:
        """A label with what it says beside it."""
        page, y = len(self.pages), self.y
        self.text(label, ink=FAINT)
        if len(self.pages) == page:
            self.y = y
        else:
            self.y -= _SIZE_PX * _LEAD
        self.text(words, size=size, ink=ink, indent=_LABEL_PX)
        self.y = max(self.y, y + _SIZE_PX * _LEAD)
        self.space(6)

    def number(self, of: str) -> None:
        """Say at the foot of each of several pages what it is a page of."""
        for number, page in enumerate(self.pages, 1) if len(self.pages) > 1 else ():
            words = write(f"{visible(of)}: page {number} of {len(self.pages)}", 0.0)
            place = (_MARGIN_PX, _HEIGHT_PX - 130.0)
            drawing = moved(words, by=place, scale=_HASH_PX, flip=True)
            page.append(Inked(drawing, 0.1 * _HASH_PX, FAINT))

    def space(self, height: float) -> None:
        """Go down; over the foot, on to a new page."""
        self.y += height
        if self.y > _HEIGHT_PX - 220:
            self.pages.append([])
            self.y = 300.0

    def rule(self, left: float, right: float, *, dy: float = 0.0) -> None:
        """A thin line to write on, or to part things by."""
        line = moved(parse(f"M0,0L{right - left:.1f},0"), by=(left, self.y + dy))
        self.pages[-1].append(Inked(line, 2.5, TYPE))

    def box(self, size: float) -> None:
        """A box to tick, left of the next line."""
        path = f"M0,0L{size},0L{size},{size}L0,{size}L0,0"
        drawing = moved(parse(path), by=(_MARGIN_PX, self.y + 14))
        self.pages[-1].append(Inked(drawing, 3.5, TYPE))


def write_sign_off_sheet(
    job: Job, shop: Shop, checked: Checked, path: Path | str, *, overwrite: bool = False
) -> Path:
    """Write the sheet for the job's latest proof as a PDF.

    Raises:
        DocketError: there is no proof to sign, or the record is broken.
        OutputError: it can't be written.
    """
    if checked.troubles:
        msg = f"no sheet is made from a broken record: {checked.troubles[0]}"
        raise DocketError(msg)
    pages = sign_off_pages(job, shop, checked)
    return write_whole(path, paint_pages(pages, f"Job {job.number}: sign-off"), overwrite=overwrite)


def sign_off_pages(job: Job, shop: Shop, checked: Checked) -> tuple[Page, ...]:
    """The sheet laid out, one page or more. Raises DocketError where there is no proof."""
    if job.proof is None or job.copy is None:
        msg = f"job {visible(job.number)} has no proof to sign off"
        raise DocketError(msg)
    flow = _Flow()
    _what(flow, job, shop)
    _still_open(flow, job)
    _words(flow)
    _signature(flow)
    flow.space(40)
    flow.text(NOTICE, size=17)
    flow.space(20)
    flow.text(
        f"Record: entry {checked.number}, {checked.book}. This sheet holds for exactly the copy "
        "and the proof named above.",
        size=_HASH_PX,
        ink=FAINT,
    )
    flow.text("The record stands at:", size=_HASH_PX, ink=FAINT)
    for line in checked.anchor.splitlines():
        flow.text(line, size=_HASH_PX, ink=FAINT)
    flow.number(f"Job {job.number}, {job.proof.name}")
    return tuple(
        Page(number, _WIDTH_PX, _HEIGHT_PX, _DPI, None, (0, 0), labels=tuple(inked))
        for number, inked in enumerate(flow.pages)
    )


def _what(flow: _Flow, job: Job, shop: Shop) -> None:
    proof, copy = job.proof, job.copy
    if proof is None or copy is None:
        return
    if shop.name:
        flow.text(shop.name, size=26)
        flow.space(16)
    flow.text(f"Proof for approval: job {job.number}, {proof.name}", size=34)
    flow.space(12)
    flow.rule(_MARGIN_PX, _WIDTH_PX - _MARGIN_PX, dy=22)
    flow.space(50)
    for key, value in details_of(job):
        flow.pair(key.capitalize(), value)
    flow.space(24)
    local = proof.entry.at.astimezone(shop.clock_zone())
    flow.pair("Proof recorded", f"{local:%d %B %Y, %H:%M} {proof.entry.zone}")
    for number, sha256 in enumerate(proof.hashes, 1):
        flow.pair(f"Proof, sheet {number}", sha256, size=_HASH_PX)
    if how_taken(proof):
        flow.pair("Not read here", how_taken(proof))
    held = job.copies[proof.copy - 1]
    flow.pair(f"Copy, version {held.number}", held.name)
    flow.pair("", held.sha256, size=_HASH_PX)
    if copy.number != proof.copy:
        flow.space(20)
        flow.text("The copy was changed after this proof was read; ask for a new proof.", size=24)


def _still_open(flow: _Flow, job: Job) -> None:
    parts = (
        ("Queries to you", [(f, _asked(f)) for f in job.open_queries]),
        ("Marked to be corrected", [(f, to_do(f)) for f in job.corrections]),
        ("Found, and not yet decided by us", [(f, to_do(f)) for f in job.undecided]),
    )
    left = _MOST
    for head, told in parts:
        if not told:
            continue
        flow.space(46)
        flow.text(head, size=25)
        flow.space(10)
        for found, words in told[:left]:
            of = "" if found.proof == len(job.proofs) else f" ({proof_name(found.proof)})"
            flow.pair(f"{found.shown}, line {found.line}{of}", words, size=19)
        if len(told) > left:
            rest = f"and {len(told) - left} more" if left else f"{len(told)}"
            flow.text(f"{rest}, shown on the marked proof", indent=_LABEL_PX)
        left = max(0, left - len(told))


def _asked(found: Found) -> str:
    return (found.decision.note if found.decision else "") or to_do(found)


def _words(flow: _Flow) -> None:
    if flow.y > _HEIGHT_PX - 1350:
        # The words, the signature and the notice stay together on one page.
        flow.space(_HEIGHT_PX)
    flow.space(60)
    more = {
        "ok": "print as it stands",
        "ok-with-corrections": "print when the corrections marked are shown made on a revise",
        "revise-wanted": "correct, and send another proof before printing",
    }
    for key, words in WORDS.items():
        flow.box(44)
        flow.text(f"{words}: {more[key]}", size=22, indent=90)
        flow.space(22)


def _signature(flow: _Flow) -> None:
    half = _WIDTH_PX / 2
    for left, right in (("Signature", "Name"), ("Date", "On behalf of")):
        flow.space(150)
        flow.rule(_MARGIN_PX, half - 40)
        flow.rule(half + 40, _WIDTH_PX - _MARGIN_PX)
        y = flow.y
        flow.text(left, size=14, ink=FAINT)
        flow.y = y
        flow.text(right, size=14, ink=FAINT, indent=half + 40 - _MARGIN_PX)


def _broken(text: str, room: float) -> list[str]:
    """Words on lines no longer than the room, in x-heights of the hand; long words are cut."""
    lines = [""]
    for word in visible(text).split():
        rest = word
        while _width(rest) > room:
            cut = max(1, int(len(rest) * room / _width(rest)) - 1)
            lines.append(rest[:cut])
            rest = rest[cut:]
        tried = f"{lines[-1]} {rest}".strip()
        if _width(tried) <= room:
            lines[-1] = tried
        else:
            lines.append(rest)
    return [line for line in lines if line]


def _width(text: str) -> float:
    return extent(write(text, 0.0)).width if text else 0.0
