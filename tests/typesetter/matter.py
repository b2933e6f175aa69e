"""What is set and what it is set into: blocks of copy, sorts, slugs, the whole forme.

All lengths are American points of 0.013837 inch (72.27 to the inch).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from .faces import LIGATURES, family

__all__ = [
    "BANDS_IN",
    "PT_PER_IN",
    "Columns",
    "Expected",
    "Forme",
    "Furniture",
    "Gap",
    "Head",
    "Leader",
    "Ornament",
    "Para",
    "Rule",
    "Slug",
    "Sort",
    "Style",
    "sorts_of",
]

PT_PER_IN = 72.27

BANDS_IN = {
    "thick": (0.0375, 0.1035),
    "extra-thin": (0.028, 0.0943),
    "extra-thick": (0.046, 0.146),
    "special-taper": (0.0369, 0.1219),
    "wide-range": (0.0345, 0.1194),
}
"""Spacebands, least and greatest width in inches: Linotype keyboard handbook, as quoted in a
modern summary; common practice on that machine."""


@dataclass(frozen=True, slots=True)
class Style:
    """How matter is set: family, body, lead after each line, kind of spaceband."""

    family: str = "schola"
    body_pt: float = 10.0
    lead_pt: float = 2.0
    bands: str = "thick"
    language: str = "en_GB"


# ------------------------------------------------------------------- blocks, as the copy has them


@dataclass(frozen=True, slots=True)
class Para:
    """A paragraph. `_..._` is italic, `^...^` small capitals, `*...*` bold."""

    text: str
    align: str = "justify"
    """One of "justify", "left", "centre", "right"."""
    indent_pt: float | None = None
    """First line's; None for one em (none where not justified)."""
    style: Style | None = None


@dataclass(frozen=True, slots=True)
class Head:
    """One display line; `letterspace_pt` is put after every letter."""

    text: str
    body_pt: float = 14.0
    lead_pt: float = 4.0
    align: str = "centre"
    letterspace_pt: float = 0.0
    style: str = "roman"
    family: str | None = None


@dataclass(frozen=True, slots=True)
class Leader:
    """An item, dot leaders, and figures at the end of the line; copy joins them with a tab."""

    item: str
    figures: str
    style: Style | None = None


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule, centred; `double` is a thick and thin pair."""

    width_pt: float | None = None
    weight_pt: float = 0.75
    body_pt: float = 6.0
    double: bool = False


@dataclass(frozen=True, slots=True)
class Ornament:
    """A centred ornament: a lozenge between two tapering dashes."""

    body_pt: float = 12.0


@dataclass(frozen=True, slots=True)
class Gap:
    """White: leads or slugs between lines."""

    pt: float


@dataclass(frozen=True, slots=True)
class Columns:
    """Two columns of blocks, with a rule between them where asked."""

    left: tuple
    right: tuple
    gutter_pt: float = 12.0
    rule: bool = True


# ------------------------------------------------------------------- set matter


@dataclass(frozen=True, slots=True)
class Sort:
    """One sort, matrix or spaceband, in its place in the line."""

    text: str
    """What it is meant to print (a ligature: its letters); " " for any space."""
    width_pt: float
    copy: int = -1
    """Offset of its first character in `Forme.copy`; -1 where the copy has none."""
    style: str = "roman"
    family: str = "schola"
    size_pt: float = 10.0
    band: bool = False
    """A spaceband: the machine may widen it."""
    turned: bool = False
    raise_pt: float = 0.0
    broken: int = 0
    """Seed of the damage; 0 for a whole letter."""
    block: bool = False
    """A space that has worked up and prints."""
    hairline: bool = False
    """A hairline prints at its left side."""
    leader: bool = False

    @property
    def char(self) -> str:
        """The character to draw."""
        return LIGATURES.get(self.text, self.text)


@dataclass(frozen=True, slots=True)
class Slug:
    """One set line."""

    uid: int
    sorts: tuple[Sort, ...]
    body_pt: float
    lead_pt: float
    measure_pt: float
    bands_pt: tuple[float, float]
    align: str = "justify"
    indent_pt: float = 0.0
    full: bool = True
    """Justified to the measure; False for the last line of a paragraph."""
    division: bool = False
    """Its last sort is a hyphen that the copy does not have."""
    letterspace_pt: float = 0.0
    shift_pt: float = 0.0
    """Moved along its line (an indention gone wrong)."""
    turned: bool = False
    """Stands end for end, so that it prints upside down."""
    section: int = 0
    column: int = -1
    """-1 across the whole measure, 0 left, 1 right."""

    @property
    def text(self) -> str:
        """The line as meant, ligatures as letters."""
        return "".join(sort.text for sort in self.sorts)

    @property
    def width_pt(self) -> float:
        """Length of its matter as it now stands."""
        return sum(sort.width_pt for sort in self.sorts)

    def respread(self) -> Slug:
        """The line with its bands driven (or let down) so that it fills the measure again.

        Bands stop at their least and greatest width, as the wedges do. In a line with leaders
        the white before them takes up the difference, so that the figures keep their place.
        """
        if any(sort.leader for sort in self.sorts):
            return self._with_white(self.measure_pt - self.width_pt)
        bands = [sort for sort in self.sorts if sort.band]
        if self.align != "justify" or not self.full or not bands:
            return self
        fixed = sum(sort.width_pt for sort in self.sorts if not sort.band)
        each = (self.measure_pt - self.indent_pt - fixed) / len(bands)
        # Past the wedges' greatest width a hand puts thin spaces beside them.
        each = min(max(each, self.bands_pt[0]), self.bands_pt[1] * 2.5)
        return replace(
            self,
            sorts=tuple(replace(s, width_pt=each) if s.band else s for s in self.sorts),
        )

    def _with_white(self, more_pt: float) -> Slug:
        at = next(i for i, sort in enumerate(self.sorts) if sort.leader) - 1
        white = replace(self.sorts[at], width_pt=self.sorts[at].width_pt + more_pt)
        return replace(self, sorts=(*self.sorts[:at], white, *self.sorts[at + 1 :]))


@dataclass(frozen=True, slots=True)
class Furniture:
    """What prints no letters: white, a rule, an ornament."""

    kind: str
    """One of "gap", "rule", "double-rule", "ornament", "column-rule"."""
    body_pt: float
    width_pt: float = 0.0
    weight_pt: float = 0.0
    section: int = 0
    column: int = -1


@dataclass(frozen=True, slots=True)
class Expected:
    """A fault put in on purpose, as a report should name it."""

    kind: str
    line: int
    """Printed line number from 1; for missing lines or matter the line it should follow."""
    printed: str
    copy: str
    copy_at: int = -1
    """Offset in the copy where it begins, -1 where the copy has no part in it."""
    other_lines: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Planted:
    """A fault tied to its slug; line numbers come last, when all slugs stand."""

    kind: str
    uid: int
    printed: str
    copy: str
    copy_at: int = -1
    other_uids: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Forme:
    """All the matter of one proof, in reading order."""

    items: tuple[Slug | Furniture, ...]
    measure_pt: float
    copy: str
    """The approved copy the matter was set from: paragraphs parted by a blank line."""
    planted: tuple[Planted, ...] = ()
    gutter_pt: float = 12.0
    column_rule: bool = False
    next_uid: int = field(default=1_000_000)

    @property
    def slugs(self) -> tuple[Slug, ...]:
        """The lines alone; number = index + 1."""
        return tuple(item for item in self.items if isinstance(item, Slug))

    def expected(self) -> tuple[Expected, ...]:
        """The planted faults with the line numbers they now have."""
        number = {slug.uid: n for n, slug in enumerate(self.slugs, start=1)}
        number[0] = 0
        found = [
            Expected(
                p.kind,
                number[p.uid],
                p.printed,
                p.copy,
                p.copy_at,
                tuple(number[uid] for uid in p.other_uids),
            )
            for p in self.planted
        ]
        return tuple(sorted(found, key=lambda e: (e.line, e.copy_at)))


def sorts_of(
    chars: list[tuple[str, str, int]], family_name: str, size_pt: float, *, ligatures: bool = True
) -> list[Sort]:
    """Sorts for (character, style, copy offset) triples without spaces."""
    made: list[Sort] = []
    faces = family(family_name)
    at = 0
    while at < len(chars):
        char, style, copy = chars[at]
        length = 1
        if ligatures and char == "f" and style != "small-caps":
            length = _ligature_length(chars, at, faces)
        text = "".join(c for c, _, _ in chars[at : at + length])
        glyph = faces.glyph(LIGATURES.get(text, text), style)
        made.append(Sort(text, glyph.advance_em * size_pt, copy, style, family_name, size_pt))
        at += length
    return made


def _ligature_length(chars, at, faces) -> int:
    for letters, sign in LIGATURES.items():
        run = chars[at : at + len(letters)]
        same = len({style for _, style, _ in run}) == 1
        if same and "".join(c for c, _, _ in run) == letters and faces.face(run[0][1]).has(sign):
            return len(letters)
    return 1
