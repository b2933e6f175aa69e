"""ODT (OpenDocument text): the words a reader of the document sees.

As with DOCX: changes still tracked are refused, notes follow the text, a table is read row by
row with tabs between its cells, what can't be taken in is refused and what is left out is told.
OpenDocument collapses blanks in its XML; so does this reader.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from proofcheck.base.errors import CopyError
from proofcheck.copytext.draft import Draft, Galley
from proofcheck.copytext.leftover import Ticks, beginning, in_words, inherited, words_of
from proofcheck.copytext.odt_names import (
    DRAW,
    FO,
    OBJECTS,
    OFFICE,
    PARAGRAPHS,
    SHAPES,
    SILENT,
    STYLE,
    TABLE,
    TEXT,
)
from proofcheck.copytext.packed import Pack, guarded, nearest

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

__all__ = ["odt_draft"]

_BLANKS = re.compile("[ \t\r\n]+")
_MOST_BLANKS = 100  # a run of spaces can be declared by its length, so it can lie
_TRAITS = {
    FO + "font-style": {"italic": "italic", "oblique": "italic", "normal": ""},
    FO + "font-weight": {"bold": "bold", "normal": ""},
    FO + "font-variant": {"small-caps": "small-caps", "normal": ""},
}
_HIDDEN = "display"
_Worn = dict[str, str]  # trait → style, "" where it is switched off


def odt_draft(data: bytes, name: str) -> Draft:
    """The text of an ODT file.

    Raises:
        CopyError: damaged, locked, too large, or holding tracked changes.
    """

    def make(pack: Pack) -> Draft:
        if b"encryption-data" in (pack.text("META-INF/manifest.xml") or b""):
            raise pack.locked()
        return _Reader(pack, name).draft()

    return guarded(make, data, name)


@dataclass(slots=True)
class _Reader:
    pack: Pack
    name: str
    galley: Galley = field(default_factory=Galley)
    notes: list[Element] = field(default_factory=list)
    boxes: list[Element] = field(default_factory=list)
    ticks: Ticks = field(default_factory=Ticks)
    styles: dict[str, _Worn] = field(default_factory=dict)
    after_blank: bool = True

    def draft(self) -> Draft:
        content = self.pack.body("content.xml")
        body = content.find(f"{OFFICE}body/{OFFICE}text")
        if body is None:
            msg = f"{self.name}: no text document; save the copy as text, DOCX or ODT."
            raise CopyError(msg)
        self._refuse_changes(body)
        self.styles = _worn_by_style(self.pack.tree("styles.xml"), content)
        self._blocks(body)
        # A note may call notes of its own, so the list grows as it is gone through.
        for number, note in enumerate(self.notes, start=1):
            self._note(number, note)
        self.ticks.seen["notes"] = len(self.notes)
        self.ticks.refuse_rest(body, self.name, SILENT)
        self._count_heads()
        return self.galley.draft(in_words(self.ticks))

    def _count_heads(self) -> None:
        shared = self.pack.tree("styles.xml")
        for tag in ("header", "footer", "header-left", "footer-left", "header-first"):
            for part in () if shared is None else shared.iter(STYLE + tag):
                if words_of(part):
                    self.ticks.leave(part, "heads")

    def _refuse_changes(self, body: Element) -> None:
        changes = sum(1 for _ in body.iter(TEXT + "changed-region"))
        if changes:
            msg = (
                f"{self.name}: holds {changes} tracked changes nobody has accepted or refused; "
                "settle them in the word processor and save again."
            )
            raise CopyError(msg)

    def _blocks(self, parent: Element) -> None:
        for element in parent:
            if element.tag in PARAGRAPHS:
                self._paragraph(element)
                self._end_paragraph()
            elif element.tag == TABLE + "table":
                self._table(element)
            elif element.tag in SHAPES:
                self._drawn(element)
                self._set_boxes()
            elif not self._is_left_out(element):
                self.ticks.seen["numbered"] += element.tag == TEXT + "list-item"
                self._blocks(element)

    def _is_left_out(self, element: Element) -> bool:
        """Whether an element is no matter, or hidden, or a comment; refuses what can't be had."""
        hidden = (
            element.get(TEXT + "display") == "none"
            or element.get(TEXT + "is-hidden") == "true"
            or self.styles.get(element.get(TEXT + "style-name", ""), {}).get(_HIDDEN)
            or element.find(TEXT + "hidden-paragraph[@" + TEXT + "is-hidden='true']") is not None
        )
        if hidden:
            self.ticks.leave(element, "hidden" if words_of(element) else "")
        elif element.tag == OFFICE + "annotation":
            self.ticks.leave(element, "comments")
        elif element.tag == TEXT + "ruby-text":
            self.ticks.leave(element, "ruby")
        elif element.tag in OBJECTS:
            self._refuse_object(element)
        else:
            return element.tag in SILENT
        return True

    def _refuse_object(self, element: Element) -> None:
        shown = words_of(element)
        what = f" (“{beginning(shown)}”)" if shown else ""
        msg = (
            f"{self.name}: holds an equation, chart or other object{what}, which can't be taken "
            "in; type it as text and save again, or take it out of the copy and read it by eye."
        )
        raise CopyError(msg)

    def _drawn(self, shape: Element) -> None:
        """The text of a frame or shape is kept to be set after the paragraph in hand."""
        waiting, boxes = [shape], []
        while waiting:
            element = waiting.pop()
            if element.tag in OBJECTS:
                self._refuse_object(element)
            if element.tag == DRAW + "text-box" or element.find(TEXT + "p") is not None:
                boxes.append(element)
            else:
                waiting.extend(reversed(element))
        held = [box for box in boxes if words_of(box)]
        self.boxes += held
        self.ticks.seen["boxes"] += len(held)
        self.ticks.seen["pictures"] += not held

    def _paragraph(self, paragraph: Element) -> None:
        self.after_blank = True
        if not self._is_left_out(paragraph):
            self._matter(paragraph, self._worn(paragraph, {}))

    def _end_paragraph(self) -> None:
        self.galley.end_paragraph()
        self._set_boxes()

    def _set_boxes(self) -> None:
        boxes, self.boxes = self.boxes, []
        for box in boxes:
            self._blocks(box)

    def _table(self, table: Element) -> None:
        for row in nearest(table, {TABLE + "table-row"}):
            for covered in nearest(row, {TABLE + "covered-table-cell"}):
                self.ticks.leave(covered, "hidden" if words_of(covered) else "")
            for cell in nearest(row, {TABLE + "table-cell"}):
                for number, paragraph in enumerate(nearest(cell, PARAGRAPHS)):
                    self.galley.add("\n" if number else "")
                    self._paragraph(paragraph)
                self.galley.add("\t")
            self._end_paragraph()

    def _matter(self, parent: Element, worn: _Worn) -> None:
        self.ticks.take(parent)
        self._set(parent.text, worn)
        for element in parent:
            self._inline(element, worn)
            self._set(element.tail, worn)

    def _inline(self, element: Element, worn: _Worn) -> None:
        if element.tag == TEXT + "s":
            self._exact(" " * _count(element), worn)
        elif element.tag == TEXT + "tab":
            self._exact("\t", worn)
        elif element.tag == TEXT + "line-break":
            self._exact("\n", worn)
        elif element.tag == TEXT + "note":
            self.notes.append(element)
            self._exact(_citation(element, len(self.notes)), worn)
            self.after_blank = False
        elif element.tag in SHAPES:
            self._drawn(element)
        elif element.tag not in PARAGRAPHS and not self._is_left_out(element):
            self._matter(element, self._worn(element, worn))

    def _set(self, text: str | None, worn: _Worn) -> None:
        """Set text with its blanks collapsed, also across the borders of elements."""
        matter = _BLANKS.sub(" ", text or "")
        if self.after_blank:
            matter = matter.removeprefix(" ")
        if matter:
            self._exact(matter, worn)
            self.after_blank = matter.endswith(" ")

    def _exact(self, text: str, worn: _Worn) -> None:
        self.galley.add(text, frozenset(s for trait, s in worn.items() if s and trait in _TRAITS))

    def _note(self, number: int, note: Element) -> None:
        body, called = note.find(TEXT + "note-body"), note.find(TEXT + "note-citation")
        if called is not None:
            self.ticks.leave(called)
        if body is not None:
            self.galley.add(_citation(note, number) + " ")
            self._blocks(body)

    def _worn(self, element: Element, outer: _Worn) -> _Worn:
        return outer | self.styles.get(element.get(TEXT + "style-name", ""), {})


def _count(blanks: Element) -> int:
    declared = blanks.get(TEXT + "c", "1")
    if not declared.isdecimal():
        return 1
    return min(int(declared[:9]), _MOST_BLANKS) if len(declared) < 10 else _MOST_BLANKS


def _citation(note: Element, number: int) -> str:
    citation = note.find(TEXT + "note-citation")
    shown = "" if citation is None else "".join(citation.itertext()).strip()
    return shown or str(number)


def _worn_by_style(shared: Element | None, content: Element) -> dict[str, _Worn]:
    """What each style switches on or off; the document's own styles come last and win."""
    own: dict[str, _Worn] = {}
    parents: dict[str, str] = {}
    for tree in (shared, content):
        for style in () if tree is None else tree.iter(STYLE + "style"):
            name = style.get(STYLE + "name", "")
            properties = style.find(STYLE + "text-properties")
            own[name] = {} if properties is None else _traits(properties)
            parents[name] = style.get(STYLE + "parent-style-name", "")
    return inherited(own, parents)


def _traits(properties: Element) -> _Worn:
    found: _Worn = {}
    for trait, styles in _TRAITS.items():
        value = properties.get(trait)
        if value is not None and value in styles:
            found[trait] = styles[value]
    shown = properties.get(TEXT + "display")
    if shown is not None:
        found[_HIDDEN] = "hidden" if shown == "none" else ""
    return found
