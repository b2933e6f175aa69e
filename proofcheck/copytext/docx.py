"""DOCX (Office Open XML text documents): the words a reader of the document sees.

Read from the file's own XML: the usual libraries drop insertions or run notes into the
sentence. Changes nobody has accepted or refused make the copy no approved copy, and are
refused. A table is read row by row, its cells parted by tabs.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from proofcheck.copytext.draft import Draft, Galley
from proofcheck.copytext.packed import Pack, guarded, nearest
from proofcheck.errors import CopyError

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

__all__ = ["docx_draft"]

_W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
_MC = "{http://schemas.openxmlformats.org/markup-compatibility/2006}"
_CHANGES = frozenset(
    _W + tag for tag in ("ins", "del", "moveFrom", "moveTo", "cellIns", "cellDel", "cellMerge")
)
_STYLES = {"i": "italic", "b": "bold", "smallCaps": "small-caps"}
_TOGGLES = (*_STYLES, "caps", "vanish")
_OFF = frozenset({"0", "false", "off", "none"})
_CHARACTERS = {
    _W + "tab": "\t",
    _W + "br": "\n",
    _W + "cr": "\n",
    _W + "noBreakHyphen": "-",
    _W + "softHyphen": "\u00ad",
}
_NOTES = {_W + "footnoteReference": "footnote", _W + "endnoteReference": "endnote"}
_SKIPPED = frozenset(_W + tag for tag in ("instrText", "delText", "pPr", "rPr", "sectPr", "rt"))


def docx_draft(data: bytes, name: str) -> Draft:
    """The text of a DOCX file.

    Footnotes and endnotes follow the text as paragraphs of their own; the figure that calls
    one stands in the sentence and at the head of the note, counted from 1.

    Raises:
        CopyError: damaged, locked, too large, or holding tracked changes.
    """

    def make(pack: Pack) -> Draft:
        return _Reader(pack, name).draft()

    return guarded(make, data, name)


@dataclass(slots=True)
class _Reader:
    pack: Pack
    name: str
    galley: Galley = field(default_factory=Galley)
    notes: list[tuple[str, str, bool]] = field(default_factory=list)
    """Kind, identity, and whether it has a mark of its own, as they are called."""
    boxes: list[Element] = field(default_factory=list)
    """Text boxes met in the paragraph in hand; set after it."""
    seen: Counter[str] = field(default_factory=Counter)
    styles: dict[str, dict[str, bool]] = field(default_factory=dict)

    def draft(self) -> Draft:
        document = self.pack.body("word/document.xml")
        self._refuse_changes(document)
        self.styles = _style_toggles(self.pack.tree("word/styles.xml"))
        self._blocks(document)
        self._set_notes()
        return self.galley.draft(self._remarks())

    def _refuse_changes(self, tree: Element) -> None:
        changes = sum(element.tag in _CHANGES for element in tree.iter())
        if changes:
            msg = (
                f"{self.name}: holds {changes} tracked changes nobody has accepted or refused; "
                "settle them in the word processor and save again."
            )
            raise CopyError(msg)

    def _blocks(self, parent: Element) -> None:
        for element in parent:
            if element.tag == _W + "p":
                self._paragraph(element)
                self._end_paragraph()
            elif element.tag == _W + "tbl":
                self._table(element)
            elif element.tag == _MC + "AlternateContent":
                self._blocks(_preferred(element))
            elif element.tag not in _SKIPPED:
                self._blocks(element)

    def _paragraph(self, paragraph: Element) -> None:
        properties = paragraph.find(_W + "pPr")
        style = None
        if properties is not None:
            style = properties.find(_W + "pStyle")
            self.seen["numbered"] += properties.find(_W + "numPr") is not None
        base = self._style(style)
        self._runs(paragraph, base)

    def _end_paragraph(self) -> None:
        self.galley.end_paragraph()
        boxes, self.boxes = self.boxes, []
        for box in boxes:
            self._blocks(box)

    def _table(self, table: Element) -> None:
        for row in nearest(table, {_W + "tr"}):
            for cell in nearest(row, {_W + "tc"}):
                for number, paragraph in enumerate(nearest(cell, {_W + "p"})):
                    self.galley.add("\n" if number else "")
                    self._paragraph(paragraph)
                self.galley.add("\t")
            self._end_paragraph()

    def _runs(self, parent: Element, base: dict[str, bool]) -> None:
        for element in parent:
            if element.tag == _W + "r":
                self._run(element, base)
            elif element.tag == _MC + "AlternateContent":
                self._runs(_preferred(element), base)
            elif element.tag not in _SKIPPED:
                self._runs(element, base)

    def _run(self, run: Element, base: dict[str, bool]) -> None:
        toggles = dict(base)
        properties = run.find(_W + "rPr")
        if properties is not None:
            toggles |= self._style(properties.find(_W + "rStyle"))
            toggles |= _direct_toggles(properties)
        if toggles.get("vanish"):
            self.seen["hidden"] += 1
            return
        self._pieces(run, toggles)

    def _pieces(self, run: Element, toggles: dict[str, bool]) -> None:
        worn = frozenset(style for tag, style in _STYLES.items() if toggles.get(tag))
        for element in run:
            if element.tag == _W + "t":
                text = " ".join((element.text or "").replace("\n", " ").split("\t"))
                self.galley.add(text.upper() if toggles.get("caps") else text, worn)
            elif element.tag in _CHARACTERS:
                self.galley.add(_CHARACTERS[element.tag], worn)
            elif element.tag in _NOTES:
                self._call_note(element)
            elif element.tag == _MC + "AlternateContent":
                self._pieces(_preferred(element), toggles)
            elif element.tag == _W + "sym":
                self.seen["symbols"] += 1
                self.galley.add("\ufffd", worn)
            elif element.tag not in _SKIPPED:
                self.boxes += nearest(element, {_W + "txbxContent"})

    def _call_note(self, call: Element) -> None:
        own_mark = call.get(_W + "customMarkFollows", "0") not in _OFF
        self.notes.append((_NOTES[call.tag], call.get(_W + "id", ""), own_mark))
        if not own_mark:
            self.galley.add(str(len(self.notes)))

    def _set_notes(self) -> None:
        parts = {kind: self.pack.tree(f"word/{kind}s.xml") for kind in ("footnote", "endnote")}
        for tree in parts.values():
            if tree is not None:
                self._refuse_changes(tree)
        texts = {
            (kind, note.get(_W + "id", "")): note
            for kind, tree in parts.items()
            if tree is not None
            for note in tree.findall(_W + kind)
        }
        for number, (kind, identity, own_mark) in enumerate(tuple(self.notes), start=1):
            note = texts.get((kind, identity))
            if note is not None:
                self.galley.add("" if own_mark else f"{number} ")
                self._blocks(note)

    def _style(self, named: Element | None) -> dict[str, bool]:
        return {} if named is None else self.styles.get(named.get(_W + "val", ""), {})

    def _remarks(self) -> tuple[str, ...]:
        remarks = {
            "numbered": "{} paragraphs get a number or bullet from the word processor, which is "
            "not in the copy as loaded; type the numbers in to have them compared.",
            "hidden": "{} stretches of hidden text were left out.",
            "symbols": "{} characters of a symbol font stand as U+FFFD.",
        }
        told = [text.format(self.seen[key]) for key, text in remarks.items() if self.seen[key]]
        if self.notes:
            told.append(f"{len(self.notes)} footnotes stand after the text.")
        return tuple(told)


def _preferred(alternates: Element) -> Element:
    """The first choice among alternates; the others repeat the same words."""
    choice = alternates.find(_MC + "Choice")
    return alternates if choice is None else choice


def _direct_toggles(properties: Element) -> dict[str, bool]:
    found = {}
    for tag in _TOGGLES:
        element = properties.find(_W + tag)
        if element is not None:
            found[tag] = element.get(_W + "val", "1") not in _OFF
    return found


def _style_toggles(sheet: Element | None) -> dict[str, dict[str, bool]]:
    """What each named style switches on, with what it is based on."""
    if sheet is None:
        return {}
    own: dict[str, dict[str, bool]] = {}
    based: dict[str, str] = {}
    for style in sheet.findall(_W + "style"):
        identity = style.get(_W + "styleId", "")
        properties, parent = style.find(_W + "rPr"), style.find(_W + "basedOn")
        own[identity] = {} if properties is None else _direct_toggles(properties)
        if parent is not None:
            based[identity] = parent.get(_W + "val", "")
    return {identity: _inherited(identity, own, based) for identity in own}


def _inherited(
    identity: str, own: dict[str, dict[str, bool]], based: dict[str, str]
) -> dict[str, bool]:
    chain: list[str] = []
    while identity in own and identity not in chain:
        chain.append(identity)
        identity = based.get(identity, "")
    found: dict[str, bool] = {}
    for each in reversed(chain):
        found |= own[each]
    return found
