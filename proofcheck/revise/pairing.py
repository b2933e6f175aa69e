"""Which slug of the revise is which slug of the earlier proof."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from rapidfuzz.distance import Indel

from proofcheck.revise.odds import USUAL_NOISE, noise_of
from proofcheck.revise.overlay import SAME_LIKENESS, Overlay, lay_over
from proofcheck.revise.slugs import Print, print_of, profile_lag, turned_print

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Line
    from proofcheck.results.report import Report
    from proofcheck.revise.seats import Seats

__all__ = ["Pairing", "Prints", "pair_slugs"]

_ALIKE = 0.55
"""Least likeness (text and profile of ink) of two lines that may be one slug, or its recast."""
_TRIED = 4
"""Earlier slugs laid under each later one, the likeliest first."""
_TURNED_LAG = 0.72
"""Least likeness of the profiles of a slug and one end for end."""
_BY_TEXT = 0.6
"""Share of the text in how alike two lines are; the rest is the profile's."""


class Prints:
    """Prints of one proof's lines, cut when first wanted."""

    def __init__(self, report: Report, *, stretch: float = 1.0) -> None:
        self._report, self._stretch = report, stretch
        self._sheets = {sheet.number: sheet for sheet in report.sheets}
        self._held: dict[tuple[int, int, bool], Print] = {}
        texts = {reading.line: reading.text for reading in report.readings}
        self.lines: tuple[Line, ...] = report.lines
        self.texts = [texts.get(line.number, "") for line in report.lines]

    @property
    def stretch(self) -> float:
        """Scale of this proof's sheets to the earlier one's."""
        return self._stretch

    @property
    def usual_px(self) -> float:
        """x-height of most lines, pixels of the sheet."""
        return float(np.median([line.x_height_px for line in self.lines]))

    def get(self, index: int, x_height_px: float, *, by_box: bool = False) -> Print:
        """The print of the line at an index, room reckoned with an x-height."""
        key = index, round(x_height_px * 4), by_box
        if key not in self._held:
            line = self.lines[index]
            self._held[key] = print_of(
                self._sheets[line.sheet],
                line,
                x_height_px=key[1] / 4,
                stretch=self._stretch,
                by_box=by_box,
            )
        return self._held[key]


@dataclass(slots=True)
class Pairing:
    """Indices of earlier slugs by indices of later ones."""

    same: dict[int, int] = field(default_factory=dict)
    """The same slug: later index → earlier index."""
    turned: dict[int, int] = field(default_factory=dict)
    """The same slug or its like, end for end."""
    place: dict[int, int] = field(default_factory=dict)
    """Not the same slug, but in the place of that one."""
    overlays: dict[tuple[int, int], Overlay] = field(default_factory=dict)
    """By (earlier, later)."""
    noise: dict[int, float] = field(default_factory=dict)
    """By sheet of the revise (`odds.noise_of`)."""
    prints: tuple[Prints, Prints] | None = None
    """Of the earlier proof and the later, as they were laid over each other."""


def pair_slugs(earlier: Report, later: Report) -> Pairing:
    """Find for each later slug the earlier slug it is, whatever order they stand in."""
    stretch = _stretch(earlier, later)
    a, b = Prints(earlier), Prints(later, stretch=stretch)
    alike = _likenesses(a, b)
    order = _in_order(alike)
    pairing = Pairing(prints=(a, b))
    _find_noise(a, b, order, pairing)
    _find_same(a, b, alike, order, pairing)
    _find_turned(a, b, pairing)
    taken = set(pairing.same.values()) | set(pairing.turned.values())
    for late, early in order.items():
        free = late not in pairing.same and late not in pairing.turned and early not in taken
        if free and alike[early, late] >= _ALIKE:
            pairing.place[late] = early
    return pairing


def _stretch(earlier: Report, later: Report) -> float:
    """Scale of the later sheet to the earlier, from the lengths of lines that read alike."""
    texts: dict[str, list[float]] = {}
    a, b = Prints(earlier), Prints(later)
    for line, text in zip(a.lines, a.texts, strict=True):
        texts.setdefault(text, []).append(line.box.width)
    ratios = [
        line.box.width / texts[text][0]
        for line, text in zip(b.lines, b.texts, strict=True)
        if len(text) > 12 and len(texts.get(text, ())) == 1
    ]
    if len(ratios) < 2:
        heights = [np.median([x.x_height_px for x in p.lines]) for p in (b, a) if p.lines]
        return float(heights[0] / heights[1]) if len(heights) == 2 else 1.0
    return float(np.median(ratios))


def _likenesses(a: Prints, b: Prints) -> NDArray[np.float64]:
    """How alike each earlier line (row) is to each later one (column), 0 to 1."""
    out = np.zeros((len(a.lines), len(b.lines)))
    for i, one in enumerate(a.lines):
        for j, other in enumerate(b.lines):
            text = Indel.normalized_similarity(a.texts[i], b.texts[j])
            out[i, j] = text
            near = 0.75 < one.x_height_px / max(other.x_height_px, 1.0) < 1.33
            if near and (text > 0.5 or abs(i - j) <= 3):
                size = one.x_height_px
                _, ink = profile_lag(a.get(i, size), b.get(j, size))
                out[i, j] = _BY_TEXT * text + (1 - _BY_TEXT) * max(ink, 0.0)
    return out


def _in_order(alike: NDArray[np.float64]) -> dict[int, int]:
    """Later lines laid on earlier ones, neither out of its order: later index → earlier index."""
    rows, columns = alike.shape
    best = np.zeros((rows + 1, columns + 1))
    for i in range(1, rows + 1):
        gain = np.maximum(alike[i - 1] - 0.35, 0.0)
        for j in range(1, columns + 1):
            best[i, j] = max(best[i - 1, j], best[i, j - 1], best[i - 1, j - 1] + gain[j - 1])
    out: dict[int, int] = {}
    i, j = rows, columns
    while i and j:
        if best[i, j] == best[i - 1, j]:
            i -= 1
        elif best[i, j] == best[i, j - 1]:
            j -= 1
        else:
            i, j = i - 1, j - 1
            out[j] = i
    return out


def _find_noise(a: Prints, b: Prints, order: dict[int, int], pairing: Pairing) -> None:
    """How much each sheet's own slugs are off from pull to pull, by those in their order."""
    held: dict[int, list[Seats]] = {line.sheet: [] for line in b.lines}
    for late, early in order.items():
        laid = _laid(a, b, early, late, pairing)
        if laid.seats is not None and laid.likeness >= SAME_LIKENESS:
            held[b.lines[late].sheet].append(laid.seats)
    pairing.noise.update({sheet: noise_of(seats) for sheet, seats in held.items()})


def _find_same(
    a: Prints,
    b: Prints,
    alike: NDArray[np.float64],
    order: dict[int, int],
    pairing: Pairing,
) -> None:
    """The same slugs: those in their order first, then wherever else they may stand."""
    taken: set[int] = set()
    for late, early in order.items():
        if _laid(a, b, early, late, pairing).same(pairing.noise[b.lines[late].sheet]):
            pairing.same[late] = early
            taken.add(early)
    for late in range(len(b.lines)):
        if late in pairing.same:
            continue
        noise = pairing.noise[b.lines[late].sheet]
        likely = np.argsort(-alike[:, late], kind="stable")[:_TRIED]
        found = [
            (overlay.odds(noise), int(early))
            for early in likely.tolist()
            if early not in taken
            and alike[early, late] >= _ALIKE
            and (overlay := _laid(a, b, int(early), late, pairing)).same(noise)
        ]
        if found:
            pairing.same[late] = min(found)[1]
            taken.add(pairing.same[late])


def _laid(a: Prints, b: Prints, early: int, late: int, pairing: Pairing) -> Overlay:
    key = early, late
    if key not in pairing.overlays:
        size = a.lines[early].x_height_px
        noise = pairing.noise.get(b.lines[late].sheet, USUAL_NOISE)
        laid = lay_over(a.get(early, size), b.get(late, size))
        wider = a.lines[early].box.width / b.lines[late].box.width
        if not laid.same(noise) and abs(wider - 1) < 0.1:
            size = max(size, a.usual_px)
            again = lay_over(a.get(early, size, by_box=True), b.get(late, size, by_box=True))
            laid = again if again.same(noise) else laid
        pairing.overlays[key] = laid
    return pairing.overlays[key]


def _find_turned(a: Prints, b: Prints, pairing: Pairing) -> None:
    """Slugs end for end, among those not found to be any other."""
    taken = set(pairing.same.values())
    for late in range(len(b.lines)):
        if late in pairing.same:
            continue
        for early in range(len(a.lines)):
            if early not in taken and _turns(a, b, early, late):
                pairing.turned[late] = early
                taken.add(early)
                break


def _turns(a: Prints, b: Prints, early: int, late: int) -> bool:
    one, other = a.lines[early], b.lines[late]
    wide = other.box.width / max(one.box.width, 1)
    if not 0.9 < wide < 1.1 or one.box.width < 4 * one.x_height_px:
        return False
    size = one.x_height_px
    upright, turned = b.get(late, size), turned_print(b.get(late, size))
    _, as_turned = profile_lag(a.get(early, size), turned)
    _, as_upright = profile_lag(a.get(early, size), upright)
    return as_turned > _TURNED_LAG and as_turned > as_upright + 0.1
