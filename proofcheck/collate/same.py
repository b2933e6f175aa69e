"""What counts as the same on paper: the compared form of a text, and the named allowances.

The compared form writes one way what looks one way in print: `compared` gives it together with
the way back to the text it came from. Other allowances are made while differences are told
(spaces round points and dashes, leaders, folios); they are named here too, because the shop
switches all of them in one place.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.errors import SettingError
from proofcheck.base.values import Span

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

__all__ = ["USUAL", "Compared", "Rules", "code_points", "compared", "is_letter", "rule_of"]


@dataclass(frozen=True, slots=True)
class Rules:
    """The allowances; each True is made (and counted), each False turns it into a fault."""

    quote_shape: bool = True
    """Straight, curly and typewritten (`` and '') quotes are the same; so are „ and two commas
    before which nothing stands."""
    ligature: bool = True
    """A ligature character is the letters it joins."""
    code_form: bool = True
    """Full-width and composed characters are their plain selves, so is a fraction of raised and
    lowered figures (¹⁄₁₆ is 1/16), and № is Nº; soft hyphens are nothing. A Greek letter that is
    shaped as a Latin one is that one (Α is A), and a letter with a comma below is one with a
    cedilla."""
    typed_dash: bool = True
    """The copy's "--", with or without spaces, is an em dash."""
    dash_space: bool = True
    """Spaces round an em or en dash are the shop's style."""
    point_space: bool = True
    """So are spaces before ; : ! ? and round …, inside quotes and brackets, as in old setting, and
    between initials, which often have a thin one. An apostrophe is no quote."""
    leaders: bool = True
    """A row of leader points, five or more, stands for the copy's row or for the white space in a
    table, at any length; so a rule to write on for the copy's row of underscores."""
    letter_space: bool = True
    """A line set with spaces between its letters is read as its words; so is a word that stands
    off from its large initial."""
    small_caps: bool = True
    """Capitals are right where the copy asks for small capitals: readers can't tell the two. A
    letter shaped alike both ways (c o s u v w x z), read small among capitals no taller than it,
    is a capital."""
    folio: bool = True
    """A page number or signature standing by itself at the head or foot, one at the outer end of
    a running head, and a running head come again on a later sheet, need no copy."""
    reading_order: bool = True
    """Copy of a table, or of a list set across, goes row by row where the columns of the proof
    are read downwards."""
    numbering: bool = True
    """Where one copy stands several times on a sheet, its numbers may run on from one ticket to
    the next by one step (`collate.numbering`)."""
    division_run: bool = False
    """More than two divisions at line ends running are passed."""

    @property
    def names(self) -> frozenset[str]:
        """Names of the allowances made, as in a report ("quote-shape")."""
        made = (f.name for f in fields(self) if getattr(self, f.name))
        return frozenset(name.replace("_", "-") for name in made)

    def without(self, *names: str) -> Rules:
        """These rules less the named ones; SettingError for a name that is none."""
        return replace(self, **dict.fromkeys(_known(names), False))

    def along_with(self, *names: str) -> Rules:
        """These rules and the named ones; SettingError for a name that is none."""
        return replace(self, **dict.fromkeys(_known(names), True))


USUAL = Rules()
"""The allowances made where the shop says nothing else."""


def _known(names: Iterable[str]) -> list[str]:
    """Field names for rule names."""
    rules = {f.name.replace("_", "-"): f.name for f in fields(Rules)}
    asked = list(names)
    for name in asked:
        if name not in rules:
            msg = f"no allowance is called {name!r}; there are: {', '.join(sorted(rules))}"
            raise SettingError(msg)
    return [rules[name] for name in asked]


@dataclass(frozen=True, slots=True, eq=False)
class Compared:
    """A text in its compared form, and the way back."""

    text: str
    """Single spaces, none at the ends."""
    start: NDArray[np.int32]
    """Where each compared character begins in the source."""
    end: NDArray[np.int32]
    """Where it ends there."""
    altered: NDArray[np.bool_]
    """True where the source is written otherwise."""

    def span(self, start: int, end: int) -> Span:
        """The stretch of source behind compared[start:end]; empty at the gap if start == end."""
        if start < end:
            return Span(int(self.start[start]), int(self.end[end - 1]))
        if start < len(self.start):
            at = int(self.start[start])
        else:
            at = int(self.end[-1]) if len(self.end) else 0
        return Span(at, at)


_SPACES = "\t\n\v\f\r\x1c\x1d\x1e\x1f\x85\xa0\u1680\u2028\u2029\u202f\u205f\u3000" + "".join(
    map(chr, range(0x2000, 0x200B))
)
_NOTHING = "\xad\u200b\u200c\u200d\u2060\ufeff\u200e\u200f" + "".join(
    map(chr, [*range(9), *range(14, 28), 127, *range(0x202A, 0x202F), *range(0x2066, 0x206A)])
)
_ALWAYS = {ord(c): " " for c in _SPACES} | {0x2010: "-", 0x2011: "-", 0x2015: "—"}
# Letters of two alphabets, or with a comma or a cedilla below, that one sort prints.
_SHAPED_ALIKE = dict(zip(map(ord, "ΑΒΕΖΗΙΚΜΝΟΡΤΥΧοόșțȘȚÐ"), "ABEZHIKMNOPTYXoóşţŞŢĐ", strict=True))
_QUOTES = {ord(c): "'" for c in "‘’‛`´′"} | {ord(c): '"' for c in "“”‟″"}
_WIDE = {0xFF01 + i: chr(0x21 + i) for i in range(94)}

_FIGURES = "[\u2070\xb9\xb2\xb3\u2074-\u2079\u2080-\u2089\\d]"
# From the first figure only, so that a long run of them is gone over once.
_FRACTION = re.compile(f"(?<!{_FIGURES}){_FIGURES}+\u2044{_FIGURES}+")

_UNSEEN = re.compile(f"[{re.escape(_NOTHING)}]+")
_SPACES_RUNNING = " {2,}"
_LIGATURES = "[\ufb00-\ufb06]"
_NUMERO = "\u2116"
# Of the numero's two letters a reader knows the first at least.
_OTHERWISE = {_NUMERO: "Nº", ",,": "„", "⸳": "·"}
# By itself a point at half height is no turned full point, which stands close after a letter.
_RAISED_POINT = r"(?<=\s)⸳(?=\s)"
_ACCENTED = "[^\\W\\d_][\u0300-\u036f]+"
# A point close after a word, with space before more points, is the word's own.
_POINTS = r"(?<=\w)\. (?=\.(?:\.|(?: ?\.){2}))|\.(?: ?\.){2,}|(?<= )\.\.(?= )"
_DASHES = r" ?(?<!-)-{2,3}(?!-) ?"
_QUOTE_RUN = "['\"]{2,}"
_COMMAS = r"(?<!\S),,(?!,)"
_BLANK = "_{2,}"


def compared(text: str, rules: Rules = USUAL, *, typed: bool = False) -> Compared:
    """The compared form of a text; `typed` for copy, whose "--" is an em dash.

    Takes time in proportion to the text.
    """
    plain = text.translate(_table(rules))
    if rules.code_form:
        plain = _FRACTION.sub(_in_plain_figures, plain)
    pattern = re.compile("|".join(_patterns(rules, typed=typed)))
    # What can't be seen goes first, so that it never parts what stands together on paper.
    shown, start, end = _replaced(plain, _UNSEEN, rules)
    form, first, last = _replaced(shown, pattern, rules)
    start, end = start[first], end[np.maximum(last - 1, 0)]
    source, now = code_points(text), code_points(form)
    altered = (end - start != 1) | (source[np.minimum(start, len(source) - 1)] != now)
    return _trimmed(form, start, end, altered)


def _replaced(
    text: str, pattern: re.Pattern[str], rules: Rules
) -> tuple[str, NDArray[np.int32], NDArray[np.int32]]:
    """The text with every match as it is written, and each character's start and end before."""
    found = []
    for match in pattern.finditer(text):
        start, new = match.start(), _written(match.group(), rules)
        # Of four points the first stands by itself.
        alone = int(new == ".…")
        found.append((start + alone, match.end(), new[alone:]))
    return _spliced(text, [f for f in found if text[f[0] : f[1]] != f[2]])


def _in_plain_figures(fraction: re.Match[str]) -> str:
    """A fraction set with raised and lowered figures, as many plain characters."""
    return unicodedata.normalize("NFKC", fraction.group()).replace("\u2044", "/")


def _table(rules: Rules) -> dict[int, str]:
    """One character for one: white, hyphens, quotes, full-width forms."""
    quotes = _QUOTES if rules.quote_shape else {}
    return _ALWAYS | quotes | (_WIDE | _SHAPED_ALIKE if rules.code_form else {})


def _patterns(rules: Rules, *, typed: bool) -> list[str]:
    """What changes its length in the compared form."""
    patterns = [_POINTS, _SPACES_RUNNING, _BLANK]
    if typed and rules.typed_dash:
        patterns.insert(0, _DASHES)
    if rules.quote_shape:
        patterns += [_QUOTE_RUN, _COMMAS]
    if rules.code_form:
        patterns += [_ACCENTED, _NUMERO, _RAISED_POINT]
    if rules.ligature:
        patterns.append(_LIGATURES)
    return patterns


def _written(run: str, rules: Rules) -> str:
    """How one matched run is written in the compared form."""
    first = run.lstrip()[:1]
    if first == ".":
        # Three points are an ellipsis, four a point and an ellipsis; more are leaders.
        count = run.count(".")
        row = "……" if rules.leaders else "." * count
        return {1: ". ", 3: "…", 4: ".…"}.get(count, row)
    if first in ("-", "_"):
        return "—" if first == "-" else "__"
    if first and first in "'\"":
        # ' and " in a row can't be told apart in print from " and '.
        weight = run.count("'") + 2 * run.count('"')
        return '"' * (weight // 2) + "'" * (weight % 2)
    if first and first not in _NOTHING:
        return _OTHERWISE.get(run) or unicodedata.normalize("NFKC", run)
    return " " if " " in run else ""


def _spliced(
    plain: str, found: list[tuple[int, int, str]]
) -> tuple[str, NDArray[np.int32], NDArray[np.int32]]:
    """`plain` with each (start, end, new) put in, and each character's start and end before."""
    if not found:
        start = np.arange(len(plain), dtype=np.int32)
        return plain, start, start + 1
    pieces: list[str] = []
    kept_from = 0
    for begin, stop, new in found:
        pieces += (plain[kept_from:begin], new)
        kept_from = stop
    pieces.append(plain[kept_from:])
    begins = np.array([f[0] for f in found] + [len(plain)], dtype=np.int32)
    stops = np.array([0] + [f[1] for f in found], dtype=np.int32)
    size = np.array([len(p) for p in pieces], dtype=np.int32)
    # Pieces take turns: kept (from stops[i]), replaced (begins[i] to stops[i + 1]).
    origin = np.empty(len(pieces), dtype=np.int32)
    origin[0::2], origin[1::2] = stops, begins[:-1]
    first = np.repeat(np.cumsum(size) - size, size)
    start = np.repeat(origin, size) + np.arange(len(first)) - first
    end = start + 1
    replaced = np.repeat(np.arange(len(pieces)) % 2 == 1, size)
    start[replaced] = np.repeat(begins[:-1], size[1::2])
    end[replaced] = np.repeat(stops[1:], size[1::2])
    return "".join(pieces), start, end


def _trimmed(
    form: str, start: NDArray[np.int32], end: NDArray[np.int32], altered: NDArray[np.bool_]
) -> Compared:
    """Without the space at either end."""
    left = len(form) - len(form.lstrip(" "))
    right = len(form.rstrip(" "))
    keep = slice(left, max(left, right))
    return Compared(form[keep], start[keep], end[keep], altered[keep])


def code_points(text: str) -> NDArray[np.uint32]:
    """The text's code points, shape (len(text),)."""
    return np.frombuffer(text.encode("utf-32-le", "surrogatepass"), dtype=np.uint32)


def rule_of(char: str) -> str | None:
    """Name of the rule by which two spellings of this compared character are the same."""
    if char == " ":
        return None
    if char in "'\"„":
        return "quote-shape"
    if char in "—–":
        return "typed-dash"
    if char == "…":
        return "leaders"
    return "ligature" if char in "filst" else "code-form"


_SIGNS = frozenset("&£$¢%@#§†‡°½¼¾⅓⅔⅛⅜⅝⅞")


def is_letter(char: str) -> bool:
    """True for letters, figures and the signs that stand for words; False for points and space."""
    return char.isalnum() or char in _SIGNS
