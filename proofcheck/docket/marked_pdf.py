"""A marked proof that came back as a PDF: what was answered and put in by a PDF viewer.

Read are: annotations in reply to another (`/IRT`, with `/RT` R or Group), states of the review
model (`/StateModel` Review, `/State`), and markup annotations with `/Contents`, as ISO 32000-1 has
them in 12.5.6 (its part on replies and states from memory). Rich text (`/RC`) is not read:
`/Contents` has the same words without their looks.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from proofcheck.base.visible import visible
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.pdf_values import Lasting, moment_of, quads_of, text_of
from proofcheck.results.paper_names import (
    PIECE,
    Paper,
    contents_digest,
    named_mark,
    named_paper,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import pikepdf

__all__ = ["MARKUPS", "Answered", "Markup", "Reply", "read_marked"]

MARKUPS = frozenset(
    {"Text", "FreeText", "Highlight", "Underline", "Squiggly", "StrikeOut", "Caret", "Ink",
     "Square", "Circle", "Line", "Polygon", "PolyLine", "Stamp"}
)  # fmt: skip
"""Kinds of annotation by which a reader says something."""
_LARGEST_BYTES = 256 << 20
_MOST = 20_000
"""Annotations of one file beyond which it is no proof that a person marked."""
_DEEPEST = 100
"""Replies to replies beyond which nobody talks."""
_OURS, _UNREAD = "proofcheck", "not read"
"""Who drew a mark, and what a place that was not read is called (`results.marked.annotations`)."""


@dataclass(frozen=True, slots=True)
class Reply:
    """One answer to one of the marks."""

    fault: str
    who: str
    """As the annotation says (`/T`); "" where it does not."""
    words: str
    state: str
    """Of the review model: "Accepted" …; "" for words alone."""
    at: str
    """When, so that later comes later; "" where it does not say."""


@dataclass(frozen=True, slots=True)
class Markup:
    """One thing that a reader put in himself."""

    kind: str
    """One of `MARKUPS`, or "Replace" for matter struck out with other matter beside it."""
    page: int
    """From 0."""
    places: tuple[tuple[float, float, float, float], ...]
    """Left, top, right and bottom on the sheet, in its pixels; none where the page does not say
    where its sheet stands."""
    sheet: int
    who: str
    words: str
    called_off: str = ""
    """By whom, where a reply calls it off."""
    talk: str = ""
    """What was replied to it, each with its name."""


@dataclass(frozen=True, slots=True)
class Answered:
    """All that was said on a marked proof."""

    paper: Paper
    replies: tuple[Reply, ...]
    markups: tuple[Markup, ...]
    written_over: tuple[tuple[str, str], ...] = ()
    """Marks whose own words were changed: the fault, and what they say now."""
    aside: tuple[str, ...] = ()
    """Words in reply to places that were not read: no fault is there to decide."""


@dataclass(slots=True)
class _Note:
    """One annotation as it stands in the file."""

    held: pikepdf.Dictionary
    page: int
    kind: str
    name: str
    root: int = -1
    """Which annotation it answers in the end; itself where none."""
    group: bool = False
    """It belongs to that one rather than answers it."""
    below: list[int] = field(default_factory=list)


def read_marked(data: bytes, name: str) -> Answered:
    """What was said on a marked proof.

    Args:
        data: the file.
        name: what to call it in messages.

    Raises:
        DocketError: it is no PDF, locked, damaged, or not the marked proof of a docket.
    """
    import pikepdf

    shown = visible(name)
    if len(data) > _LARGEST_BYTES:
        msg = f"{shown} is too large for a marked proof"
        raise DocketError(msg)
    try:
        with pikepdf.open(io.BytesIO(data)) as pdf:
            return _said(pdf, shown)
    except pikepdf.PasswordError as error:
        msg = f"{shown} is locked by a password; save it without one, and take that in"
        raise DocketError(msg) from error
    except (pikepdf.PdfError, *Lasting) as error:
        msg = f"{shown} is no PDF that can be read ({visible(str(error))[:80]}); save it anew"
        raise DocketError(msg) from error


def _said(pdf: pikepdf.Pdf, shown: str) -> Answered:
    notes = list(_notes(pdf, shown))
    paper = _paper_of(pdf, notes, shown)
    _tie(notes)
    replies, over, aside = [], [], []
    for note in notes:
        named = named_mark(note.name)
        if named is None:
            said = [text_of(notes[at].held, "/Contents") for at in note.below]
            aside += [words for words in said if words and _is_ours(note)]
            continue
        if contents_digest(text_of(note.held, "/Contents")) != named[2]:
            over.append((named[1], text_of(note.held, "/Contents")))
        replies += [_reply(named[1], notes[at].held) for at in note.below]
    markups = [
        _markup(pdf, note, at, notes)
        for at, note in enumerate(notes)
        if note.root == at and note.kind in MARKUPS and not _is_ours(note)
    ]
    told = tuple(reply for reply in replies if reply)
    return Answered(paper, told, tuple(markups), tuple(over), tuple(aside))


def _notes(pdf: pikepdf.Pdf, shown: str) -> Iterator[_Note]:
    import pikepdf

    count = 0
    for number, page in enumerate(pdf.pages):
        held = page.obj.get("/Annots")
        for each in held if isinstance(held, pikepdf.Array) else ():
            count += 1
            if count > _MOST:
                msg = f"{shown} has more than {_MOST:,} annotations: no person marked it"
                raise DocketError(msg)
            if isinstance(each, pikepdf.Dictionary):
                kind = str(each.get("/Subtype", "")).removeprefix("/")
                yield _Note(each, number, kind, text_of(each, "/NM"))


def _is_ours(note: _Note) -> bool:
    """Whether it was put in as the proof was drawn, and not by a reader."""
    unread = text_of(note.held, "/T") == _OURS and text_of(note.held, "/Subj") == _UNREAD
    return unread or named_mark(note.name) is not None


def _paper_of(pdf: pikepdf.Pdf, notes: Sequence[_Note], shown: str) -> Paper:
    """The one proof it is the paper of."""
    papers = {named[0] for note in notes if (named := named_mark(note.name))}
    for page in pdf.pages:
        said = named_paper(text_of(_private(page), "/Paper"))
        papers |= {said} if said else set()
    if len(papers) > 1:
        told = ", ".join(sorted(f"job {visible(p.job)} proof {p.proof}" for p in papers))
        msg = f"{shown} has marks of more than one proof ({told}); take each in by itself"
        raise DocketError(msg)
    if not papers:
        by_read = any(text_of(note.held, "/T") == _OURS for note in notes)
        what = "was drawn without a docket" if by_read else "is not the marked proof of a docket"
        msg = f"{shown} {what}; draw one with docket papers, and answer on that"
        raise DocketError(msg)
    return papers.pop()


def _private(page: pikepdf.Page) -> Any:  # noqa: ANN401 - whatever stands there
    held: Any = page.obj
    for key in ("/PieceInfo", PIECE, "/Private"):
        held = held.get(key) if hasattr(held, "get") else None
        if held is None:
            return {}
    return held


def _tie(notes: Sequence[_Note]) -> None:
    """See what answers what; what answers nothing that is there, or itself, stands alone."""
    place = {note.held.objgen: at for at, note in enumerate(notes) if note.held.is_indirect}
    named = {note.name: at for at, note in enumerate(notes) if note.name}
    above = [_above(note, place, named) for note in notes]
    for at, note in enumerate(notes):
        step, seen = at, 0
        while above[step] >= 0 and seen < _DEEPEST:
            step, seen = above[step], seen + 1
        note.root = step if seen < _DEEPEST else at
        note.group = above[at] >= 0 and str(note.held.get("/RT", "")) == "/Group"
        if note.root != at:
            notes[note.root].below.append(at)


def _above(note: _Note, place: dict[Any, int], named: dict[str, int]) -> int:
    """Which annotation one answers; -1 for none."""
    import pikepdf

    held = note.held.get("/IRT")
    if isinstance(held, pikepdf.Dictionary) and held.is_indirect:
        return place.get(held.objgen, -1)
    return named.get(str(held), -1) if isinstance(held, pikepdf.String) else -1


def _reply(fault: str, held: pikepdf.Dictionary) -> Reply | None:
    model, state = text_of(held, "/StateModel"), text_of(held, "/State")
    if model == "Marked" or state in {"Marked", "Unmarked"}:
        return None  # A viewer's own tick, for him who put it.
    at = moment_of(text_of(held, "/M") or text_of(held, "/CreationDate"))
    words = text_of(held, "/Contents")
    return Reply(fault, text_of(held, "/T"), words, state, at) if words or state else None


def _markup(pdf: pikepdf.Pdf, note: _Note, at: int, notes: Sequence[_Note]) -> Markup:
    """What a reader put in, with what belongs to it and what was answered to it."""
    page = pdf.pages[note.page]
    group = [at, *(below for below in note.below if notes[below].group)]
    kinds = [notes[each].kind for each in group]
    struck = [each for each in group if notes[each].kind == "StrikeOut"]
    words = [text_of(notes[each].held, "/Contents") for each in group]
    kind = note.kind
    if len(struck) < len(group) and struck and "Caret" in kinds:
        group, kind = struck, "Replace"
    rects = [rect for each in group for rect in quads_of(notes[each].held)]
    sheet, places = _on_sheet(_private(page), rects)
    made = Markup(
        kind, note.page, places, sheet, text_of(note.held, "/T"), next(filter(None, words), "")
    )
    for below in note.below:
        reply = None if notes[below].group else _reply("", notes[below].held)
        if reply is not None and reply.state in {"Rejected", "Cancelled"}:
            made = replace(made, called_off=reply.who or "a reply")
        elif reply is not None and reply.words and not reply.state:
            made = replace(made, talk=f"{made.talk}; {reply.who}: {reply.words}".lstrip("; "))
    return made


def _on_sheet(
    private: Any,  # noqa: ANN401
    rects: Sequence[tuple[float, float, float, float]],
) -> tuple[int, tuple[tuple[float, float, float, float], ...]]:
    """The sheet of a page, and places on the page as places on it; none where it does not say."""
    try:
        scale, height = float(private["/Scale"]), float(private["/Height"])
        dx, dy = (float(value) for value in private["/At"])
        number = int(private["/Sheet"])
        places = tuple(
            (left / scale - dx, (height - high) / scale - dy, right / scale - dx,
             (height - low) / scale - dy)
            for left, low, right, high in rects
        )  # fmt: skip
    except (KeyError, TypeError, ValueError, ArithmeticError):
        return -1, ()
    return number, places
