"""Setting lines from the atlas: where each sort stands, and what the line reads.

A batch of lines is ragged arrays only; `press` pastes and wears them. Places are in atlas pixels
(twice the reader's), rows from the baseline, columns from the left edge of the strip.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.reading.alphabet import INDEX, NO_LETTER, SPACE
from proofcheck.reading.turned import FEET_UP
from tests.lab.atlas import ATLAS_X_HEIGHT_PX
from tests.lab.matter import Matter, Sort, Token
from tests.lab.slots import KIND_SETS, SLOT_NUMBER, SLOTS
from tests.turning import as_printed_turned

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tests.lab.atlas import Atlas

__all__ = ["LEAST_STRETCH", "STRIP_PX", "SetLines", "Setter"]

STRIP_PX = 512
"""Width of a training strip in the reader's pixels."""
LEAST_STRETCH = 0.8
"""No line is set narrower than this."""
_REGIMES = (
    ("words", 0.53), ("nonsense", 0.22), ("figures", 0.10), ("odd", 0.07), ("accented", 0.05),
    ("greek", 0.02), ("border", 0.01),
)  # fmt: skip
_DRESSES = (
    ("", 0.80), ("caps", 0.07), ("small-caps", 0.05), ("caps-and-small-caps", 0.05),
    ("old-style", 0.03),
)  # fmt: skip
_NEVER_SPACED_CAPITALS = ("script", "black-letter")
_OLD_SPACED = frozenset(";:!?")
_ORNAMENTS = [*KIND_SETS["ornament"], *KIND_SETS["large-ornament"]]


@dataclass(slots=True)
class SetLines:
    """A batch of set lines; `line` says to which line each pasted sort belongs."""

    count: int = 0
    line: list[int] = field(default_factory=list)
    glyph: list[int] = field(default_factory=list)
    x: list[int] = field(default_factory=list)
    y: list[int] = field(default_factory=list)
    turned: list[bool] = field(default_factory=list)
    bars: list[tuple[int, int, int, int, int]] = field(default_factory=list)
    """Black bars (rules, feet of sorts): line, left, top, width, height."""
    labels: list[int] = field(default_factory=list)
    lengths: list[int] = field(default_factory=list)
    stretch: list[tuple[float, float]] = field(default_factory=list)
    """Horizontal and vertical stretch from half atlas size to the strip."""
    texts: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Style:
    """What holds for one whole line."""

    face: int
    other: int
    other_share: float
    regime: str
    dress: str
    ligatures: bool
    turn: float
    space: float
    letterspace: float
    jitter_x: float
    jitter_y: float
    thin: float
    """Space before ; : ! ? and inside quotes, unread."""
    ornaments: float
    """Share of the tokens that are ornaments."""


class Setter:
    """Sets lines at random.

    Args:
        atlas: the sorts.
        words: words for `Matter`.
        rng: where all chance comes from.
        regimes: kinds of matter and their shares (see `Matter.token`; and "border").
    """

    def __init__(
        self,
        atlas: Atlas,
        words: Sequence[str],
        rng: np.random.Generator,
        regimes: Sequence[tuple[str, float]] = _REGIMES,
    ) -> None:
        self.rng = rng
        self.regimes = regimes
        self.matter = Matter(words, rng)
        weights = np.array([face.weight for face in atlas.faces])
        self.face_share = np.cumsum(weights) / weights.sum()
        family: dict[str, list[int]] = {}
        for number, face in enumerate(atlas.faces):
            family.setdefault(face.family, []).append(number)
        self.kin = [family[face.family] for face in atlas.faces]
        self.styles = [face.style for face in atlas.faces]
        self.small = atlas.table[:, SLOT_NUMBER["e"]] >= 0
        self.small_capitals = atlas.table[:, SLOT_NUMBER["sc:e"]] >= 0
        holding = {"accented": weights * (atlas.table[:, SLOT_NUMBER["ě"]] >= 0)}
        holding["greek"] = weights * (atlas.table[:, SLOT_NUMBER["α"]] >= 0)
        self.holding = {
            regime: np.cumsum(share) / share.sum()
            for regime, share in holding.items()
            if share.any()
        }
        """Shares of the faces that have the letters of a regime."""
        drawn = atlas.table[:, _ORNAMENTS]
        self.ornaments = drawn[drawn >= 0].tolist()
        self.table = atlas.table.tolist()
        self.advance = atlas.advance.tolist()
        self.size = atlas.size.tolist()
        self.place = atlas.place.tolist()
        self.cap = atlas.cap_height.tolist()
        self.em = atlas.em.tolist()

    def batch(self, count: int) -> SetLines:
        """Set `count` lines."""
        lines = SetLines()
        while lines.count < count:
            self._line(lines)
        return lines

    # -- one line

    def _pick(self, choices: Sequence[tuple[str, float]]) -> str:
        draw = self.rng.random()
        for name, share in choices:
            draw -= share
            if draw < 0:
                return name
        return choices[0][0]

    def _style(self) -> _Style:
        rng = self.rng
        regime = self._pick(self.regimes)
        if regime in ("accented", "greek") and regime not in self.holding:
            regime = "words"
        shares = self.holding.get(regime, self.face_share)
        face = int(np.searchsorted(shares, rng.random(), side="right"))
        kin = self.kin[face]
        other = kin[int(rng.integers(len(kin)))]
        if rng.random() < 0.2:
            other = int(np.searchsorted(self.face_share, rng.random(), side="right"))
        if regime in self.holding or not self.small[other]:
            other = face
        em = self.em[face]
        dress = self._dress(face, regime)
        letterspace = float(rng.normal(0, 0.006) * em)
        if rng.random() < (0.25 if dress in ("caps", "small-caps") else 0.06):
            letterspace = float(rng.uniform(0.02, 0.22) * em)
        elif rng.random() < 0.12:
            letterspace = float(rng.uniform(-0.045, -0.01) * em)
        space = rng.uniform(0.2, 0.5) if rng.random() < 0.8 else rng.uniform(0.14, 0.9)
        draw = rng.random()
        turn = 0.08 if draw < 0.3 else 0.5 if draw < 0.32 else 0.0
        return _Style(
            face=face,
            other=other,
            other_share=float(rng.choice([0.0, 0.2, 0.5], p=[0.75, 0.15, 0.10])),
            regime=regime,
            dress=dress,
            ligatures=bool(rng.random() < 0.8),
            turn=turn,
            space=float(space) * em + max(0.0, letterspace) * 1.6,
            letterspace=letterspace,
            jitter_x=float(rng.choice([0.2, 0.6, 1.2])),
            jitter_y=float(rng.choice([0.0, 0.4, 0.9], p=[0.4, 0.4, 0.2])),
            thin=float(rng.uniform(0.04, 0.16)) * em if rng.random() < 0.35 else 0.0,
            ornaments=1.0 if regime == "border" else 0.15 if rng.random() < 0.08 else 0.0,
        )

    def _dress(self, face: int, regime: str) -> str:
        """What the letters wear; a face without small letters has its own."""
        dress = self._pick(_DRESSES)
        if regime == "greek":
            return ""
        if not self.small[face]:
            if not self.small_capitals[face] or self.rng.random() < 0.2:
                return "caps"
            return "small-caps" if self.rng.random() < 0.3 else "caps-and-small-caps"
        if self.styles[face] in _NEVER_SPACED_CAPITALS and dress != "old-style":
            return ""
        return dress

    def _stretch(self, style: _Style) -> tuple[float, float]:
        """How the line is scaled: the line finder takes the x-height off a little, or off caps."""
        rng = self.rng
        # Where letters are joined or broken the height of the small ones is told less surely.
        doubt = 1.8 if self.styles[style.face] in _NEVER_SPACED_CAPITALS else 1.0
        size = float(np.clip(rng.normal(1.0, 0.05 * doubt), 1 - 0.14 * doubt, 1 + 0.14 * doubt))
        all_caps = style.dress == "caps" or (style.regime == "figures" and rng.random() < 0.5)
        if all_caps:
            size *= ATLAS_X_HEIGHT_PX / (0.68 * self.cap[style.face])
        elif style.dress == "small-caps" and rng.random() < 0.5:
            size /= 0.72
        wide = size * float(np.clip(rng.normal(1.0, 0.05), 0.85, 1.15))
        return max(wide, LEAST_STRETCH), size

    def _line(self, lines: SetLines) -> None:
        rng = self.rng
        style = self._style()
        stretch = self._stretch(style)
        room = 2 * STRIP_PX / stretch[0]
        pen = 2 * float(rng.uniform(2, 16)) / stretch[0]
        limit = room * float(rng.uniform(0.3, 1.0)) if rng.random() < 0.2 else room
        number = lines.count
        text: list[str] = []
        while True:
            mark = (len(lines.line), len(lines.bars))
            gap = 0.0
            if text:
                gap = max(0.12 * self.em[style.face], style.space * float(rng.normal(1, 0.06)))
            face = style.other if rng.random() < style.other_share else style.face
            dress = style.dress
            if not dress and rng.random() < 0.04:
                dress = "small-caps" if rng.random() < 0.7 else "superior"
            if style.ornaments and self.ornaments and rng.random() < style.ornaments:
                end, read = self._set_ornaments(lines, number, style, pen + gap, limit - 8)
            else:
                regime = "words" if style.regime == "border" else style.regime
                token = self.matter.token(
                    regime, ligatures=style.ligatures, dress=dress, turn=style.turn
                )
                end, read = self._set(lines, number, token, face, style, pen + gap)
            if end > limit - 8:
                del lines.line[mark[0] :], lines.glyph[mark[0] :], lines.x[mark[0] :]
                del lines.y[mark[0] :], lines.turned[mark[0] :], lines.bars[mark[1] :]
                break
            if read:
                text.append(read)
                pen = end
        joined = " ".join(text)
        self._surround(lines, number, style, room)
        lines.labels += [INDEX[letter] for letter in joined]
        lines.lengths.append(len(joined))
        lines.stretch.append(stretch)
        lines.texts.append(joined)
        lines.count += 1

    def _set(
        self, lines: SetLines, number: int, token: Token, face: int, style: _Style, pen: float
    ) -> tuple[float, str]:
        """Set one token from `pen`; return where it ends and how it reads."""
        rng = self.rng
        read: list[str] = []
        noise = rng.normal(0, 1, (len(token), 2)).tolist()
        for sort, (dx, dy) in zip(token, noise, strict=True):
            if sort.slot < 0:
                pen = self._blank_or_feet(lines, number, sort, style, pen, read)
                continue
            glyph = self.table[face][sort.slot]
            if glyph < 0 and SLOTS[sort.slot].kind == "ligature":
                parts = [self.table[face][SLOT_NUMBER[c]] for c in SLOTS[sort.slot].label]
                plain = [Sort(SLOT_NUMBER[c]) for c in SLOTS[sort.slot].label]
                if min(parts) >= 0:
                    pen, more = self._set(lines, number, plain, face, style, pen)
                    read.append(more)
                continue
            if glyph < 0:
                continue
            label = SLOTS[sort.slot].label
            if style.thin and label in _OLD_SPACED:
                pen += style.thin
            x = pen + dx * style.jitter_x
            y = dy * style.jitter_y
            if rng.random() < 0.004:
                y += float(rng.uniform(-6, 6))
            self._paste(lines, number, glyph, x, y, sort.turned, face)
            one = len(label) == 1
            read.append(as_printed_turned(label) if sort.turned and one else label)
            pen += self.advance[glyph] + style.letterspace
        return pen, _one_spaced("".join(read))

    def _set_ornaments(
        self, lines: SetLines, number: int, style: _Style, pen: float, limit: float
    ) -> tuple[float, str]:
        """A run of ornaments, one or two kinds by turns, which reads as one `NO_LETTER`."""
        rng = self.rng
        kinds = [self.ornaments[int(rng.integers(len(self.ornaments)))] for _ in range(2)]
        if rng.random() < 0.6:
            kinds[1] = kinds[0]
        run = style.regime == "border" and rng.random() < 0.8
        count = 200 if run else int(rng.integers(1, 3 if rng.random() < 0.6 else 9))
        gap = float(rng.uniform(0, 0.2)) * self.em[style.face]
        y = float(rng.uniform(-8, 8))
        turned = bool(rng.random() < 0.2)
        for at in range(count):
            glyph = kinds[at % 2]
            wide = self.size[glyph][1] + gap + 2
            if at and pen + wide > limit:
                break
            lines.line.append(number)
            lines.glyph.append(glyph)
            lines.x.append(round(pen))
            lines.y.append(round(y + self.place[glyph][0]))
            lines.turned.append(turned)
            pen += wide
        return pen, NO_LETTER

    def _blank_or_feet(
        self, lines: SetLines, number: int, sort: Sort, style: _Style, pen: float, read: list[str]
    ) -> float:
        em = self.em[style.face]
        if not sort.turned:
            read.append(SPACE)
            return pen + style.space
        width = int(self.rng.uniform(0.25, 0.6) * em)
        top = -int(self.rng.uniform(0.55, 0.8) * em)
        bottom = int(self.rng.uniform(0.05, 0.25) * em)
        groove = max(3, int(self.rng.uniform(0.1, 0.3) * (bottom - top)))
        half = (bottom - top - groove) // 2
        left = int(pen) + 2
        lines.bars.append((number, left, top, width, half))
        lines.bars.append((number, left, bottom - half, width, half))
        read.append(FEET_UP)
        return pen + width + 5

    def _paste(
        self,
        lines: SetLines,
        number: int,
        glyph: int,
        x: float,
        y: float,
        turned: bool,
        face: int,
    ) -> None:
        (height, width), (top, left) = self.size[glyph], self.place[glyph]
        if turned:
            left = self.advance[glyph] - (left + width)
            if self.rng.random() < 0.75:
                # About the middle of the body, which is where the metal turns.
                middle = self.em[face] * float(self.rng.uniform(0.17, 0.26))
                top = -2 * middle - (top + height)
        lines.line.append(number)
        lines.glyph.append(glyph)
        lines.x.append(round(x + left))
        lines.y.append(round(y + top))
        lines.turned.append(turned)

    def _surround(self, lines: SetLines, number: int, style: _Style, room: float) -> None:
        """The lines above and below, and rules, where the strip catches some of them."""
        rng = self.rng
        em = self.em[style.face]
        for side in (-1, 1):
            if rng.random() < 0.35:
                continue
            leading = side * float(rng.uniform(0.92, 1.25)) * em
            pen = float(rng.uniform(-40, 60))
            letters = rng.integers(0, 52, 80)
            gaps = rng.random(80) < 0.18
            for slot, gap in zip(letters.tolist(), gaps.tolist(), strict=True):
                glyph = self.table[style.face][slot if slot < 26 or gap else slot - 26]
                if glyph < 0:
                    continue
                if pen > room:
                    break
                top, height = self.place[glyph][0] + leading, self.size[glyph][0]
                if top + height > -75 and top < 32:
                    self._paste(lines, number, glyph, pen, leading, turned=False, face=style.face)
                pen += self.advance[glyph] + (style.space if gap else 0)
        if rng.random() < 0.05:
            top = int(rng.uniform(-70, -58) if rng.random() < 0.4 else rng.uniform(20, 30))
            lines.bars.append((number, 0, top, int(room), int(rng.integers(2, 8))))


def _one_spaced(text: str) -> str:
    return " ".join(text.split())
