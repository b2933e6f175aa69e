"""DOCX (Office Open XML text documents): the words a reader of the document sees.

Read from the file's own XML: the usual libraries drop insertions or run notes into the
sentence. Changes nobody has accepted or refused make the copy no approved copy, and are
refused. A table is read row by row, its cells parted by tabs. What would be printed and can't be
taken in (an equation, a diagram, drawn words) is refused; what is left out is told in a note, and
no element that holds words is passed over: see `leftover`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from proofcheck.base.errors import CopyError
from proofcheck.copytext.draft import Draft, Galley
from proofcheck.copytext.drawn import DRAWN, EQUATIONS, SILENT, boxes_in, refuse_equation
from proofcheck.copytext.leftover import Ticks, in_words, inherited, words_of
from proofcheck.copytext.packed import Pack, guarded, nearest

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
_ON = "on"
_OFF = frozenset({"0", "false", "off", "none"})
_CHARACTERS = {
    _W + "tab": "\t",
    _W + "ptab": "\t",
    _W + "br": "\n",
    _W + "cr": "\n",
    _W + "noBreakHyphen": "-",
    _W + "softHyphen": "\u00ad",
}
_NOTES = {_W + "footnoteReference": "footnote", _W + "endnoteReference": "endnote"}
_SKIPPED = frozenset(
    _W + tag
    for tag in ("instrText", "delText", "delInstrText", "fldData", "pPr", "rPr", "sectPr", "sdtPr")
)
_MADE = frozenset(
    _W + tag
    for tag in ("pgNum", "dayShort", "dayLong", "monthShort", "monthLong", "yearShort", "yearLong")
)
"""Page numbers and dates that the word processor puts in."""
_IMPORTED = frozenset({_W + "altChunk", _W + "subDoc"})
_Worn = dict[str, str]
"""What is switched on or off, by its tag: `_ON`, or "" for off."""


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
    ticks: Ticks = field(default_factory=Ticks)
    styles: dict[str, _Worn] = field(default_factory=dict)
    usual: str = ""
    """Style of paragraphs that name none."""
    numbered: set[str] = field(default_factory=set)
    """Styles whose paragraphs are numbered."""

    def draft(self) -> Draft:
        document = self.pack.body("word/document.xml")
        self._refuse_changes(document)
        self._take_styles(self.pack.tree("word/styles.xml"))
        self._blocks(document)
        noted = self._set_notes()
        for tree in (document, *noted):
            self.ticks.refuse_rest(tree, self.name, _SKIPPED | SILENT)
        self._count_left_out()
        return self.galley.draft(in_words(self.ticks))

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
                self._blocks(self._preferred(element))
            elif not self._is_apart(element):
                self._blocks(element)

    def _is_apart(self, element: Element) -> bool:
        """Whether an element is no matter to go into; refuses what can't be taken in."""
        if element.tag in EQUATIONS:
            refuse_equation(element, self.name)
        if element.tag in _IMPORTED:
            msg = (
                f"{self.name}: takes in another document, which is not read; put its words into "
                "this one and save again."
            )
            raise CopyError(msg)
        if element.tag in DRAWN:
            self.boxes += boxes_in(element, self.ticks, self.name)
            return True
        return element.tag in _SKIPPED

    def _paragraph(self, paragraph: Element) -> None:
        properties = paragraph.find(_W + "pPr")
        style = None
        number = None
        if properties is not None:
            style, number = properties.find(_W + "pStyle"), _numbered(properties)
        named = self.usual if style is None else style.get(_W + "val", "")
        self.ticks.seen["numbered"] += named in self.numbered if number is None else number
        self._runs(paragraph, self.styles.get(named, {}))

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

    def _runs(self, parent: Element, base: _Worn) -> None:
        for element in parent:
            if element.tag == _W + "r":
                self._run(element, base)
            elif element.tag == _MC + "AlternateContent":
                self._runs(self._preferred(element), base)
            elif element.tag == _W + "rt":
                self.ticks.leave(element, "ruby")
            elif not self._is_apart(element):
                self._runs(element, base)

    def _run(self, run: Element, base: _Worn) -> None:
        toggles = dict(base)
        properties = run.find(_W + "rPr")
        if properties is not None:
            toggles |= self._style(properties.find(_W + "rStyle"))
            toggles |= _direct_toggles(properties)
        if toggles.get("vanish"):
            self.ticks.leave(run, "hidden" if words_of(run) else "")
            return
        self._pieces(run, toggles)

    def _pieces(self, run: Element, toggles: _Worn) -> None:
        worn = frozenset(style for tag, style in _STYLES.items() if toggles.get(tag))
        for element in run:
            if element.tag == _W + "t":
                text = " ".join((element.text or "").replace("\n", " ").split("\t"))
                self.galley.add(text.upper() if toggles.get("caps") else text, worn)
                self.ticks.take(element)
            elif element.tag in _CHARACTERS:
                self.galley.add(_CHARACTERS[element.tag], worn)
            elif element.tag in _NOTES:
                self._call_note(element)
            elif element.tag == _MC + "AlternateContent":
                self._pieces(self._preferred(element), toggles)
            elif element.tag == _W + "sym":
                self.ticks.seen["symbols"] += 1
                self.galley.add("\ufffd", worn)
            elif element.tag == _W + "ruby":
                self._runs(element, toggles)
            else:
                self.ticks.seen["made"] += element.tag in _MADE
                self._is_apart(element)

    def _call_note(self, call: Element) -> None:
        own_mark = call.get(_W + "customMarkFollows", "0") not in _OFF
        self.notes.append((_NOTES[call.tag], call.get(_W + "id", ""), own_mark))
        if not own_mark:
            self.galley.add(str(len(self.notes)))

    def _set_notes(self) -> list[Element]:
        """Set the notes that are called; their parts of the document."""
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
        called = []
        for number, (kind, identity, own_mark) in enumerate(tuple(self.notes), start=1):
            note = texts.get((kind, identity))
            if note is not None:
                self.galley.add("" if own_mark else f"{number} ")
                self._blocks(note)
                called.append(note)
        self.ticks.seen["notes"] = len(self.notes)
        return called

    def _count_left_out(self) -> None:
        """Heads and feet of pages, and comments: left out, and told."""
        for part in self.pack.named("word/header", "word/footer"):
            tree = self.pack.tree(part)
            if tree is not None and words_of(tree):
                self.ticks.leave(tree, "heads")
        comments = self.pack.tree("word/comments.xml")
        for comment in () if comments is None else comments.findall(_W + "comment"):
            self.ticks.leave(comment, "comments")

    def _take_styles(self, sheet: Element | None) -> None:
        """What each named style switches on, with what it is based on."""
        own: dict[str, _Worn] = {}
        based: dict[str, str] = {}
        for style in () if sheet is None else sheet.findall(_W + "style"):
            identity = style.get(_W + "styleId", "")
            properties, parent = style.find(_W + "rPr"), style.find(_W + "basedOn")
            own[identity] = {} if properties is None else _direct_toggles(properties)
            if parent is not None:
                based[identity] = parent.get(_W + "val", "")
            layout = style.find(_W + "pPr")
            number = None if layout is None else _numbered(layout)
            if number is not None:
                own[identity]["numbered"] = _ON if number else ""
            if style.get(_W + "type") == "paragraph" and style.get(_W + "default", "0") not in _OFF:
                self.usual = identity
        self.styles = inherited(own, based)
        self.numbered = {name for name, worn in self.styles.items() if worn.get("numbered")}

    def _preferred(self, alternates: Element) -> Element:
        """The first choice among alternates, or the first with words; the others repeat it."""
        choices = list(alternates)
        chosen = next((choice for choice in choices if words_of(choice)), None)
        if chosen is None:
            chosen = choices[0] if choices else alternates
        for choice in choices:
            if choice is not chosen:
                self.ticks.leave(choice)
        return chosen

    def _style(self, named: Element | None) -> _Worn:
        return {} if named is None else self.styles.get(named.get(_W + "val", ""), {})


def _direct_toggles(properties: Element) -> _Worn:
    found = {}
    for tag in _TOGGLES:
        element = properties.find(_W + tag)
        if element is not None:
            found[tag] = "" if element.get(_W + "val", "1") in _OFF else _ON
    return found


def _numbered(properties: Element) -> bool | None:
    """Whether a paragraph's own properties give it a number; None where they say nothing."""
    number = properties.find(_W + "numPr")
    if number is None:
        return None
    identity = number.find(_W + "numId")
    return identity is None or identity.get(_W + "val", "") != "0"
