"""Capital O or nought, told by its shape beside the capitals and figures of its own line.

Where a sheet has few of either, letters laid on one another say nothing. But a lining nought is as
wide as the other figures, in nearly every face narrower than high, and a capital O as wide as the
round capitals. Of 157 faces measured from their outlines (own table) O was 0.79 to 1.21 as wide as
high, a lining nought 0.58 to 0.99, within 3 in 100 of 2, 3, 5, 6, 8 and 9; where the two are
nearly of one width (typewriter faces) mostly
nothing is said. Drawn from those outlines at 28 to 80 pixels, with a pixel's error either way, 25
of some 6,600 rings in short lines were told wrongly, most in faces of keys and of typewriters.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Box, Letter

__all__ = ["FIGURES", "RINGS", "ROUND", "is_common_nought", "is_of_kind", "ring_among", "ring_of"]

RINGS = frozenset("O0")
_FLAT = frozenset("ABDEFHIKLMNPRTUVWXYZ")
ROUND = frozenset("CDGOQ")
FIGURES = frozenset("0235689")
_TALL = 0.93
"""Share of the height of capitals and figures beside it: an old-style nought is 0.55 to 0.74."""
_AS_WIDE, _APART, _FAR = 0.1, 0.15, 0.2
"""Logarithms of widths: within the first two letters are of one width, from the second on they are
not, from the third on no O is that much narrower than other round capitals."""
_OF_A_HEIGHT, _LIKE_WIDE, _LEAST = 0.04, 0.06, 3
"""Rings of one kind and size, at least so many: their heights differ by less than the first, their
widths for their heights by less than the second (logarithms). Of 126 faces with lining figures
those of O and nought were 0.13 and more apart, but for nine of keys and one of display (own
table)."""
_MANY = 5
"""So many rings of one shape are no chance."""
_WIDEST_NOUGHT, _NARROWEST_O = 1.06, 0.74
"""Of its height, where nothing of the other kind stands beside it."""


def ring_of(letters: Sequence[Letter], at: int) -> str:
    """What a ring that was read as either is: "O", "0", or "" where its shape does not say.

    Args:
        letters: those of its line.
        at: which of them; the others are taken for what they were read as.
    """
    box = letters[at].box
    others = [each for k, each in enumerate(letters) if k != at and each.box.height]
    tall = [each.box.height for each in others if each.text in _FLAT | FIGURES]
    if not box.width or not tall or box.height < _TALL * float(np.median(tall)):
        return ""
    wide = box.width / box.height
    figures, capitals = _wide(others, FIGURES, box), _wide(others, ROUND, box)
    if _is_nought(wide, figures, capitals):
        return "0"
    return "O" if _is_capital(wide, figures, capitals) else ""


def is_of_kind(box: Box, kind: Sequence[Box], other: Sequence[Box]) -> bool:
    """Whether a ring is as wide as the sheet's rings of one kind, and none of the other is.

    Args:
        box: round the ring.
        kind: round rings that are of the kind without doubt.
        other: round those that are of the other kind without doubt.
    """
    mine, wide = _of_height(box, kind), _shape(box)
    if len(mine) < _LEAST or abs(wide - float(np.median(mine))) > _LIKE_WIDE:
        return False
    return all(abs(wide - each) > _LIKE_WIDE for each in _of_height(box, other))


def ring_among(box: Box, figures: Sequence[Box], capitals: Sequence[Box]) -> str:
    """What a ring is beside the sheet's figures and round capitals of its height.

    "O", "0", or "" where its shape does not say or there are few of either. A column of a
    table may be all figures, and its noughts be read as O throughout.

    Args:
        box: round the ring.
        figures: round the sheet's `FIGURES` that nothing is alleged of.
        capitals: round its `ROUND` capitals.
    """
    beside = [_of_height(box, boxes) for boxes in (figures, capitals)]
    if min(map(len, beside)) < _LEAST:
        return ""
    wide = box.width / box.height
    figure, capital = (float(np.exp(np.median(each))) for each in beside)
    if _is_nought(wide, figure, capital):
        return "0"
    return "O" if _is_capital(wide, figure, capital) else ""


def is_common_nought(
    box: Box, fellows: Sequence[Box], figures: Sequence[Box], capitals: Sequence[Box]
) -> bool:
    """Whether a ring is the shape that all noughts of the sheet have, and no O of it has.

    Where a reader takes every nought of a fount for an O, the copy says what they are: many rings
    of one shape, about as wide as the figures. One O among them would be another shape.

    Args:
        box: round the ring, for which the copy has a nought.
        fellows: round the other rings for which the copy has one.
        figures: round the sheet's `FIGURES` that nothing is alleged of.
        capitals: round rings that are O without doubt, or for which the copy has one.
    """
    alike, beside = _of_height(box, fellows), _of_height(box, figures)
    if len(alike) < _MANY or len(beside) < _LEAST:
        return False
    wide = _shape(box)
    apart = [abs(wide - each) > _LIKE_WIDE for each in _of_height(box, capitals)]
    one_shape = max(abs(wide - each) for each in alike) <= _LIKE_WIDE
    return one_shape and all(apart) and abs(wide - float(np.median(beside))) <= _FAR


def _of_height(box: Box, rings: Sequence[Box]) -> list[float]:
    """How wide those as high as a ring are."""
    spare = _OF_A_HEIGHT * box.height
    return [_shape(ring) for ring in rings if abs(ring.height - box.height) <= spare]


def _shape(box: Box) -> float:
    return float(np.log(max(box.width, 1) / max(box.height, 1)))


def _is_nought(wide: float, figures: float | None, capitals: float | None) -> bool:
    wider = np.log(wide / figures) if figures else None
    narrower = np.log(capitals / wide) if capitals else None
    if narrower is not None and narrower >= _FAR:
        return wider is None or wider <= _FAR
    if wider is None or abs(wider) > _AS_WIDE:
        return False
    return wide <= _NARROWEST_O if narrower is None else bool(narrower >= _APART)


def _is_capital(wide: float, figures: float | None, capitals: float | None) -> bool:
    if capitals is not None and np.log(capitals / wide) > _AS_WIDE:
        return False
    if figures is None:
        return wide >= _WIDEST_NOUGHT
    # One figure may be narrower than its nought: beside figures alone more is asked.
    return bool(np.log(wide / figures) >= (_FAR if capitals is None else _APART))


def _wide(letters: Sequence[Letter], kinds: frozenset[str], box: Box) -> float | None:
    """How wide letters of some kinds are in the middle, to their height; None for none so tall."""
    found = [
        each.box.width / each.box.height
        for each in letters
        if each.text in kinds and each.box.height >= _TALL * box.height
    ]
    return float(np.median(found)) if found else None
