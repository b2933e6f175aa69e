"""Matter that stands apart from the text: panels in reverse, display, type in a margin, borders.

Each is printed by itself as a picture (0 ink, 255 paper) and laid on a proof, which grows where
there is no room. The truth about the proof's own lines stays as it is but for the shift.
"""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from .matter import Head, Style
from .printing import Proof, print_proof
from .setting import compose

__all__ = ["block_of", "cut_of", "framed", "laid_beside", "panel_of"]

Picture = NDArray[np.uint8]


def block_of(*lines: str, body_pt: float, family: str = "schola", style: str = "roman",
             dpi: float = 300.0) -> Picture:  # fmt: skip
    """Lines of one size, centred, cut to their ink."""
    heads = [Head(text, body_pt, body_pt * 0.2, style=style) for text in lines]
    widest = max(len(text) for text in lines)
    forme = compose(heads, measure_picas=widest * body_pt / 12, style=Style(family=family))
    image = print_proof(forme, dpi=dpi, margin_picas=1).image
    rows, columns = np.flatnonzero((image < 128).any(1)), np.flatnonzero((image < 128).any(0))
    return image[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]


def panel_of(picture: Picture, *, pad_px: int, shape: str = "square") -> Picture:
    """White on black: the picture reversed in a solid panel, "square", "round" (at the corners)
    or "oval"."""
    height, width = picture.shape
    room = max(pad_px, round(width / 4)) if shape == "oval" else pad_px
    tall, wide = height + 2 * room, width + 2 * room
    ground = np.zeros((tall, wide), np.uint8)
    if shape == "oval":
        cv2.ellipse(
            ground, (wide // 2, tall // 2), (wide // 2 - 1, tall // 2 - 1), 0, 0, 360, 255, -1
        )
    elif shape == "round":
        turn = pad_px
        cv2.rectangle(ground, (turn, 0), (wide - turn, tall), 255, -1)
        cv2.rectangle(ground, (0, turn), (wide, tall - turn), 255, -1)
        for x in (turn, wide - turn - 1):
            for y in (turn, tall - turn - 1):
                cv2.circle(ground, (x, y), turn, 255, -1)
    else:
        ground[:] = 255
    lettering = np.zeros_like(ground)
    lettering[room : room + height, room : room + width] = 255 - picture
    return 255 - cv2.subtract(ground, lettering)


def cut_of(width_px: int, height_px: int, *, kind: str, seed: int = 0) -> Picture:
    """A cut: "halftone" (a grey picture through a screen), "line" (hatched hills) or "solid"."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[0:height_px, 0:width_px].astype(np.float64)
    soft = cv2.GaussianBlur(rng.normal(0, 1, (height_px, width_px)), (0, 0), width_px / 8)
    tone = (soft - soft.min()) / np.ptp(soft)
    if kind == "solid":
        return np.where(tone > 0.45, 0, 255).astype(np.uint8)
    if kind == "line":
        ridge = height_px * (0.5 + 0.3 * np.sin(x / width_px * 7 + seed))
        hatch = (np.mod(y + 0.3 * x, 9) < 1 + 6 * tone) & (y > ridge)
        outline = np.abs(y - ridge) < 3
        return np.where(hatch | outline, 0, 255).astype(np.uint8)
    pitch = 5.0
    screen = 0.5 + 0.25 * (np.cos(2 * np.pi * (x + y) / pitch / 1.414)
                           + np.cos(2 * np.pi * (x - y) / pitch / 1.414))  # fmt: skip
    return np.where(tone > screen, 0, 255).astype(np.uint8)


def laid_beside(proof: Proof, picture: Picture, where: str, *, gap_px: int = 60) -> Proof:
    """The proof with a picture laid at its "head", "foot", "left" or "right", clear of the text."""
    image = proof.image
    height, width = image.shape
    tall, wide = picture.shape
    down = tall + gap_px if where in ("head", "foot") else 0
    across = wide + gap_px if where in ("left", "right") else 0
    first = int(np.flatnonzero((image < 128).any(1))[0])
    shape = (
        max(height + down, tall + 4 * gap_px, first + tall + 2 * gap_px if across else 0),
        max(width + across, wide + 6 * gap_px),
    )
    dx, dy = across * (where == "left"), down * (where == "head")
    ground = np.full(shape, 255, np.uint8)
    ground[dy : dy + height, dx : dx + width] = image
    rows = np.flatnonzero((image < 128).any(1)) + dy
    columns = np.flatnonzero((image < 128).any(0)) + dx
    y = {"head": rows[0] - gap_px - tall, "foot": rows[-1] + gap_px}.get(where, rows[0] + gap_px)
    x = {"left": columns[0] - gap_px - wide, "right": columns[-1] + gap_px}
    x = x.get(where, columns[0] + gap_px)
    window = ground[y : y + tall, x : x + wide]
    np.minimum(window, picture, out=window)
    return _moved(replace(proof, image=ground), dx, dy)


def framed(
    proof: Proof, *, weight_px: int = 6, inset_px: int = 40, double: bool = False, round_px: int = 0
) -> Proof:
    """The proof with a ruled border round its matter, plain or double, corners square or round."""
    image = proof.image.copy()
    rows, columns = np.flatnonzero((image < 128).any(1)), np.flatnonzero((image < 128).any(0))
    for part in range(2 if double else 1):
        out = inset_px + part * 4 * weight_px
        left, top = int(columns[0]) - out, int(rows[0]) - out
        right, bottom = int(columns[-1]) + out, int(rows[-1]) + out
        r = round_px
        for y in (top, bottom):
            cv2.line(image, (left + r, y), (right - r, y), 0, weight_px)
        for x in (left, right):
            cv2.line(image, (x, top + r), (x, bottom - r), 0, weight_px)
        for x, y, turn in (
            (left + r, top + r, 180),
            (right - r, top + r, 270),
            (right - r, bottom - r, 0),
            (left + r, bottom - r, 90),
        ):
            if r:
                cv2.ellipse(image, (x, y), (r, r), turn, 0, 90, 0, weight_px)
    return replace(proof, image=image)


def _moved(proof: Proof, dx: int, dy: int) -> Proof:
    """The truth moved with the matter."""
    if not dx and not dy:
        return proof
    lines = tuple(
        replace(
            line,
            box=(line.box[0] + dx, line.box[1] + dy, *line.box[2:]),
            baseline_y=line.baseline_y + dy,
            measure_px=(line.measure_px[0] + dx, line.measure_px[1] + dx),
            letters=tuple(
                replace(c, box=(c.box[0] + dx, c.box[1] + dy, *c.box[2:])) for c in line.letters
            ),
        )
        for line in proof.lines
    )
    return replace(proof, lines=lines)
