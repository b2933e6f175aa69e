"""The impression of a sheet, as a map: where the form prints light and where it prints dark.

Each letter's ink is set against the usual ink of its kind, so that matter in capitals or small
type is not dark or light for that. The sheet was evenly lit before; what is left is the form's.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.metal.context import Matter

__all__ = ["ImpressionMap", "impression_maps", "impression_notes"]

ROWS, COLUMNS = 6, 4
LEAST_LETTERS = 12
"""Letters in a field of the map, or nothing is said of it."""
LIGHT, DARK = 0.86, 1.18
"""Shares of the usual ink past which a field is worth a word; a person sees about a tenth."""
_PLACES_DOWN = ("head", "head", "upper half", "lower half", "foot", "foot")
_PLACES_ACROSS = ("left", "middle", "middle", "right")


@dataclass(frozen=True, slots=True, eq=False)
class ImpressionMap:
    """One sheet's impression."""

    sheet: int
    share: NDArray[np.float64]
    """(ROWS, COLUMNS): ink of the letters there over the usual ink of their kinds, 1 = as usual;
    NaN where there are too few letters. Fields part the sheet evenly."""


def impression_maps(matter: Matter) -> tuple[ImpressionMap, ...]:
    """The map of each sheet that has letters enough."""
    weight = _weights(matter)
    lines = [matter.lines[row] for row in matter.fount.line.tolist()]
    number = np.array([line.sheet for line in lines], np.intp)
    x = np.array([box.x + box.width / 2 for box in matter.boxes])
    y = np.array([box.y + box.height / 2 for box in matter.boxes])
    maps = []
    for sheet in np.unique(number):
        height, width = matter.sheets[int(sheet)].image.shape
        mine = np.flatnonzero((number == sheet) & np.isfinite(weight))
        if not len(mine):
            continue
        row = np.clip((y[mine] * ROWS / height).astype(np.intp), 0, ROWS - 1)
        column = np.clip((x[mine] * COLUMNS / width).astype(np.intp), 0, COLUMNS - 1)
        its, usual = weight[mine], float(np.median(weight[mine]))
        share = np.full((ROWS, COLUMNS), np.nan)
        for field in range(ROWS * COLUMNS):
            held = row * COLUMNS + column == field
            if held.sum() >= LEAST_LETTERS:
                share[divmod(field, COLUMNS)] = float(np.median(its[held])) / usual
        maps.append(ImpressionMap(int(sheet), share))
    return tuple(maps)


def _weights(matter: Matter) -> NDArray[np.float64]:
    """Each letter's ink over the usual of its kind; NaN where its kind has too few."""
    ink = matter.fount.cut.ink_within(1)
    weight = np.full(len(ink), np.nan)
    for character in matter.fount.fellows:
        mine = matter.fount.text == character
        weight[mine] = ink[mine] / max(float(np.median(ink[mine])), 1e-3)
    return weight


def impression_notes(maps: tuple[ImpressionMap, ...]) -> tuple[str, ...]:
    """A sentence for each part of a sheet that prints plainly lighter or darker than the rest."""
    notes = []
    for each in maps:
        for word, fields in (("light", each.share < LIGHT), ("dark", each.share > DARK)):
            if not fields.any():
                continue
            places = sorted({_place(int(r), int(c)) for r, c in np.argwhere(fields)})
            light = word == "light"
            worst = float(each.share[fields].min() if light else each.share[fields].max())
            much = f"{'down' if light else 'up'} to {100 * worst:.0f} % of the usual ink"
            notes.append(f"sheet {each.sheet + 1} prints {word} at {', '.join(places)}: {much}")
    return tuple(notes)


def _place(row: int, column: int) -> str:
    return f"the {_PLACES_DOWN[row]}, {_PLACES_ACROSS[column]}"
