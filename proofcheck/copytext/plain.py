"""Plain text: which characters are kept, and where its paragraphs end.

An empty line ends a paragraph. A single line end is less sure: the customer may have wrapped
the line, or may want it set so. So it stays in the text and ends a paragraph only where the
text itself shows it was meant:

* in a block with a line longer than any that is wrapped by hand, every line end was meant;
* in a text without one empty line, a line end was meant that left room for the word after it,
  as no one wrapping lines would have broken there, or that stands before an indented line; and
  where most of them were meant, all were (a programme, a price list, verse).
"""

from __future__ import annotations

import re
from collections import Counter
from itertools import pairwise

from proofcheck.base.values import Span
from proofcheck.copytext.draft import Draft

__all__ = ["clean_text", "plain_draft"]

LONGEST_WRAPPED = 100
"""Characters; a longer line was not wrapped by hand (mail and terminals wrap at 60 to 80)."""

_LINE_ENDS = re.compile("\r\n?|[\v\f\x85\u2028\u2029]")
# Nothing a case or a keyboard holds: controls, and the marks that turn the order of letters on
# a screen, with which a text can be made to look like another.
_UNSETTABLE = re.compile("[\x00-\x08\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
_TWICE_ENCODED = re.compile("[ÃÂ][\x80-\xbf€‚ƒ„…†‡ˆ‰Š‹ŒŽ‘’“”•–—˜™š›œžŸ]|â€[\x80-\xbf™œ“”˜¦]")


def clean_text(text: str) -> tuple[str, tuple[str, ...]]:
    r"""The text with "\n" line ends, and notes on what was replaced or looks wrong.

    A control character becomes the replacement character U+FFFD: nothing is printed for it, so
    the difference is shown to a person, and it can do no harm on a terminal or a page.
    """
    text = _LINE_ENDS.sub("\n", text)
    notes = []
    damaged = text.count("\ufffd")
    if damaged:
        notes.append(
            f"The copy holds {damaged} replacement characters (U+FFFD): it was damaged before "
            "it came here."
        )
    found = Counter(_UNSETTABLE.findall(text))
    if found:
        names = ", ".join(f"U+{ord(char):04X}" for char in sorted(found)[:5])
        notes.append(
            f"{found.total()} control characters ({names}) stand as U+FFFD, as none can be set."
        )
        text = _UNSETTABLE.sub("\ufffd", text)
    odd = _TWICE_ENCODED.search(text)
    if odd:
        notes.append(
            f"The copy holds “{odd.group()}”, as text does that was once read in the wrong "
            "encoding; compare it with the customer's own file."
        )
    return text, tuple(notes)


def plain_draft(text: str, notes: tuple[str, ...], name: str) -> Draft:  # noqa: ARG001
    """Plain text as a draft; the text itself is not changed."""
    spans = _lines(text)
    blocks = _blocks(text, spans)
    if len(blocks) == 1:
        paragraphs = _split_unparted(text, blocks[0])
    else:
        paragraphs = [part for block in blocks for part in _split_block(block)]
    return Draft(text, tuple(_trimmed(text, paragraphs)), (), notes)


def _lines(text: str) -> list[Span]:
    ends = [match.start() for match in re.finditer("\n", text)] + [len(text)]
    return [Span(before + 1, end) for before, end in pairwise([-1, *ends])]


def _blocks(text: str, lines: list[Span]) -> list[list[Span]]:
    """Runs of lines that have something on them."""
    blocks: list[list[Span]] = []
    fresh = True
    for line in lines:
        if not text[line.start : line.end].strip():
            fresh = True
            continue
        if fresh:
            blocks.append([])
            fresh = False
        blocks[-1].append(line)
    return blocks


def _split_block(block: list[Span]) -> list[Span]:
    if any(line.end - line.start > LONGEST_WRAPPED for line in block):
        return block
    return [Span(block[0].start, block[-1].end)]


def _split_unparted(text: str, block: list[Span]) -> list[Span]:
    """The paragraphs of a text without empty lines."""
    if any(line.end - line.start > LONGEST_WRAPPED for line in block):
        return block
    width = max(line.end - line.start for line in block)
    meant = [_was_meant(text, before, line, width) for before, line in pairwise(block)]
    # The widest line tells nothing: it is its own measure.
    telling = [
        fresh for line, fresh in zip(block, meant, strict=False) if line.end - line.start < width
    ]
    if sum(telling) * 2 > len(telling):  # not wrapped at all: a list, or verse
        return block
    parts = [[block[0]]]
    for line, fresh in zip(block[1:], meant, strict=True):
        if fresh:
            parts.append([])
        parts[-1].append(line)
    return [Span(part[0].start, part[-1].end) for part in parts]


def _was_meant(text: str, before: Span, line: Span, width: int) -> bool:
    """Whether the end of line `before` was set on purpose, in a text `width` letters wide."""
    first_word = text[line.start : line.end].split(maxsplit=1)[0]
    room = width - len(text[before.start : before.end].rstrip())
    return room > len(first_word) or text[line.start].isspace()


def _trimmed(text: str, spans: list[Span]) -> list[Span]:
    trimmed = []
    for span in spans:
        held = text[span.start : span.end]
        start = span.start + len(held) - len(held.lstrip())
        trimmed.append(Span(start, start + len(held.strip())))
    return trimmed
