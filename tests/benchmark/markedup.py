"""A job as its author wrote it down: the copy it holds, and where each character of it stands.

A job is a piece of HTML. What a customer's copy would hold is its text in the order it is written:
a block or a row of a table is a line, cells are parted by a tab. What bears `data-not-copy` is no
copy (ornaments); what bears `data-times` stands so many times on the sheet and once in the copy.
"""

from __future__ import annotations

import html
from dataclasses import dataclass, field
from html.parser import HTMLParser

__all__ = ["Job", "read_markup"]

_LINES = frozenset((
    "article", "aside", "br", "caption", "div", "dd", "dl", "dt", "figure", "footer", "h1",
    "h2", "h3", "h4", "header", "hr", "li", "main", "ol", "p", "section", "table", "tbody",
    "td", "th", "thead", "tr", "ul",
))  # fmt: skip
_CELLS = frozenset(("td", "th"))
_EMPTY = frozenset(("br", "hr", "img", "input"))
_UNSEEN = frozenset(("style", "title", "script"))


@dataclass(frozen=True, slots=True)
class Job:
    """A job's source and its copy."""

    source: str
    kind: str
    copy: str
    places: tuple[tuple[int, int], ...]
    """Of each character of the copy, from where to where it stands in the source; of white space,
    with the marks of lines and cells that make it."""


@dataclass(slots=True)
class _Walk:
    chars: list[str] = field(default_factory=list)
    places: list[tuple[int, int]] = field(default_factory=list)
    gap: str = ""
    since: int = 0

    def part(self, gap: str, at: int) -> None:
        """White space from here; a line's end outweighs a cell's, and that a word's."""
        if not self.gap:
            self.since = at
        self.gap = max(self.gap, gap, key=("", " ", "\t", "\n").index)

    def put(self, char: str, start: int, end: int) -> None:
        if char.isspace():
            self.part(" ", start)
            return
        if self.gap and self.chars:
            self.chars.append(self.gap)
            self.places.append((self.since, start))
        self.gap = ""
        self.chars.append(char)
        self.places.append((start, end))


class _Reader(HTMLParser):
    def __init__(self, source: str) -> None:
        super().__init__(convert_charrefs=False)
        self.walk = _Walk()
        self.kind = ""
        self._open: list[tuple[str, bool]] = []
        self._starts = [0]
        for row in source.splitlines(keepends=True):
            self._starts.append(self._starts[-1] + len(row))

    def _at(self) -> int:
        row, column = self.getpos()
        return self._starts[row - 1] + column

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.kind = self.kind or given.get("data-kind") or ""
        self._line(tag)
        if tag not in _EMPTY:
            hidden = bool(self._open and self._open[-1][1])
            self._open.append((tag, hidden or tag in _UNSEEN or "data-not-copy" in given))

    def handle_endtag(self, tag: str) -> None:
        self._line(tag)
        while self._open and self._open.pop()[0] != tag:
            pass

    def _line(self, tag: str) -> None:
        if tag in _LINES:
            self.walk.part("\t" if tag in _CELLS else "\n", self._at())

    def handle_data(self, data: str) -> None:
        for at, char in enumerate(data, self._at()):
            self._put(char, at, at + 1)

    def handle_entityref(self, name: str) -> None:
        self._reference(f"&{name};")

    def handle_charref(self, name: str) -> None:
        self._reference(f"&#{name};")

    def _reference(self, written: str) -> None:
        self._put(html.unescape(written), self._at(), self._at() + len(written))

    def _put(self, char: str, start: int, end: int) -> None:
        if not (self._open and self._open[-1][1]) and char != "\u00ad":
            self.walk.put(char, start, end)


def read_markup(source: str) -> Job:
    """The copy that a job's source holds.

    Raises ValueError where it says no kind (`data-kind`) or has no words.
    """
    reader = _Reader(source)
    reader.feed(source)
    reader.close()
    copy = "".join(reader.walk.chars)
    if not reader.kind or not copy:
        raise ValueError("a job needs data-kind and some words")
    return Job(source, reader.kind, copy, tuple(reader.walk.places))
