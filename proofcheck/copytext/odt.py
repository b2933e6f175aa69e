"""ODT (OpenDocument text): the words a reader of the document sees.

As with DOCX: changes still tracked are refused, notes follow the text, a table is read row by
row with tabs between its cells. OpenDocument collapses blanks in its XML; so does this reader.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from proofcheck.copytext.draft import Draft, Galley
from proofcheck.copytext.packed import Pack, guarded, nearest
from proofcheck.errors import CopyError

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

__all__ = ["odt_draft"]

_NAMES = "{urn:oasis:names:tc:opendocument:xmlns:%s:1.0}"
_OFFICE, _TEXT, _TABLE = _NAMES % "office", _NAMES % "text", _NAMES % "table"
_STYLE, _DRAW = _NAMES % "style", _NAMES % "drawing"
_FO = _NAMES % "xsl-fo-compatible"
_PARAGRAPHS = frozenset({_TEXT + "p", _TEXT + "h"})
_SKIPPED = frozenset(
    {
        _OFFICE + "annotation",
        _OFFICE + "forms",
        _TEXT + "ruby-text",
        _TEXT + "sequence-decls",
        _TABLE + "table-column",
    }
)
_BLANKS = re.compile("[ \t\r\n]+")
_MOST_BLANKS = 100  # a run of spaces can be declared by its length, so it can lie
_TRAITS = {
    _FO + "font-style": {"italic": "italic", "oblique": "italic", "normal": ""},
    _FO + "font-weight": {"bold": "bold", "normal": ""},
    _FO + "font-variant": {"small-caps": "small-caps", "normal": ""},
}
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
    seen: Counter[str] = field(default_factory=Counter)
    styles: dict[str, _Worn] = field(default_factory=dict)
    after_blank: bool = True

    def draft(self) -> Draft:
        content = self.pack.body("content.xml")
        body = content.find(f"{_OFFICE}body/{_OFFICE}text")
        if body is None:
            msg = f"{self.name}: no text document; save the copy as text, DOCX or ODT."
            raise CopyError(msg)
        self._refuse_changes(body)
        self.styles = _worn_by_style(self.pack.tree("styles.xml"), content)
        self._blocks(body)
        for number, note in enumerate(tuple(self.notes), start=1):
            self._note(number, note)
        return self.galley.draft(self._remarks())

    def _refuse_changes(self, body: Element) -> None:
        changes = sum(1 for _ in body.iter(_TEXT + "changed-region"))
        if changes:
            msg = (
                f"{self.name}: holds {changes} tracked changes nobody has accepted or refused; "
                "settle them in the word processor and save again."
            )
            raise CopyError(msg)

    def _blocks(self, parent: Element) -> None:
        for element in parent:
            if element.tag in _PARAGRAPHS:
                self._paragraph(element)
                self._end_paragraph()
            elif element.tag == _TABLE + "table":
                self._table(element)
            elif element.tag not in _SKIPPED:
                self.seen["numbered"] += element.tag == _TEXT + "list-item"
                self._blocks(element)

    def _paragraph(self, paragraph: Element) -> None:
        self.after_blank = True
        self._matter(paragraph, self._worn(paragraph, {}))

    def _end_paragraph(self) -> None:
        self.galley.end_paragraph()
        boxes, self.boxes = self.boxes, []
        for box in boxes:
            self._blocks(box)

    def _table(self, table: Element) -> None:
        for row in nearest(table, {_TABLE + "table-row"}):
            for cell in nearest(row, {_TABLE + "table-cell"}):
                for number, paragraph in enumerate(nearest(cell, _PARAGRAPHS)):
                    self.galley.add("\n" if number else "")
                    self._paragraph(paragraph)
                self.galley.add("\t")
            self._end_paragraph()

    def _matter(self, parent: Element, worn: _Worn) -> None:
        self._set(parent.text, worn)
        for element in parent:
            self._inline(element, worn)
            self._set(element.tail, worn)

    def _inline(self, element: Element, worn: _Worn) -> None:
        if element.tag == _TEXT + "s":
            self._exact(" " * _count(element), worn)
        elif element.tag == _TEXT + "tab":
            self._exact("\t", worn)
        elif element.tag == _TEXT + "line-break":
            self._exact("\n", worn)
        elif element.tag == _TEXT + "note":
            self.notes.append(element)
            self._exact(_citation(element, len(self.notes)), worn)
            self.after_blank = False
        elif element.tag == _DRAW + "frame":
            self.boxes += nearest(element, {_DRAW + "text-box"})
        elif element.tag not in _SKIPPED:
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
        self.galley.add(text, frozenset(style for style in worn.values() if style))

    def _note(self, number: int, note: Element) -> None:
        body = note.find(_TEXT + "note-body")
        if body is not None:
            self.galley.add(_citation(note, number) + " ")
            self._blocks(body)

    def _worn(self, element: Element, outer: _Worn) -> _Worn:
        return outer | self.styles.get(element.get(_TEXT + "style-name", ""), {})

    def _remarks(self) -> tuple[str, ...]:
        told = []
        if self.seen["numbered"]:
            told.append(
                f"{self.seen['numbered']} list items get a number or bullet from the word "
                "processor, which is not in the copy as loaded; type the numbers in to have "
                "them compared."
            )
        if self.notes:
            told.append(f"{len(self.notes)} footnotes stand after the text.")
        return tuple(told)


def _count(blanks: Element) -> int:
    declared = blanks.get(_TEXT + "c", "1")
    return min(int(declared), _MOST_BLANKS) if declared.isdecimal() else 1


def _citation(note: Element, number: int) -> str:
    citation = note.find(_TEXT + "note-citation")
    shown = "" if citation is None else "".join(citation.itertext()).strip()
    return shown or str(number)


def _worn_by_style(shared: Element | None, content: Element) -> dict[str, _Worn]:
    """What each style switches on or off; the document's own styles come last and win."""
    own: dict[str, _Worn] = {}
    parents: dict[str, str] = {}
    for tree in (shared, content):
        for style in () if tree is None else tree.iter(_STYLE + "style"):
            name = style.get(_STYLE + "name", "")
            properties = style.find(_STYLE + "text-properties")
            own[name] = {} if properties is None else _traits(properties)
            parents[name] = style.get(_STYLE + "parent-style-name", "")
    return {name: _inherited(name, own, parents) for name in own}


def _traits(properties: Element) -> _Worn:
    found: _Worn = {}
    for trait, styles in _TRAITS.items():
        value = properties.get(trait)
        if value is not None and value in styles:
            found[trait] = styles[value]
    return found


def _inherited(name: str, own: dict[str, _Worn], parents: dict[str, str]) -> _Worn:
    chain: list[str] = []
    while name in own and name not in chain:
        chain.append(name)
        name = parents.get(name, "")
    found: _Worn = {}
    for each in reversed(chain):
        found |= own[each]
    return found
