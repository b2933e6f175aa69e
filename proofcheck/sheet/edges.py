"""The flat edges of a line, to a fraction of a pixel: feet on the baseline, heads at the x-height.

Serifs and flat strokes end together and make a step in the ink of a line summed row by row; the
round letters, which overshoot, spread theirs. The steepest place of the step is the edge that the
type was cut to.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.sheet.baselines import CAPITALS_TO_X

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Grey
    from proofcheck.sheet.baselines import Fit

__all__ = ["refine"]

_SEARCH = 0.16
"""How far from the first estimate the step is looked for, in x-heights."""


def refine(image: Grey, fits: Sequence[Fit], spans: Sequence[tuple[float, float]]) -> list[Fit]:
    """Move each line's baseline and x-height to the steps in its ink.

    Args:
        image: the sheet.
        fits: a first estimate of each line.
        spans: left and right end of each line, pixels.
    """
    return [_refined(image, fit, span) for fit, span in zip(fits, spans, strict=True)]


def _refined(image: Grey, fit: Fit, span: tuple[float, float]) -> Fit:
    tall, size = fit.height, fit.x_height
    if tall < 4 or tall > image.shape[0] / 2:
        return fit
    spare = int(0.4 * tall) + 3
    above = int(tall) + spare
    profile = _profile(image, fit, span, above, spare)
    reach = max(_SEARCH * size, 1.5)
    foot = _step(profile, above, reach, falling=True)
    head = _step(profile, above - tall, reach, falling=False)
    down = foot - above
    height = foot - head
    return replace(
        fit,
        level=fit.level + down,
        height=height,
        x_height=height if fit.sure else height * CAPITALS_TO_X,
    )


def _profile(
    image: Grey, fit: Fit, span: tuple[float, float], above: int, below: int
) -> NDArray[np.float64]:
    """Ink of each row along the baseline, from `above` rows over it to `below` under it."""
    left, right = int(span[0]), max(int(np.ceil(span[1])), int(span[0]) + 1)
    # Row v of the straightened cutting has its centre at sheet height base + v + 1/2 − above.
    start = float(fit.at(left + 0.5)) - above
    turn = np.array([[1.0, 0.0, left], [fit.slope, 1.0, start]])
    level = cv2.warpAffine(
        image,
        turn,
        (right - left, above + below),
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=255,
    )
    rows = np.asarray(level, np.float32).mean(axis=1, dtype=np.float64)
    return np.asarray(255.0 - rows)


def _step(profile: NDArray[np.float64], near: float, reach: float, *, falling: bool) -> float:
    """Row edge near a place where the ink changes fastest; `near` itself where nothing does."""
    smooth = cv2.GaussianBlur(profile.reshape(1, -1), (0, 0), max(reach / 4, 0.6)).ravel()
    change = np.diff(smooth) * (-1 if falling else 1)
    first = max(int(np.floor(near - reach)) - 1, 1)
    last = min(int(np.ceil(near + reach)), len(change) - 1)
    if last <= first:
        return near
    best = first + int(np.argmax(change[first:last]))
    before, top, after = change[best - 1 : best + 2]
    if top <= 0:
        return near
    bend = before - 2 * top + after
    part = 0.5 * (before - after) / bend if bend < 0 else 0.0
    # change[k] is between the centres of rows k and k + 1: at the edge k + 1.
    return float(np.clip(best + 1 + np.clip(part, -0.5, 0.5), near - reach, near + reach))
