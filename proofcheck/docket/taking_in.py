"""A marked proof taken in: replies become decisions, what was put in marks of the reader's own."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from proofcheck.base.decision_words import decided_called
from proofcheck.base.fault_numbers import shown_number
from proofcheck.base.visible import visible
from proofcheck.docket.came_back import CameBack, TakenBeforeError
from proofcheck.docket.canonical import canonical, sha256_of
from proofcheck.docket.decided import paper_of
from proofcheck.docket.decisions import ANSWERS, answer_query, decide, reason_wanting
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.marked_pdf import read_marked
from proofcheck.docket.own_marks import mark_own, stored_report
from proofcheck.docket.paper_places import marks_of
from proofcheck.docket.reply_meaning import STATES, by_words
from proofcheck.docket.signed_sheet import sheet_said, take_sheet
from proofcheck.docket.taken_lines import TakenIn, TakenLine

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from proofcheck.docket.book import Docket
    from proofcheck.docket.entry import Entry
    from proofcheck.docket.facts import Found, ProofPulled
    from proofcheck.docket.job import Job
    from proofcheck.docket.marked_pdf import Answered, Markup, Reply
    from proofcheck.docket.originals import Original
    from proofcheck.docket.own_marks import OwnMark

__all__ = ["take_marked"]

_LONGEST = 500


@dataclass(frozen=True, slots=True)
class _Taking:
    """What the taking works with."""

    docket: Docket
    proof: ProofPulled
    job: Job
    sheet: Original
    by: str
    customer: bool
    only_show: bool


def take_marked(
    docket: Docket,
    sheet: Original,
    *,
    by: str = "",
    customer: bool = False,
    only_show: bool = False,
) -> TakenIn:
    """Take in what was answered and marked on a proof's PDF; what was taken before is not again.

    Args:
        docket: the record.
        sheet: the PDF.
        by: initials for what does not say who said it.
        customer: the customer answered on it: the replies answer the queries put, and
            decide nothing else; `by` records them.
        only_show: tell what would be recorded, and record nothing.

    The customer's sheet is known for what it is: signed electronically, it is his word.

    Raises:
        DocketError: it is no marked proof of a job on this docket, and no sheet that may be taken.
    """
    approval = sheet_said(sheet.data, sheet.name)
    if approval is not None:
        return take_sheet(docket, sheet, approval, by=by, only_show=only_show)
    said = read_marked(sheet.data, sheet.name)
    job = docket.current(said.paper.job)
    number = said.paper.proof
    held = job.proofs[number - 1] if job is not None and number <= len(job.proofs) else None
    if job is None or held is None or paper_of(job, held) != said.paper:
        msg = (
            f"{visible(sheet.name)} is the marked proof {number} of job {visible(said.paper.job)} "
            "of another docket; nothing was recorded"
        )
        raise DocketError(msg)
    if customer and not by.strip():
        msg = "say with your initials who records the customer's answers (--by)"
        raise DocketError(msg)
    taking = _Taking(docket, held, job, sheet, by, customer, only_show)
    lines = [*_replied(taking, said), *_put_in(taking, said)]
    return TakenIn(job.number, number, tuple(lines))


def _replied(taking: _Taking, said: Answered) -> Iterator[TakenLine]:
    for fault, words in said.written_over:
        named = shown_number(taking.proof.number, fault)
        told = f"{named}: the mark's own note was written over (“{visible(words)[:80]}”)"
        yield TakenLine(f"{told}; answer it with a reply instead", recorded=False)
    for words in said.aside:
        told = f"“{visible(words)[:80]}” is said of a place that was not read, and decides nothing"
        yield TakenLine(told, recorded=False)
    for replies in _gathered(said.replies):
        yield _one_reply(taking, replies)


def _gathered(replies: Iterable[Reply]) -> list[list[Reply]]:
    """The replies of one person to one mark together, in their order; groups by their last."""
    groups: dict[tuple[str, str], list[Reply]] = {}
    for reply in replies:
        groups.setdefault((reply.fault, reply.who), []).append(reply)
    for group in groups.values():
        group.sort(key=lambda reply: reply.at)
    return sorted(groups.values(), key=lambda group: group[-1].at)


def _one_reply(taking: _Taking, replies: list[Reply]) -> TakenLine:
    """One person's replies to one mark: the last state, or what the words say, with the words."""
    who = _named(replies[0].who) or taking.by
    note = "; ".join(dict.fromkeys(visible(r.words) for r in replies if r.words and not r.state))
    states = [reply for reply in replies if reply.state]
    last = states[-1] if states else replies[-1]
    what = STATES.get(last.state, "") if states else by_words(note)
    found = taking.job.at(f"{taking.proof.number}/{last.fault}")
    if found is None:
        named = shown_number(taking.proof.number, last.fault)
        return TakenLine(f"{named}: there is no such fault on this proof", recorded=False)
    head = f"{found.shown}, line {found.line}: "
    if states and not what:
        told = f"{head}its state “{visible(last.state)}” is not known here"
        return TakenLine(told, recorded=False)
    if not what:
        told = f"{head}“{note}” decides nothing; decide it at the desk"
        return TakenLine(told, recorded=False)
    if found.decision is None and what == "undecided":
        return TakenLine(f"{head}undecided, as it was", recorded=False, before=True)
    told = f"{head}{decided_called(what)}, {who or 'nobody named'}{f': {note}' if note else ''}"
    told += _was(found, what, who, customer=taking.customer)
    paper = _paper(taking, last.fault, who, what, note, last.at)
    if taking.customer:
        return _customers(taking, told, paper, found, (what, note or last.state, who))
    return _readers(taking, told, paper, found, (what, note, who))


def _readers(
    taking: _Taking, told: str, paper: CameBack, found: Found, said: tuple[str, str, str]
) -> TakenLine:
    """The reader's reply, a decision. `said`: decision, words, initials."""
    what, note, who = said
    number, docket = taking.job.number, taking.docket
    wanting = reason_wanting(taking.job, found)
    if wanting and not note and not _done_before(taking, paper):
        return TakenLine(f"{told}; {wanting}: write it in a reply", recorded=False)
    return _done(
        taking, told, paper, who,
        lambda: decide(docket, number, found.ref, what, by=who, note=note, paper=paper),
    )  # fmt: skip


def _was(found: Found, what: str, who: str, *, customer: bool) -> str:
    """What was decided of it before; where another decided differently, that both stand."""
    held = found.decision
    if held is None:
        return ""
    same = who == held.by or held.what == what or bool(held.answer)
    if customer or same or what == "undecided":
        return f" (was: {decided_called(held.what)}, {visible(held.by)})"
    said = decided_called(held.what)
    return f" (but {visible(held.by)} decided: {said}; both stand till it is settled)"


def _done_before(taking: _Taking, paper: CameBack) -> bool:
    """Whether it is on the record already."""
    return any(entry.data.get("taken") == paper.said for entry in taking.job.entries)


def _customers(
    taking: _Taking, told: str, paper: CameBack, found: Found, said: tuple[str, str, str]
) -> TakenLine:
    """The customer's reply, which answers a query or nothing. `said`: decision, words, name."""
    what, words, who = said
    number, docket = taking.job.number, taking.docket
    if not _done_before(taking, paper) and (found.decision is None or not found.decision.open):
        return TakenLine(f"{told}; but the customer was not asked about it", recorded=False)
    if what not in ANSWERS:
        return TakenLine(f"{told}; which answers nothing", recorded=False)
    return _done(
        taking, told, paper, who,
        lambda: answer_query(docket, number, found.ref, what, words, answered_by=who,
                             by=taking.by, paper=paper),
    )  # fmt: skip


def _put_in(taking: _Taking, said: Answered) -> Iterator[TakenLine]:
    report = stored_report(taking.docket, taking.proof) if said.markups else None
    for markup in said.markups:
        name = f"{_KINDS.get(markup.kind, 'a note')} on page {markup.page + 1}"
        name += f" (“{visible(markup.words)[:60]}”)" if markup.words else ""
        if markup.called_off:
            words = f"{name}: called off by {visible(markup.called_off)}"
            yield TakenLine(words, recorded=False, before=True)
            continue
        try:
            marks = marks_of(report, markup) if report is not None else []
        except DocketError as error:
            yield TakenLine(f"{name}: {error}", recorded=False)
            continue
        for mark in marks:
            yield _one_mark(taking, markup, mark)


_KINDS = {
    "Replace": "matter replaced",
    "StrikeOut": "matter struck out",
    "Caret": "a caret",
    "Highlight": "a highlight",
}


def _one_mark(taking: _Taking, markup: Markup, mark: OwnMark) -> TakenLine:
    who = _named(markup.who) or taking.by
    said = mark.kind or ("?" if mark.asks else mark.wanted or "take out")
    place = f"{mark.line}:{mark.start}-{mark.end}"
    paper = _paper(taking, place, who, said, markup.words, markup.kind)
    talk = " ".join(visible(markup.talk).split())[:_LONGEST]
    mark = replace(mark, note="; ".join(filter(None, (mark.note, talk))))
    number, docket, proof = taking.job.number, taking.docket, taking.proof.number
    return _done(
        taking, f"{_mark_words(mark)}, marked by {who or 'nobody named'}", paper, who,
        lambda: mark_own(docket, number, mark, by=who, proof=proof, paper=paper),
    )  # fmt: skip


def _mark_words(mark: OwnMark) -> str:
    if mark.start == mark.end:
        place = f"line {mark.line}, after letter {mark.start}"
    else:
        place = f"line {mark.line}, letters {mark.start + 1} to {mark.end}"
    if mark.asks:
        return f"{place}: query: {mark.note}"
    if mark.kind:
        return f"{place}: {mark.kind.replace('-', ' ')}"
    return f"{place}: to say “{mark.wanted}”" if mark.wanted else f"{place}: to be taken out"


def _named(who: str) -> str:
    return " ".join(visible(who).split())[:100]


def _paper(taking: _Taking, *said: str) -> CameBack:
    digest = sha256_of(canonical({"paper": paper_of(taking.job, taking.proof).name, "said": said}))
    return CameBack(digest, taking.sheet)


def _done(
    taking: _Taking, told: str, paper: CameBack, who: str, record: Callable[[], Entry]
) -> TakenLine:
    """Record one thing, unless it only is to be shown."""
    if not who:
        return TakenLine(f"{told}; say who with --by", recorded=False)
    if _done_before(taking, paper):
        return TakenLine(f"{told}: taken before", recorded=False, before=True)
    if taking.only_show:
        return TakenLine(told, recorded=True)
    try:
        record()
    except TakenBeforeError as error:
        return TakenLine(f"{told}: {error}", recorded=False, before=True)
    except DocketError as error:
        return TakenLine(f"{told}: {error}", recorded=False)
    return TakenLine(told, recorded=True)
