"""Set copy into lines as a line-casting machine and its operator do.

A line goes in with its spacebands at their least width and is spread to the measure; the operator
divides a word only where the line would stand too wide without it: two letters before, three
after, never three running (common practice; De Vinne and the style manuals of 1900-1920 agree).
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pyphen

from .faces import family
from .matter import (
    BANDS_IN,
    PT_PER_IN,
    Columns,
    Forme,
    Furniture,
    Gap,
    Head,
    Leader,
    Ornament,
    Para,
    Rule,
    Slug,
    Sort,
    Style,
    sorts_of,
)

__all__ = ["compose", "copy_of", "divisions"]

MARKS = {"_": "italic", "^": "small-caps", "*": "bold"}
LAST_LINE_BAND_EM = 0.33
TOO_WIDE_EM = 0.55
RUNNING_DIVISIONS = 2


def compose(blocks, *, measure_picas: float = 22.0, style: Style = Style()) -> Forme:  # noqa: B008
    """Set blocks to a measure (slug length, 6 picas to the inch)."""
    setter = _Setter(measure_picas / 6 * PT_PER_IN, style)
    for block in blocks:
        setter.add(block)
    return Forme(
        tuple(setter.items),
        setter.measure_pt,
        "\n\n".join(setter.copy),
        gutter_pt=setter.gutter_pt,
        column_rule=setter.column_rule,
    )


def copy_of(blocks) -> str:
    """The approved copy of some blocks, without setting them."""
    return "\n\n".join(_texts(blocks))


def _texts(blocks) -> list[str]:
    texts: list[str] = []
    for block in blocks:
        if isinstance(block, Columns):
            texts += _texts(block.left) + _texts(block.right)
        elif isinstance(block, Leader):
            texts.append("".join(c for c, _ in _styled(f"{block.item}\t{block.figures}")))
        elif isinstance(block, (Para, Head)):
            texts.append("".join(c for c, _ in _styled(block.text)))
    return texts


@cache
def _hyphenator(language: str) -> pyphen.Pyphen:
    return pyphen.Pyphen(lang=language, left=2, right=3)


def divisions(word: str, language: str = "en_GB") -> list[int]:
    """Offsets in a word where it may be divided; points and quotes round it stay out of it.

    None where there is no language: matter of no words is not divided.
    """
    start = next((i for i, c in enumerate(word) if c.isalpha()), len(word))
    end = start
    while end < len(word) and (word[end].isalpha() or word[end] in "’'"):
        end += 1
    core = word[start:end]
    if not language or any(c.isalpha() for c in word[end:]) or not core.islower():
        return []
    return [start + at for at in _hyphenator(language).positions(core)]


def _styled(text: str) -> list[tuple[str, str]]:
    """Characters with their style; the marks `_ ^ *` go out."""
    out: list[tuple[str, str]] = []
    style = "roman"
    for char in text:
        if char in MARKS:
            style = "roman" if style == MARKS[char] else MARKS[char]
        else:
            out.append((char, style))
    return out


class _Setter:
    """Holds the state of one composition: lines so far, copy so far."""

    def __init__(self, measure_pt: float, style: Style):
        self.measure_pt = measure_pt
        self.style = style
        self.items: list[Slug | Furniture] = []
        self.copy: list[str] = []
        self.offset = 0
        self.uid = 0
        self.section = 0
        self.column = -1
        self.gutter_pt = 12.0
        self.column_rule = False
        self.running = 0

    # -- blocks

    def add(self, block) -> None:
        """Set one block."""
        if isinstance(block, Columns):
            self._columns(block)
        elif isinstance(block, Para):
            self._para(block)
        elif isinstance(block, Head):
            self._head(block)
        elif isinstance(block, Leader):
            self._leader(block)
        else:
            self._furniture(block)

    def _columns(self, block: Columns) -> None:
        whole = self.measure_pt
        self.gutter_pt = block.gutter_pt
        self.column_rule = block.rule
        self.section += 1
        self.measure_pt = (whole - block.gutter_pt) / 2
        for self.column, blocks in enumerate((block.left, block.right)):
            for inner in blocks:
                self.add(inner)
        self.measure_pt = whole
        self.column = -1
        self.section += 1

    def _furniture(self, block) -> None:
        place = {"section": self.section, "column": self.column}
        if isinstance(block, Gap):
            made = Furniture("gap", block.pt, **place)
        elif isinstance(block, Rule):
            kind = "double-rule" if block.double else "rule"
            width = block.width_pt or self.measure_pt
            made = Furniture(kind, block.body_pt, width, block.weight_pt, **place)
        elif isinstance(block, Ornament):
            made = Furniture("ornament", block.body_pt, block.body_pt * 4, 0.8, **place)
        else:
            msg = f"no such block: {block!r}"
            raise TypeError(msg)
        self.items.append(made)

    def _take(self, text: str) -> list[tuple[str, str, int]]:
        """Enter one paragraph into the copy; its characters with their offsets in it."""
        styled = _styled(text)
        chars = [(c, s, self.offset + i) for i, (c, s) in enumerate(styled)]
        self.copy.append("".join(c for c, _ in styled))
        self.offset += len(styled) + 2
        return chars

    def _slug(self, sorts, style: Style, **more) -> Slug:
        self.uid += 1
        low, high = (inches * PT_PER_IN for inches in BANDS_IN[style.bands])
        slug = Slug(
            self.uid,
            tuple(sorts),
            style.body_pt,
            style.lead_pt,
            self.measure_pt,
            (low, high),
            section=self.section,
            column=self.column,
            **more,
        )
        self.items.append(slug)
        return slug

    # -- display lines and leaders

    def _head(self, block: Head) -> None:
        style = replace(
            self.style,
            body_pt=block.body_pt,
            lead_pt=block.lead_pt,
            family=block.family or self.style.family,
        )
        chars = [(c, block.style if s == "roman" else s, at) for c, s, at in self._take(block.text)]
        plain = not block.letterspace_pt
        sorts = self._run(chars, style, ligatures=plain)
        if not plain:
            sorts = [
                replace(s, width_pt=s.width_pt + block.letterspace_pt * (2 if s.text == " " else 1))
                for s in sorts
            ]
        self._fits(sorts, block.text)
        self._slug(sorts, style, align=block.align, full=False, letterspace_pt=block.letterspace_pt)

    def _leader(self, block: Leader) -> None:
        style = block.style or self.style
        chars = self._take(f"{block.item}\t{block.figures}")
        tab = next(i for i, (c, _, _) in enumerate(chars) if c == "\t")
        left = self._run(chars[:tab], style)
        right = self._run(chars[tab + 1 :], style)
        pitch = style.body_pt / 2
        room = self.measure_pt - sum(s.width_pt for s in left + right)
        count = int((room - style.body_pt * 0.5) / pitch)
        self._fits(left + right, block.item)
        dot = family(style.family).glyph(".", "roman").advance_em * style.body_pt
        dots = [
            Sort(".", pitch if i else pitch - (pitch - dot) / 2, -1, "roman", style.family,
                 style.body_pt, leader=True)
            for i in range(max(count, 0))
        ]  # fmt: skip
        spare = room - sum(s.width_pt for s in dots)
        gaps = [self._space(spare * part, style, chars[tab][2]) for part in (0.6, 0.4)]
        self._slug(
            [*left, gaps[0], *dots, *([gaps[1]] if dots else []), *right],
            style,
            align="left",
            full=False,
        )

    def _fits(self, sorts, text: str) -> None:
        if sum(s.width_pt for s in sorts) > self.measure_pt:
            msg = f"does not fit the measure: {text!r}"
            raise ValueError(msg)

    @staticmethod
    def _space(width_pt: float, style: Style, at: int, *, band: bool = False) -> Sort:
        return Sort(" ", width_pt, at, "roman", style.family, style.body_pt, band=band)

    def _run(self, chars, style: Style, *, ligatures: bool = True) -> list[Sort]:
        """Sorts for a run with its spaces at their usual width."""
        out: list[Sort] = []
        word: list[tuple[str, str, int]] = []
        for item in [*chars, (" ", "roman", -2)]:
            if item[0] != " ":
                word.append(item)
                continue
            out += sorts_of(word, style.family, style.body_pt, ligatures=ligatures)
            word = []
            if item[2] != -2:
                out.append(self._space(style.body_pt * LAST_LINE_BAND_EM, style, item[2]))
        return out

    # -- paragraphs

    def _para(self, block: Para) -> None:
        style = block.style or self.style
        chars = self._take(block.text)
        words = _words(chars)
        indent = block.indent_pt
        if indent is None:
            indent = style.body_pt if block.align == "justify" else 0.0
        self.running = 0
        while words:
            line, words, division = self._fill(words, style, self.measure_pt - indent, block.align)
            self._close(line, style, block, indent, last=not words, division=division)
            indent = 0.0

    def _width(self, word, style: Style) -> float:
        return sum(s.width_pt for s in sorts_of(word, style.family, style.body_pt))

    def _fill(self, words, style: Style, measure: float, align: str):
        """One line's words, what is left, and whether it ends in a division."""
        low, high = (inches * PT_PER_IN for inches in BANDS_IN[style.bands])
        line: list = []
        used = 0.0
        for word in words:
            width = self._width(word, style)
            if used + width + low * len(line) > measure:
                break
            line.append(word)
            used += width
        else:
            return line, [], False
        gaps = max(len(line) - 1, 1)
        loose = (measure - used) / gaps > min(high, TOO_WIDE_EM * style.body_pt)
        room = measure - used - low * len(line)
        at = len(line)
        head, tail, hyphen = self._divide(words[at], style, room, invent=loose, align=align)
        if head:
            return [*line, head], [tail, *words[at + 1 :]], hyphen
        if not line:
            msg = f"a word longer than the measure: {''.join(c for c, _, _ in words[at])!r}"
            raise ValueError(msg)
        return line, words[at:], False

    def _divide(self, word, style: Style, room: float, *, invent: bool, align: str):
        """The longest head of a word that fits, its tail, whether a hyphen was put in."""
        text = "".join(c for c, _, _ in word)
        cuts = [(i + 1, False) for i, c in enumerate(text[:-1]) if c in "-—" and i > 0]
        if invent and align == "justify" and self.running < RUNNING_DIVISIONS:
            cuts += [(i, True) for i in divisions(text, style.language)]
        for cut, hyphen in sorted(cuts, reverse=True):
            head = [*word[:cut], ("-", word[cut - 1][1], -1)] if hyphen else word[:cut]
            if self._width(head, style) <= room:
                return head, word[cut:], hyphen
        return None, word, False

    def _close(self, line, style: Style, block: Para, indent: float, *, last, division) -> None:
        self.running = self.running + 1 if division else 0
        band = style.body_pt * LAST_LINE_BAND_EM
        sorts: list[Sort] = []
        for word in line:
            if sorts:
                sorts.append(self._space(band, style, word[0][2] - 1, band=True))
            sorts += sorts_of(word, style.family, style.body_pt)
        slug = self._slug(
            sorts, style, align=block.align, indent_pt=indent, full=not last, division=division
        )
        tight = slug.width_pt > self.measure_pt - indent
        spread = replace(slug, full=True).respread() if tight else slug.respread()
        self.items[-1] = replace(spread, full=not last)


def _words(chars) -> list[list[tuple[str, str, int]]]:
    words: list[list[tuple[str, str, int]]] = [[]]
    for item in chars:
        if item[0] in " \n\t":
            words.append([])
        else:
            words[-1].append(item)
    return [word for word in words if word]
