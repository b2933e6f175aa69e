"""Lines of real pages for fine-tuning: each strip with the true text that belongs to it.

    python -m tests.lab.gather OUT.npz PAGE.png …

Beside each page lies its text (same name, `.txt`), by paragraph or line for line. The page is
read, the reading laid on the text, and a line kept where the two agree almost wholly; what is kept
is the text, except where it is known to give less than the page shows: capitals for small
capitals, and which dash. A line whose type plainly says otherwise than its text is left out: there
the printer or the typist slipped.
"""

from __future__ import annotations

import logging
import re
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from rapidfuzz.distance import Levenshtein

from proofcheck.reading import ctc
from proofcheck.reading.alphabet import CHARACTERS, INDEX, in_classes
from proofcheck.reading.letter_reader import LetterReader, log_likelihood_ratio
from proofcheck.sheet.clean import clean_sheet
from proofcheck.sheet.lines import find_lines
from proofcheck.sheet.scans import open_scans
from proofcheck.sheet.strips import cut_strip
from tests.lab.network import STRIDE_PX
from tests.lab.real import RealLine, save_real

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Sheet
    from proofcheck.reading.letter_reader import LineEvidence

__all__ = ["LaidLine", "gather", "lay_on_text", "page_lines"]

_DASHES = frozenset("-–—")
_LEAST_AGREEMENT = 0.93
_PLAINLY = 14.0
"""Nats by which the type contradicts the text."""
_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class LaidLine:
    """A line's reading and the stretch of text that lies under it."""

    read: str
    true: str
    agreement: float


def text_of(evidence: LineEvidence) -> str:
    """The line as read, without boxes."""
    text = "".join(CHARACTERS[number] for number in ctc.greedy(evidence.log_probs).classes)
    return " ".join(text.split())


def lay_on_text(readings: Sequence[str], text: str) -> list[LaidLine]:
    """Lay the lines of a page on its text.

    A hyphen that ends a line and is not in the text is put into its stretch of the text.
    """
    true = in_classes(text)
    joined, starts = "", []
    for reading in readings:
        starts.append(len(joined))
        joined += reading.removesuffix("-") if reading.endswith("-") else reading + " "
    found = _positions(joined, true)
    laid = []
    for reading, start in zip(readings, starts, strict=True):
        bare = reading.removesuffix("-")
        under = true[found[start] : found[start + len(bare)]].strip()
        if bare != reading and not under.endswith("-"):
            under += "-"
        under = _as_shown(reading, under)
        laid.append(LaidLine(reading, under, Levenshtein.normalized_similarity(reading, under)))
    return laid


def _positions(one: str, other: str) -> list[int]:
    """For each place in one text the place in the other that answers to it."""
    found = [0] * (len(one) + 2)
    for step in Levenshtein.opcodes(one, other):
        a, b, c, d = step.src_start, step.src_end, step.dest_start, step.dest_end
        for at in range(a, b):
            found[at] = c + min(at - a, d - c) if step.tag != "delete" else c
        found[b] = d
    found[len(one)] = found[len(one) + 1] = len(other)
    return found


def _as_shown(read: str, true: str) -> str:
    """The text with the capitals and dashes that the reading shows."""
    shown = list(true)
    for step in Levenshtein.opcodes(read, true):
        a, b, c, d = step.src_start, step.src_end, step.dest_start, step.dest_end
        if step.tag != "replace" or b - a != d - c:
            continue
        for here, there in zip(range(a, b), range(c, d), strict=True):
            one, other = read[here], true[there]
            if one in _DASHES and other in _DASHES:
                shown[there] = one
            if one != other and one == other.upper() and _capitals_near(read, here):
                shown[there] = one
    return "".join(shown)


def _capitals_near(text: str, at: int) -> bool:
    """Whether the word about a place is set in capitals."""
    start = text.rfind(" ", 0, at) + 1
    end = text.find(" ", at)
    word = text[start : end if end >= 0 else len(text)]
    upper = sum(c.isupper() for c in word)
    return upper >= 2 and upper > 0.6 * sum(c.isalpha() for c in word)


def page_lines(
    sheet: Sheet, reader: LetterReader, text: str
) -> Iterator[tuple[LaidLine, LineEvidence, RealLine]]:
    """All lines of a page, laid on its text, each with its evidence and its strip."""
    lines = find_lines(sheet)
    seen = reader.evidence(sheet, lines)
    laid = lay_on_text([text_of(held) for held in seen], text)
    book = re.sub(r"[-_]?\d+$", "", Path(sheet.scan.name).stem)
    for line, held, under in zip(lines, seen, laid, strict=True):
        strip = cut_strip(sheet, line).image
        yield under, held, RealLine(book, strip, under.true, _centres(held, under.true))


def _centres(seen: LineEvidence, text: str) -> NDArray[np.float32]:
    """Strip x of each character; nought where the text can't be laid on the line."""
    try:
        columns = ctc.align(seen.log_probs, [INDEX.get(c, ctc.WILDCARD) for c in text])
    except ValueError:
        return np.zeros(len(text), np.float32)
    return ((columns + 0.5) * STRIDE_PX).astype(np.float32)


def gather(pages: Sequence[Path], reader: LetterReader) -> Iterator[RealLine]:
    """The lines of pages that are fit to train on."""
    for path in pages:
        picture = next(iter(open_scans([path])))
        text = path.with_suffix(".txt").read_text(encoding="utf-8")
        kept = total = 0
        for under, seen, line in page_lines(clean_sheet(picture, 0), reader, text):
            total += 1
            if _fit(under, seen):
                kept += 1
                yield line
        _log.info("%s: %d of %d lines", path.name, kept, total)


def _fit(under: LaidLine, seen: LineEvidence) -> bool:
    if len(under.true) < 3 or under.agreement < _LEAST_AGREEMENT:
        return False
    if any(letter not in INDEX for letter in under.true):
        return False
    return log_likelihood_ratio(seen, under.read, under.true) < _PLAINLY


if __name__ == "__main__":
    logging.basicConfig(level=logging.INFO, format="%(message)s")
    files = [Path(name) for name in sys.argv[2:]]
    save_real(list(gather(files, LetterReader(threads=1))), Path(sys.argv[1]))
