"""Helps the tests of collation: copy and readings from plain text, and faults put right again."""

from __future__ import annotations

import re
from random import Random

from proofcheck.base.found import Collation, Difference
from proofcheck.base.kinds import Group, Kind, of_group
from proofcheck.base.values import Box, Copy, Letter, Line, Reading, Span
from proofcheck.collate.same import Rules, compared

STRICT = Rules().without("dash-space", "point-space", "leaders", "folio")
"""Nothing passes that could be put right."""


def copy_of(text: str) -> Copy:
    """Copy whose paragraphs are parted by line ends."""
    paragraphs = tuple(Span(*m.span()) for m in re.finditer(r"[^\n]*\S[^\n]*", text))
    return Copy(text, "-", "0" * 64, "utf-8", paragraphs)


def readings_of(lines: list[str]) -> list[Reading]:
    return [
        Reading(
            number,
            tuple(Letter(c, Box(10 * k, 20 * number, 8, 12), 1.0) for k, c in enumerate(line)),
        )
        for number, line in enumerate(lines, 1)
    ]


def put_right(collation: Collation, readings: list[Reading], copy: Copy) -> str:
    """The proof's text, in the compared form, once every difference is put right as told.

    In small letters where a word is set in capitals: what is wrong in it is told in capitals.
    """
    texts = {r.line: r.text for r in readings}
    gone = {
        n
        for d in collation.differences
        if d.kind in (Kind.LINE_DOUBLED, Kind.LINE_FOREIGN)
        for n in (d.line, *(d.other_lines if d.kind is Kind.LINE_FOREIGN else ()))
    }
    pieces: list[tuple[int, int, str]] = []
    for placing in collation.placings:
        if placing.line in gone or placing.copy is None:
            continue
        text = _line_put_right(texts[placing.line], placing.line, collation)
        pieces.append((placing.copy.start, placing.copy.end, text))
    pieces += [(*d.copy, d.copy_text) for d in collation.differences if _between_lines(d)]
    pieces.sort()
    out = ""
    for k, (_, end, text) in enumerate(pieces):
        following = pieces[k + 1][0] if k + 1 < len(pieces) else end
        joined = following == end and k + 1 < len(pieces)
        divided = joined and text.endswith("-") and copy.text[end - 1] != "-"
        out += text[:-1] if divided else text
        out += "" if joined else " "
    form = compared(out, STRICT).text
    return as_compared(form, collation)


def as_compared(form: str, collation: Collation) -> str:
    """A text as `put_right` gives it."""
    styled = any(d.kind is Kind.CASE and d.only_query for d in collation.differences)
    return form.lower() if styled else form


def _line_put_right(text: str, number: int, collation: Collation) -> str:
    inside = [
        d
        for d in collation.differences
        if d.line == number
        and not _between_lines(d)
        and d.kind not in of_group(Group.LINES)
        and d.kind not in (Kind.PARAGRAPH, Kind.BAD_DIVISION)
    ]
    for d in reversed(inside):
        assert text[d.proof.start : d.proof.end] == d.proof_text or d.proof_text
        text = text[: d.proof.start] + d.copy_text + text[d.proof.end :]
    return text


def _between_lines(d: Difference) -> bool:
    """Whether what is missing is of no printed line: it has no space before it to set."""
    if d.kind not in (Kind.LINE_MISSING, Kind.MATTER_MISSING, Kind.WORD_MISSING):
        return False
    at_end = d.proof.start > 0 or d.line == 0
    return d.kind is Kind.LINE_MISSING or (at_end and not d.copy_text.startswith(" "))


def lines_of(readings: list[Reading], columns: list[int]) -> list[Line]:
    """Geometry for readings: each column from the head of the sheet, 20 px a line."""
    rows = [columns[:k].count(column) for k, column in enumerate(columns)]
    return [
        Line(
            number=reading.line,
            sheet=0,
            column=column,
            box=Box(10 + 500 * column, 20 * row, 10 * len(reading.letters), 14),
            baseline=(20.0 * row + 12, 20.0 * row + 12),
            x_height_px=8.0,
            body_pt=10.0,
        )
        for reading, column, row in zip(readings, columns, rows, strict=True)
    ]


def set_in_lines(text: str, measure: int, rng: Random, *, divide: bool = True) -> list[str]:
    """Words set in lines of at most `measure` characters, long ones divided now and then."""
    lines, line = [], ""
    for word in text.split():
        longer = f"{line} {word}" if line else word
        room = measure - len(line) - 2
        if len(longer) <= measure or not line:
            line = longer
        elif divide and word.isalpha() and 3 <= room <= len(word) - 3 and rng.random() < 0.6:
            lines.append(f"{line} {word[:room]}-")
            line = word[room:]
        else:
            lines.append(line)
            line = word
    return [*lines, line]


def pages_of(sheets: list[list[list[str]]]) -> tuple[list[Reading], list[Line]]:
    """Readings and lines of sheets of columns of lines, as `data/allowance_cases.toml` has them.

    A letter is 10 px wide, a row 24 px deep, a wide gap 60 px.
    """
    readings: list[Reading] = []
    lines: list[Line] = []
    for sheet, columns in enumerate(sheets):
        left = 100
        for column, rows in enumerate(columns):
            for row, text in enumerate(rows):
                if not text:
                    continue
                at, y = left + 10 * (len(text) - len(text.lstrip(" "))), 100 + 24 * row
                letters = []
                for char in text.strip(" "):
                    width = 60 if char == "\u2003" else 10
                    shown = " " if char == "\u2003" else char
                    letters.append(Letter(shown, Box(at, y, width, 12), 1.0))
                    at += width
                box = Box.around(letter.box for letter in letters)._replace(height=16)
                number = len(lines) + 1
                readings.append(Reading(number, tuple(letters)))
                lines.append(Line(number, sheet, column, box, (y + 12.0, y + 12.0), 8.0, 10.0))
            left += 10 * max(map(len, rows)) + 60
    return readings, lines
