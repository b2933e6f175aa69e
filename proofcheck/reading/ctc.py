"""Connectionist temporal classification in NumPy: reading, aligning and scoring a line.

After Graves et al., "Connectionist Temporal Classification" (ICML 2006). `logp` is always
(columns, classes), natural logarithms of probabilities, class 0 the blank; texts are sequences of
class numbers, in which `WILDCARD` stands for any one character.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Matrix = NDArray[np.float32] | NDArray[np.float64]

__all__ = ["WILDCARD", "Decoded", "align", "greedy", "llr", "log_likelihood"]

BLANK = 0
WILDCARD = -1
"""A character outside the classes: scored as the likeliest character of each column, so that the
image neither speaks for it nor against it."""
_CONTEXT = 2
"""Characters kept on either side of a difference when only that stretch is scored."""


@dataclass(frozen=True, slots=True, eq=False)
class Decoded:
    """A line as read; the arrays are parallel, one entry a character."""

    classes: NDArray[np.intp]
    columns: NDArray[np.float64]
    """Where each peaks: mean column, weighted by its probability."""
    certainty: NDArray[np.float64]
    """Highest probability it reaches, 0 to 1."""


def greedy(logp: Matrix) -> Decoded:
    """The likeliest class of each column, repeats and blanks taken out."""
    best = logp.argmax(axis=1)
    chance = np.exp(logp[np.arange(len(best)), best].astype(np.float64))
    starts = np.flatnonzero(np.diff(best, prepend=-1) != 0)
    if not len(starts):
        none = np.zeros(0)
        return Decoded(none.astype(np.intp), none, none)
    weight = np.add.reduceat(chance, starts)
    centre = np.add.reduceat(chance * np.arange(len(best)), starts) / weight
    top = np.maximum.reduceat(chance, starts)
    classes = best[starts]
    kept = classes != BLANK
    return Decoded(classes[kept], centre[kept], top[kept])


def _lattice(logp: Matrix, text: Sequence[int]) -> tuple[Matrix, NDArray[np.bool_]]:
    """Log-probabilities of the states (blank, letter, blank …), and which may skip a blank."""
    labels = np.asarray(text, np.intp)
    states = np.full(2 * len(labels) + 1, BLANK, np.intp)
    states[1::2] = labels
    held = logp[:, np.maximum(states, 0)]
    wild = np.flatnonzero(states == WILDCARD)
    if len(wild):
        held[:, wild] = logp[:, 1:].max(axis=1, keepdims=True)
    skips = np.zeros(len(states), np.bool_)
    skips[3::2] = labels[1:] != labels[:-1]
    return held, skips


def log_likelihood(logp: Matrix, text: Sequence[int]) -> float:
    """Log-probability that the columns read `text`, over all alignments (the forward score).

    Minus infinity where the text has more characters than the columns can hold.
    """
    if not len(logp):
        return 0.0 if not len(text) else float("-inf")
    held, skips = _lattice(logp, text)
    peak = held.max(axis=1)
    chance = np.exp((held - peak[:, None]).astype(np.float64))
    total = float(peak.sum(dtype=np.float64))
    alpha = np.zeros(held.shape[1])
    alpha[:2] = chance[0, :2]
    jumps = skips[2:].astype(np.float64)
    for column in chance[1:]:
        scale = alpha.max()
        if scale <= 0.0:
            return float("-inf")
        total += float(np.log(scale))
        alpha /= scale
        moved = alpha.copy()
        moved[1:] += alpha[:-1]
        moved[2:] += alpha[:-2] * jumps
        alpha = moved * column
    end = float(alpha[-2:].sum())
    return total + float(np.log(end)) if end > 0 else float("-inf")


def align(logp: Matrix, text: Sequence[int]) -> NDArray[np.float64]:
    """The middle column of each character on the likeliest alignment (Viterbi).

    Raises:
        ValueError: the columns are too few for the text.
    """
    if not len(text):
        return np.zeros(0)
    held, skips = _lattice(logp, text)
    columns, states = held.shape
    jump = np.where(skips, 0.0, -np.inf)
    score = np.full(states, -np.inf)
    if columns:
        score[:2] = held[0, :2]
    came = np.zeros((columns, states), np.int8)
    options = np.full((3, states), -np.inf)
    for at in range(1, columns):
        options[0] = score
        options[1, 1:] = score[:-1]
        options[2, 2:] = score[:-2] + jump[2:]
        came[at] = options.argmax(axis=0)
        score = options.max(axis=0) + held[at]
    state = states - 1 if score[-1] >= score[-2] else states - 2
    if not np.isfinite(score[state]):
        msg = f"{columns} columns can't hold {len(text)} characters"
        raise ValueError(msg)
    path = np.empty(columns, np.intp)
    for at in range(columns - 1, -1, -1):
        path[at] = state
        state -= int(came[at, state])
    letters = np.arange(len(text)) * 2 + 1
    first = np.searchsorted(path, letters, "left")
    last = np.searchsorted(path, letters, "right") - 1
    return np.asarray((first + last) / 2.0)


def llr(
    logp: Matrix,
    as_read: Sequence[int],
    as_copy: Sequence[int],
    columns: NDArray[np.float64] | None = None,
) -> float:
    """Log-likelihood of one text less that of another that differs in one stretch, in nats.

    Only the stretch between the two texts' common head and tail is scored, with two characters
    of each: where the tails are far from the difference the whole line gives the same figure.

    Args:
        logp: the line.
        as_read: one text, usually the line as read.
        as_copy: the other.
        columns: where the characters of `as_read` stand, if known (else they are aligned).

    Returns:
        Positive where the image prefers `as_read`. Minus infinity where the columns can't hold
        `as_read`, infinity where they can't hold `as_copy`.
    """
    read, copy = list(as_read), list(as_copy)
    if read == copy:
        return 0.0
    head, tail = _common(read, copy)
    if columns is None:
        try:
            columns = align(logp, read)
        except ValueError:
            return float("-inf")
    first, last = max(head - _CONTEXT, 0), max(tail - _CONTEXT, 0)
    start, end = 0, len(logp)
    if first:
        start = round((columns[first - 1] + columns[first]) / 2 + 0.5)
    if last:
        stop = len(read) - last
        end = round((columns[stop - 1] + columns[stop]) / 2 + 0.5)
    part = logp[start:end]
    copied = log_likelihood(part, copy[first : len(copy) - last])
    if copied == float("-inf"):
        return float("inf")
    return log_likelihood(part, read[first : len(read) - last]) - copied


def _common(one: list[int], other: list[int]) -> tuple[int, int]:
    """Lengths of the common head and tail, which never overlap."""
    short = min(len(one), len(other))
    head = 0
    while head < short and one[head] == other[head]:
        head += 1
    tail = 0
    while tail < short - head and one[-1 - tail] == other[-1 - tail]:
        tail += 1
    return head, tail
