"""What a reader put in on a marked proof, as marks of his own: which line, which letters, what."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, TypeAlias

from proofcheck.base.visible import visible
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.own_marks import OF_THE_TYPE, OwnMark, copy_at

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Line, Reading
    from proofcheck.docket.marked_pdf import Markup
    from proofcheck.results.report import Report

__all__ = ["marks_of"]

Place: TypeAlias = tuple[float, float, float, float]
"""Left, top, right and bottom in pixels of the sheet."""

_POINTING = frozenset({"Text", "FreeText", "Stamp"})
"""They stand near what they speak of rather than on it."""
_NEAR = 3.0
"""A note farther from every line than so many of its x-heights belongs to none."""


def marks_of(report: Report, markup: Markup) -> list[OwnMark]:
    """The marks that one markup comes to: one, or one a line where it goes over several.

    What is struck out goes, or has the note's words in its place; a caret puts them in; by all
    others the words are a question, or name a fault of the type ("broken letter").

    Raises:
        DocketError: it says nothing, or there is no line where it stands.
    """
    words = " ".join(visible(markup.words).split())
    if not markup.places:
        msg = "its place on the sheet can't be told: the page has lost what says where its sheet is"
        raise DocketError(msg)
    if not words and markup.kind != "StrikeOut":
        msg = "it says nothing; write in it what is wrong"
        raise DocketError(msg)
    if markup.kind == "Caret":
        line, reading = _line_at(report, markup.sheet, markup.places[0])
        return [_put_in(report, reading, line, _middle(markup.places[0]), words)]
    stretches = [_stretch(report, markup, place) for place in _top_down(markup.places)]
    if markup.kind in {"StrikeOut", "Replace"}:
        out = [_struck(report, stretches[0], words)]
        return out + [_struck(report, each, "") for each in stretches[1:]]
    kind, note = _type_kind(words)
    first = stretches[0]
    if kind:
        return [replace(each, kind=kind, note=note) for each in stretches]
    return [replace(first, asks=True, note=words)]


def _top_down(places: Sequence[Place]) -> list[Place]:
    return sorted(places, key=lambda place: (round(place[1]), place[0]))


def _middle(place: Place) -> float:
    return (place[0] + place[2]) / 2


def _type_kind(words: str) -> tuple[str, str]:
    """A fault of the type that words begin by naming, and the rest of them."""
    plain = words.casefold().replace("-", " ")
    for kind in OF_THE_TYPE:
        name = kind.replace("-", " ")
        if plain == name or plain.startswith((f"{name} ", f"{name}:", f"{name},", f"{name}.")):
            return kind, words[len(name) :].lstrip(" :,.")
    return "", words


def _line_at(report: Report, sheet: int, place: Place) -> tuple[Line, Reading]:
    """The line a place is on, or else nearest to. Raises DocketError where none is near."""
    best: tuple[float, Line] | None = None
    for line in report.lines:
        if line.sheet != sheet or report.reading(line.number) is None:
            continue
        off = _off(line, place)
        if best is None or off < best[0]:
            best = off, line
    if best is None or best[0] > _NEAR * best[1].x_height_px:
        msg = "no line stands there"
        raise DocketError(msg)
    reading = report.reading(best[1].number)
    assert reading is not None  # noqa: S101 - looked for above
    return best[1], reading


def _off(line: Line, place: Place) -> float:
    """How far a place is from a line, in pixels.

    From its ink; and up to a pixel more, so that of two lines it touches it is taken for the one
    it is most on.
    """
    left, top, right, bottom = place
    box = line.box
    across = max(box.x - right, left - box.right, 0.0)
    over = min(bottom, box.bottom) - max(top, box.y)
    down = max(-over, 0.0)
    tall = max(min(bottom - top, float(box.height)), 1.0)
    # A note in the margin stands level with its line, however far out.
    return down + across / 40 + (1 - min(max(over, 0.0) / tall, 1.0))


def _stretch(report: Report, markup: Markup, place: Place) -> OwnMark:
    """The letters a place covers; for what only points, the word it is nearest to."""
    line, reading = _line_at(report, markup.sheet, place)
    letters = reading.letters
    inside = [
        at for at, letter in enumerate(letters)
        if place[0] <= letter.box.x + letter.box.width / 2 <= place[2]
    ]  # fmt: skip
    if markup.kind in _POINTING or not inside:
        beside = place[0] > line.box.right or place[2] < line.box.x
        start, end = (0, len(letters)) if beside else _word_at(reading, _middle(place))
    else:
        start, end = inside[0], inside[-1] + 1
    text = reading.text
    while start < end and text[start] == " ":
        start += 1
    while start < end and text[end - 1] == " ":
        end -= 1
    return OwnMark(line.number, start, end)


def _word_at(reading: Reading, x: float) -> tuple[int, int]:
    """The word nearest to a place on its line."""
    text = reading.text
    near = min(
        (at for at, letter in enumerate(reading.letters) if letter.text != " "),
        key=lambda at: abs(reading.letters[at].box.x + reading.letters[at].box.width / 2 - x),
        default=0,
    )
    start = text.rfind(" ", 0, near) + 1
    end = text.find(" ", near)
    return start, len(text) if end < 0 else end


def _struck(report: Report, mark: OwnMark, words: str) -> OwnMark:
    """Matter out, other matter in its place or none; a whole word goes with a space of its own."""
    reading = report.reading(mark.line)
    text = reading.text if reading is not None else ""
    start, end = mark.start, mark.end
    whole = (start == 0 or text[start - 1] == " ") and (end == len(text) or text[end] == " ")
    if not words and whole and end < len(text):
        end += 1
    elif not words and whole and start:
        start -= 1
    return replace(mark, start=start, end=end, wanted=words)


def _put_in(report: Report, reading: Reading, line: Line, x: float, words: str) -> OwnMark:
    """Matter at a gap, with the space that goes with a word, as the copy has it if it has it."""
    gap = sum(letter.box.x + letter.box.width / 2 < x for letter in reading.letters)
    text = reading.text
    beside = {at for at in (gap - 1, gap) if 0 <= at < len(text) and text[at] == " "}
    gaps = [gap, *(at for near in beside for at in (near, near + 1) if at != gap)]
    told = [
        OwnMark(line.number, at, at, wanted)
        for at in gaps
        for wanted in (words, f"{words} ", f" {words}")
    ]
    for mark in told:
        span = copy_at(report, mark)
        if report.copy.text[span.start : span.end].replace("\n", " ") == mark.wanted:
            return mark
    if len(words) > 1 and words[0].isalnum() and beside:
        at = max(beside)
        return OwnMark(line.number, at + 1, at + 1, f"{words} ")
    return told[0]
