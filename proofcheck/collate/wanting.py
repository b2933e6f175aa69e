"""Where in the copy, of what no line bears, pieces that are laid nowhere would stand."""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING

from rapidfuzz.fuzz import partial_ratio_alignment

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from proofcheck.collate.laying import Laying

__all__ = ["places_in_row", "places_wanting"]

_ALIKE = 80.0
"""Likeness, in per cent, of a piece that was not read to the letter."""
_SHORT = 4
"""A piece of fewer letters is looked for to the letter."""
_TAKEN = "\0"


def places_wanting(
    laying: Laying, stray: Mapping[int, str], places: Mapping[int, tuple[int, int]]
) -> dict[int, tuple[int, int]]:
    """About where in the copy's compared form each piece stands whose words are wanting there.

    Args:
        laying: of all pieces.
        stray: compared form of the pieces laid nowhere, by their places among all.
        places: of the others, about where in the copy; of two like places the nearer one is taken.
    """
    left = _left_open(laying)
    out: dict[int, tuple[int, int]] = {}
    for piece, text in stray.items():
        near = [places[k][0] for k in (piece - 1, piece + 1) if k in places]
        found = sorted(
            _places(left, text.casefold()),
            key=lambda span: min((abs(span[0] - at) for at in near), default=0.0),
        )
        if found:
            start, end = found[0]
            left = left[:start] + _TAKEN * (end - start) + left[end:]
            out[piece] = (start, end)
    return out


def places_in_row(
    copy: str,
    texts: Sequence[str],
    places: Mapping[int, tuple[int, int]],
    left_of: Mapping[int, int],
) -> dict[int, tuple[int, int]]:
    """Where pieces stand that come in the copy right after the one to the left in their row.

    So of several like ones, a unit or a price, each falls into its own row.

    Args:
        copy: its compared form.
        texts: compared form of all pieces.
        places: where in the copy they stand as far as that is known.
        left_of: the next piece to the left in its row, for those that have one, from left to right.
    """
    often = Counter(texts)
    out = dict(places)
    for k, before in left_of.items():
        left = out.get(before)
        if left is None or (k in places and often[texts[k]] == 1) or not texts[k]:
            continue
        start = left[1] + len(copy[left[1] :]) - len(copy[left[1] :].lstrip(" .·-–—"))
        if copy[start : start + len(texts[k])].casefold() == texts[k].casefold():
            out[k] = (start, start + len(texts[k]))
    return out


def _left_open(laying: Laying) -> str:
    """The copy with what is borne out struck out, letter for letter."""
    letters = list(laying.alignment.copy)
    held = laying.alignment.copy_at
    for at in held[held >= 0].tolist():
        letters[at] = _TAKEN
    # A letter may have another form folded: its place must stay the same.
    return "".join(c if len(c.casefold()) != 1 else c.casefold() for c in letters)


def _places(left: str, text: str) -> Iterator[tuple[int, int]]:
    """Stretches of what is left open that are a piece, or if none is, much like it."""
    if not text:
        return
    found = [m.span() for m in re.finditer(rf"(?<!\w){re.escape(text)}(?!\w)", left)]
    yield from found
    if found or len(text) < _SHORT:
        return
    for stretch in re.finditer(rf"[^{_TAKEN}]+", left):
        if len(stretch[0]) < _ALIKE / 100 * len(text):
            continue
        like = partial_ratio_alignment(text, stretch[0], score_cutoff=_ALIKE)
        if like is not None:
            yield stretch.start() + like.dest_start, stretch.start() + like.dest_end
