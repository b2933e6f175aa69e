"""What every loader makes, and the galley on which the structured ones set it."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

from proofcheck.base.values import Emphasis, Span

__all__ = ["Draft", "Galley"]


@dataclass(frozen=True, slots=True)
class Draft:
    """Copy before it has a name: text, paragraphs, emphasis, and what loading decided."""

    text: str
    paragraphs: tuple[Span, ...]
    emphasis: tuple[Emphasis, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(slots=True)
class Galley:
    """Takes paragraphs piece by piece and joins them by an empty line.

    Blank paragraphs are dropped, and blanks at either end of one; a style goes on over
    adjoining pieces that both have it.
    """

    _pieces: list[str] = field(default_factory=list)
    _length: int = 0
    _paragraphs: list[Span] = field(default_factory=list)
    _emphasis: list[Emphasis] = field(default_factory=list)
    _open: list[tuple[str, frozenset[str]]] = field(default_factory=list)

    def add(self, text: str, styles: frozenset[str] = frozenset()) -> None:
        """Set `text` on at the end of the paragraph in hand, in the given styles."""
        if text:
            self._open.append((text, styles))

    def end_paragraph(self) -> None:
        """Close the paragraph in hand; without matter in it nothing is set."""
        pieces, self._open = self._open, []
        whole = "".join(text for text, _ in pieces)
        matter = whole.strip()
        if not matter:
            return
        lead = len(whole) - len(whole.lstrip())
        start = self._length + (2 if self._pieces else 0)
        span = Span(start, start + len(matter))
        if self._pieces:
            self._pieces.append("\n\n")
        self._pieces.append(matter)
        self._length = span.end
        self._paragraphs.append(span)
        self._note_styles(pieces, start - lead, span)

    def draft(self, notes: tuple[str, ...]) -> Draft:
        """All that was set, the paragraph in hand included."""
        self.end_paragraph()
        return Draft("".join(self._pieces), tuple(self._paragraphs), tuple(self._emphasis), notes)

    def _note_styles(self, pieces: list[tuple[str, frozenset[str]]], at: int, within: Span) -> None:
        edges = [at]
        for text, _ in pieces:
            edges.append(edges[-1] + len(text))
        running: dict[str, Span] = {}
        found: list[Emphasis] = []
        for (start, end), (_, styles) in zip(pairwise(edges), pieces, strict=True):
            for style in sorted(styles):
                held = running.get(style)
                if held and held.end == start:
                    running[style] = Span(held.start, end)
                    continue
                if held:
                    found.append(Emphasis(held, style))
                running[style] = Span(start, end)
        found += [Emphasis(span, style) for style, span in running.items()]
        for span, style in sorted((e.span, e.style) for e in found):
            start, end = max(span.start, within.start), min(span.end, within.end)
            if start < end:
                self._emphasis.append(Emphasis(Span(start, end), style))
