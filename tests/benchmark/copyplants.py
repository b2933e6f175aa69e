"""Plant faults in the copy: the page then differs from it in places that are known.

The names say what is wrong with the page against that copy: a letter taken out of the copy is a
letter too many on the page.
"""

from __future__ import annotations

import random
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box

from .planting import Plant

if TYPE_CHECKING:
    from collections.abc import Callable

    from .standing import Standing, Word

__all__ = ["COPY_KINDS", "plant_in_copy"]

_EVERY = 100
"""Characters to one planted fault."""
_LEAST_APART = 40
_POINTS = ".,;:"


@dataclass(frozen=True, slots=True)
class _Edit:
    """`text[start:end]` of the copy replaced by `new`."""

    start: int
    end: int
    new: str
    name: str
    kinds: frozenset[Kind]
    box: Box


def plant_in_copy(standing: Standing, seed: int) -> tuple[str, list[Plant]]:
    """The copy with about one fault in a hundred characters, and one of whole lines, planted.

    Only places are taken where the page is known to agree with the text. The spans of the
    plants are in the copy as returned.
    """
    rng = random.Random(seed)
    edits: list[_Edit] = []
    _take(edits, _line_edit(standing, rng))
    names = list(COPY_KINDS)
    rng.shuffle(names)
    words = [word for word in standing.words if word.at is not None]
    rng.shuffle(words)
    wanted = len(standing.text) // _EVERY
    for word in words:
        if len(edits) > wanted:
            break
        for name in names:
            edit = COPY_KINDS[name](standing, word, rng)
            if edit and _take(edits, _Edit(*edit, name, _KINDS[name], word.box)):
                names = [*(other for other in names if other != name), name]
                break
    return _carried_out(standing.text, sorted(edits, key=lambda edit: edit.start))


def _take(edits: list[_Edit], edit: _Edit | None) -> bool:
    if edit is None or any(
        edit.start - _LEAST_APART < other.end and other.start < edit.end + _LEAST_APART
        for other in edits
    ):
        return False
    edits.append(edit)
    return True


def _carried_out(text: str, edits: list[_Edit]) -> tuple[str, list[Plant]]:
    parts, plants, at, length = [], [], 0, 0
    for edit in edits:
        parts += [text[at : edit.start], edit.new]
        start = length + edit.start - at
        length = start + len(edit.new)
        at = edit.end
        plants.append(
            Plant(
                edit.name,
                edit.kinds,
                edit.box,
                (start, length),
                text[edit.start : edit.end],
                edit.new,
            )
        )
    return "".join([*parts, text[at:]]), plants


_Change = tuple[int, int, str]


def _letter_at(word: Word, rng: random.Random, text: str, least: int = 1) -> int | None:
    """Offset of one letter of a word, drawn by lot; `least` letters must stand there in a row."""
    assert word.at is not None
    places = [
        word.at + i
        for i in range(len(word.text) - least + 1)
        if text[word.at + i : word.at + i + least].isalpha()
    ]
    return rng.choice(places) if places else None


def _letter_wrong(standing: Standing, word: Word, rng: random.Random) -> _Change | None:
    at = _letter_at(word, rng, standing.text)
    if at is None or len(word.text) < 2:
        return None
    old = standing.text[at]
    letters = "abcdefghijklmnopqrstuvwxyz".replace(old.lower(), "")
    new = rng.choice(letters)
    return at, at + 1, new.upper() if old.isupper() else new


def _letter_extra(standing: Standing, word: Word, rng: random.Random) -> _Change | None:
    at = _letter_at(word, rng, standing.text)
    return (at, at + 1, "") if at is not None and len(word.text) > 2 else None


def _letter_missing(standing: Standing, word: Word, rng: random.Random) -> _Change | None:
    at = _letter_at(word, rng, standing.text)
    return (at, at + 1, standing.text[at] * 2) if at is not None and len(word.text) > 2 else None


def _transposed(standing: Standing, word: Word, rng: random.Random) -> _Change | None:
    at = _letter_at(word, rng, standing.text, least=2)
    if at is None:
        return None
    pair = standing.text[at : at + 2]
    if pair[0] == pair[1] or pair[0].isupper() != pair[1].isupper() or len(word.text) < 3:
        return None
    return at, at + 2, pair[::-1]


def _point_wrong(standing: Standing, word: Word, rng: random.Random) -> _Change | None:
    at = _end_of(word) - 1
    old = standing.text[at]
    if old not in _POINTS or len(word.text) < 2:
        return None
    return at, at + 1, rng.choice(_POINTS.replace(old, ""))


def _end_of(word: Word) -> int:
    assert word.at is not None
    return word.at + len(word.text)


def _bare(word: Word) -> bool:
    return word.text.isalpha() and len(word.text) > 1


def _word_extra(standing: Standing, word: Word, rng: random.Random) -> _Change | None:
    assert word.at is not None
    after = _end_of(word)
    spaced = standing.text[after : after + 1].isspace() and standing.text[word.at - 1].isspace()
    return (word.at, after + 1, "") if _bare(word) and word.at > 0 and spaced else None


def _word_missing(standing: Standing, word: Word, rng: random.Random) -> _Change | None:
    after = _end_of(word)
    bounds = standing.text[(word.at or 1) - 1], standing.text[after : after + 1]
    if not _bare(word) or not all(b.isspace() for b in bounds):
        return None
    return after, after, " " + standing.text[word.at : after]


def _words_transposed(standing: Standing, word: Word, rng: random.Random) -> _Change | None:
    assert word.at is not None
    pair = re.compile(r"(\b[^\W\d_]{2,}) ([^\W\d_]{2,}\b)").match(standing.text, word.at)
    if pair is None or not _bare(word) or pair[1] == pair[2]:
        return None
    return word.at, pair.end(), f"{pair[2]} {pair[1]}"


_KINDS = {
    "letter wrong": frozenset({Kind.WRONG_LETTER, Kind.WRONG_WORD, Kind.CASE}),
    "letter too many": frozenset({Kind.LETTER_EXTRA}),
    "letter missing": frozenset({Kind.LETTER_MISSING}),
    "letters transposed": frozenset({Kind.LETTERS_TRANSPOSED}),
    "point wrong": frozenset({Kind.POINT_WRONG}),
    "word too many": frozenset({Kind.WORD_EXTRA}),
    "word missing": frozenset({Kind.WORD_MISSING}),
    "words transposed": frozenset({Kind.WORDS_TRANSPOSED}),
}
COPY_KINDS: dict[str, Callable[[Standing, Word, random.Random], _Change | None]] = {
    "letter wrong": _letter_wrong,
    "letter too many": _letter_extra,
    "letter missing": _letter_missing,
    "letters transposed": _transposed,
    "point wrong": _point_wrong,
    "word too many": _word_extra,
    "word missing": _word_missing,
    "words transposed": _words_transposed,
}


def _line_edit(standing: Standing, rng: random.Random) -> _Edit | None:
    """A printed line that the copy has not, or has elsewhere."""
    spans = {line: standing.span(line) for line in range(len(standing.lines))}
    known = [line for line, span in spans.items() if span and span[1] - span[0] > 20]
    if len(known) < 6:
        return None
    line = rng.choice(known[2:-2])
    start, end = spans[line] or (0, 0)
    box = standing.lines[line].box
    whole = standing.text[start:end]
    gone = end + (standing.text[end : end + 1].isspace())
    if rng.random() < 0.5:
        kinds = frozenset({Kind.LINE_FOREIGN, Kind.WORD_EXTRA})
        return _Edit(start, gone, "", "line too many", kinds, box)
    after = spans.get(line + 1)
    if not after or gone != after[0]:
        return None
    new = standing.text[after[0] : after[1]] + standing.text[end:gone] + whole
    kinds = frozenset({Kind.LINES_TRANSPOSED})
    both = Box.around([box, standing.lines[line + 1].box])
    return _Edit(start, after[1], new, "lines swapped", kinds, both)
