"""The marked revise: ✓ for what was made, and what was missed or is new, in the margin."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.marks.lettering import write
from proofcheck.marks.paths import Drawing, extent, moved, parse
from proofcheck.results.marked.parts import FAINT, INK, TYPE, Inked, Page
from proofcheck.revise.named import Named
from proofcheck.revise.shown import Made

if TYPE_CHECKING:
    from proofcheck.base.values import Line, Sheet
    from proofcheck.results.report import Report
    from proofcheck.revise.shown import Revise

__all__ = ["marked_pages"]

_TICK = "M0,.55L.35,0L1.05,1.35"
_MARGIN = 0.34
"""Width of the right margin as a share of the sheet's; the left is a quarter of it."""


def marked_pages(told: Revise, earlier: Report, later: Report, title: str) -> tuple[Page, ...]:
    """The revise's sheets with what became of each correction beside its line."""
    named = Named.of(earlier, later)
    by_number = {line.number: line for line in later.lines}
    notes: dict[int, list[tuple[str, bool]]] = {}
    for c in told.corrections:
        at = c.now if c.now is not None else 1
        name = told.asked_as(c)
        words = name if c.made is Made.MADE else f"{name} {c.made.value}: {named.correction(c)}"
        notes.setdefault(at, []).append((words, c.made is Made.MADE))
    for f in told.findings:
        words = f"{told.told_as(f)} new: {named.finding(f)}"
        notes.setdefault(max(f.line, 1), []).append((words, False))
    return tuple(
        _page(sheet, [by_number[n] for n in sorted(by_number)], notes, title)
        for sheet in later.sheets
    )


def _page(
    sheet: Sheet, lines: list[Line], notes: dict[int, list[tuple[str, bool]]], title: str
) -> Page:
    height, width = sheet.image.shape
    own = [line for line in lines if line.sheet == sheet.number]
    size = max(8.0, min((line.x_height_px for line in own), default=14.0) * 0.75)
    left, top = round(width * _MARGIN / 4), round(size * 6)
    right = round(width * _MARGIN)
    labels = [_inked(write(title, 0.0), left, size * 3.5, size * 1.3, TYPE)]
    y = 0.0
    for line in own:
        base = top + sum(line.baseline) / 2
        own_notes = notes.get(line.number, [])
        labels += _ticked([words for words, made in own_notes if made], left, base, size)
        for words in (words for words, made in own_notes if not made):
            y = max(y + 2.4 * size, base)
            for part in _broken(words, right * 0.94 / size):
                labels.append(_inked(write(part), left + width + right * 0.03, y, size, INK))
                y += 2.2 * size
            y -= 2.2 * size
        if own_notes:
            rule = parse(f"M0,0L{line.box.width},0")
            under = moved(rule, by=(left + line.box.x, base + size * 0.9))
            labels.append(Inked(under, size * 0.08, FAINT))
    page_height = max(height + top, round(y + 4 * size))
    return Page(
        sheet.number,
        left + width + right,
        page_height,
        sheet.dpi,
        sheet.as_printed(),
        (left, top),
        labels=tuple(labels),
    )


def _ticked(made: list[str], left: float, base: float, size: float) -> list[Inked]:
    """One tick beside a line, and what was made there, drawn small enough for the margin."""
    if not made:
        return []
    words = write(", ".join(made), 0.0)
    small = min(size * 0.9, left * 0.42 / max(extent(words).width, 1e-6))
    tick = _inked(parse(_TICK), left * 0.15, base, size * 1.7, INK)
    return [tick, _inked(words, left * 0.55, base, small, INK)]


def _inked(drawing: Drawing, x: float, y: float, size: float, ink: str) -> Inked:
    return Inked(moved(drawing, by=(x, y), scale=size, flip=True), 0.12 * size, ink)


def _broken(words: str, room: float) -> list[str]:
    """Words on lines no longer than the room, in x-heights of the hand."""
    lines = [""]
    for word in words.split():
        tried = f"{lines[-1]} {word}".strip()
        if lines[-1] and extent(write(tried)).width > room:
            lines.append(word)
        else:
            lines[-1] = tried
    return [line for line in lines if line]
