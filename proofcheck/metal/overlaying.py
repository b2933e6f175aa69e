"""Lay letters true on the fellows of their kind, and tell how far off and how unlike they are."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.metal.patches import TALL, WIDE, Cut, letter_windows

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["FAR", "NEAREST", "REACH", "Fellows", "Laid", "laid_true", "lay_on", "scars", "shifted"]

REACH = (5, 6)
"""How far right or left, and up or down, a letter is tried, in patch pixels."""
FAR = (12, 9)
"""The same for letters turned, or that may have been cut out beside their place."""
NEAREST = 5
_LIKE = 0.06
"""Letters more like their fellows than this are not looked at further."""
_PLAIN = 0.3
_PLAY = np.ones((3, 3), np.uint8)
_FEW = 128
"""Letters held against each of their nearest fellows in one go: 8 MB."""
_SHOWS, _ABOVE = 0.15, 2
"""Rows of paper over and under a letter that are still compared."""


@dataclass(frozen=True, slots=True, eq=False)
class Fellows:
    """Letters that stand for their kind, laid true on each other; m of them."""

    who: NDArray[np.intp]
    """Their numbers among all letters."""
    ink: NDArray[np.float32]
    """(m, TALL * WIDE): their ink, all else left out."""
    mould: NDArray[np.float32]
    """(TALL, WIDE): their mean."""
    mould_window: NDArray[np.float32]
    """(TALL, WIDE): 1 where the letter and its rim are."""

    @property
    def window(self) -> NDArray[np.float32]:
        """(m, TALL * WIDE): the same for each; made anew, for of all kinds it is 40 MB."""
        return np.repeat(self.mould_window.reshape(1, -1), len(self.who), axis=0)

    @staticmethod
    def of(cut: Cut, who: NDArray[np.intp]) -> Fellows:
        """Fellows of the letters numbered; laid twice, the second time on their own mean."""
        half = float(np.median(cut.half_width[who]))
        window = letter_windows(np.full(len(who), half, np.float32))
        ink = cut.ink[who] * window
        mould = np.median(ink, axis=0).astype(np.float32)
        for _ in range(2):
            moved = _best_shifts(cut.ink[who], mould, window[0])[0]
            ink = shifted(cut.ink[who], moved) * window
            mould = ink.mean(axis=0)
        # What hangs down from the line above, or stands up from the one below, is no part of it.
        rows = cv2.dilate(
            (mould.max(axis=1) > _SHOWS).astype(np.uint8), np.ones((2 * _ABOVE + 1, 1))
        )
        window = window * rows.reshape(1, TALL, 1).astype(np.float32)
        ink = ink * window
        mould = mould * window[0]
        flat = ink.reshape(len(who), -1)
        return Fellows(who, flat, mould, window[0].copy())


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """What came of laying letters on fellows; n letters."""

    unlike: NDArray[np.float32]
    moved: NDArray[np.float32]
    """(n, 2): right and down, patch pixels, finer than whole ones."""
    shift: NDArray[np.intp]
    """(n, 2): the same of the patch as cut, whole pixels: `shifted` by it, it lies true."""
    nearest: NDArray[np.intp]
    """(n, NEAREST)"""
    lost: NDArray[np.float32]
    """Share of the ink its nearest fellows have that it wants; 0 where it is like them."""
    added: NDArray[np.float32]
    """Ink it has where its nearest fellows have paper, as a share of theirs."""
    closest: NDArray[np.float32]
    """How unlike the very nearest fellow."""


def lay_on(
    cut: Cut,
    who: NDArray[np.intp],
    fellows: Fellows,
    *,
    turned: bool = False,
    reach: tuple[int, int] = REACH,
) -> Laid:
    """Lay letters on fellows: each on their mean, then against each of them but itself.

    Args:
        cut: all letters.
        who: numbers of those to be laid.
        fellows: whom on.
        turned: turn the letters by half a turn first.
        reach: how far right or left, and up or down, they are tried.
    """
    ink = cut.ink[who]
    if turned:
        ink = ink[:, ::-1, ::-1]
    reach = FAR if turned else reach
    whole, fine = _best_shifts(ink, fellows.mould, fellows.mould_window, reach)
    laid = shifted(ink, whole)
    flat = laid.reshape(len(who), -1)
    power = (flat * flat) @ fellows.window.T
    cross = flat @ fellows.ink.T
    own = (fellows.ink * fellows.ink).sum(axis=1)
    far = (power - 2 * cross + own) / np.maximum(np.sqrt(power * own), 1e-3)
    far[who[:, None] == fellows.who[None, :]] = np.inf
    count = min(NEAREST, max(far.shape[1] - 1, 1))
    order = np.argsort(far, axis=1)[:, :count]
    near = np.take_along_axis(far, order, axis=1)
    unlike = near[:, : min(3, count)].mean(axis=1)
    nearest = np.full((len(who), NEAREST), -1)
    nearest[:, :count] = fellows.who[order]
    lost, added = np.zeros_like(unlike), np.zeros_like(unlike)
    odd = np.flatnonzero(unlike > _LIKE)
    for start in range(0, len(odd), _FEW):
        some = odd[start : start + _FEW]
        lost[some], added[some] = _lost_and_added(laid[some], fellows, order[some])
    return Laid(unlike, fine - cut.offset[who], whole, nearest, lost, added, near[:, 0])


def laid_true(ink: NDArray[np.float32], fellows: Fellows) -> NDArray[np.float32]:
    """Patches (n, TALL, WIDE) laid true on the mean of fellows, within their window."""
    return shifted(ink, _best_shifts(ink, fellows.mould, fellows.mould_window)[0]) * (
        fellows.mould_window
    )


def _lost_and_added(
    ink: NDArray[np.float32], fellows: Fellows, near: NDArray[np.intp]
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """What letters want of their nearest fellows, and have beyond them, as shares of their ink.

    A pixel's play is allowed at every edge, so that wear and a hair's misplacing count for nothing.
    """
    held = fellows.ink[near]
    mean = held.mean(axis=1).reshape(-1, TALL, WIDE)
    # Ink that all but one of them have: one fellow cut wrong or broken makes no other broken.
    sure = _second_least(held).reshape(-1, TALL, WIDE)
    total = np.maximum(mean.sum(axis=(1, 2)), 1e-3)
    lost = np.clip(sure - _thickened(ink), 0, 1)
    beyond = np.clip(ink - _thickened(mean), 0, 1) * _core(fellows)
    # What a third of the ink or less is wanting of is wear; only plain want counts.
    wanting, over = (np.where(part > _PLAIN, part, 0).sum(axis=(1, 2)) for part in (lost, beyond))
    return wanting / total, over / total


def _second_least(held: NDArray[np.float32]) -> NDArray[np.float32]:
    """Along the second axis; of one, that one. Faster than `np.partition` over so few."""
    least, second = held[:, 0], held[:, -1]
    for at in range(1, held.shape[1]):
        other = np.maximum(least, held[:, at])
        second = other if at == 1 else np.minimum(second, other)
        least = np.minimum(least, held[:, at])
    return second


def _thickened(patches: NDArray[np.float32]) -> NDArray[np.float32]:
    """Patches (n, TALL, WIDE) with a pixel's play all round their ink."""
    # One under the other, with a row of paper between, so that all are thickened in one go.
    framed = np.zeros((len(patches), TALL + 1, WIDE), patches.dtype)
    framed[:, :TALL] = patches
    thick = cv2.dilate(framed.reshape(-1, WIDE), _PLAY)
    return np.asarray(thick.reshape(-1, TALL + 1, WIDE)[:, :TALL])


def _core(fellows: Fellows) -> NDArray[np.float32]:
    """1 in the columns of the fellows' ink alone, without the rim."""
    inked = np.flatnonzero(fellows.mould.max(axis=0) > 0.2)
    core = np.zeros((TALL, WIDE), np.float32)
    if len(inked):
        core[:, inked[0] : inked[-1] + 1] = 1
    return core


def scars(cut: Cut, number: int, fellows: Fellows) -> NDArray[np.bool_]:
    """(TALL, WIDE): where a letter wants ink that most of its fellows have."""
    ink = cut.ink[number : number + 1]
    laid = shifted(ink, _best_shifts(ink, fellows.mould, fellows.mould_window)[0])[0]
    return np.asarray(fellows.mould - cv2.dilate(laid, _PLAY) > _PLAIN)


def shifted(ink: NDArray[np.float32], moved: NDArray[np.intp]) -> NDArray[np.float32]:
    """Patches moved back by whole pixels, (n, 2) right and down; paper comes in at the edges."""
    reach = int(np.abs(moved).max(initial=0))
    framed = np.zeros((len(ink), TALL + 2 * reach, WIDE + 2 * reach), ink.dtype)
    framed[:, reach : reach + TALL, reach : reach + WIDE] = ink
    windows = np.lib.stride_tricks.sliding_window_view(framed, (TALL, WIDE), axis=(1, 2))
    right, down = (reach + moved).T
    return np.asarray(windows[np.arange(len(ink)), down, right])


def _best_shifts(
    ink: NDArray[np.float32],
    mould: NDArray[np.float32],
    window: NDArray[np.float32],
    reach: tuple[int, int] = REACH,
) -> tuple[NDArray[np.intp], NDArray[np.float32]]:
    """Where each patch lies best on a mould: whole pixels, and finer by the parabola.

    The least sum of squares within the mould's window decides; what stands beside it does not.
    """
    reach_x, reach_y = reach
    xs, ys = np.arange(-reach_x, reach_x + 1), np.arange(-reach_y, reach_y + 1)
    cross = ink.reshape(len(ink), -1) @ _all_shifts(mould, reach).T
    cost = _power(ink, window, reach) - 2 * cross.reshape(len(ink), len(ys), len(xs))
    best = cost.reshape(len(ink), -1).argmin(axis=1)
    row, column = np.divmod(best, len(xs))
    whole = np.stack([xs[column], ys[row]], axis=1)
    pick = np.arange(len(ink))
    fine = whole.astype(np.float32)
    fine[:, 0] += _parabola(cost[pick, row], column)
    fine[:, 1] += _parabola(cost[pick, :, column], row)
    return whole, fine


def _power(
    ink: NDArray[np.float32], window: NDArray[np.float32], reach: tuple[int, int]
) -> NDArray[np.float32]:
    """Sum of squares of each patch within a window moved every way, (n, up to down, left to right).

    A window is columns times rows, so that it is summed along either by itself.
    """
    across, down = reach
    columns, rows = _widened(window.max(axis=0), across), _widened(window.max(axis=1), down)
    every_column = np.lib.stride_tricks.sliding_window_view(columns, WIDE)[::-1]
    every_row = np.lib.stride_tricks.sliding_window_view(rows, TALL)[::-1]
    return np.asarray(np.matmul(every_row, (ink * ink) @ every_column.T))


def _widened(row: NDArray[np.float32], by: int) -> NDArray[np.float32]:
    """Noughts at either end. `np.pad` takes ten times as long, hundreds of times a page."""
    wide = np.zeros(len(row) + 2 * by, row.dtype)
    wide[by : by + len(row)] = row
    return wide


def _all_shifts(picture: NDArray[np.float32], reach: tuple[int, int]) -> NDArray[np.float32]:
    """A patch moved every way, a row each: up to down, and within that left to right."""
    across, down = reach
    framed = np.zeros((TALL + 2 * down, WIDE + 2 * across), picture.dtype)
    framed[down : down + TALL, across : across + WIDE] = picture
    every = np.lib.stride_tricks.sliding_window_view(framed, (TALL, WIDE))[::-1, ::-1]
    return every.reshape(-1, TALL * WIDE)


def _parabola(cost: NDArray[np.float32], at: NDArray[np.intp]) -> NDArray[np.float32]:
    """Offset of the least cost from the least sample, −0.5 to 0.5; 0 at the ends."""
    pick = np.arange(len(cost))
    inner = (at > 0) & (at < cost.shape[1] - 1)
    before = cost[pick, np.maximum(at - 1, 0)]
    here = cost[pick, at]
    after = cost[pick, np.minimum(at + 1, cost.shape[1] - 1)]
    bend = before - 2 * here + after
    off = np.where(bend > 1e-6, (before - after) / np.maximum(2 * bend, 1e-6), 0.0)
    return np.where(inner, np.clip(off, -0.5, 0.5), 0.0).astype(np.float32)
