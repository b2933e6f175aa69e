"""Rules among the lines, braces, borders of ornaments and block initials, drawn round set matter.

The truth about the lines stays as it is; of a table only the picture is made.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from .matter import PT_PER_IN, Gap, Head, Para, Style
from .printing import Proof, print_proof
from .setting import compose

__all__ = [
    "UNITS",
    "beside_block",
    "block_initial",
    "brace_of",
    "garlanded",
    "laid_under",
    "table_of",
    "unit_of",
]

Picture = NDArray[np.uint8]
UNITS = ("star", "leaf", "lozenge", "curl")
_SPARE_PICAS = 1.0


def table_of(
    rows, widths_picas, *, family="schola", body_pt=10.0, lead_pt=6.0, weight_px=3,
    level=True, upright=True, boxed=True, broken_px=0, dpi=300.0,
) -> Picture:  # fmt: skip
    """A table with rules: rows of cells, the last columns set to the right.

    Args:
        rows: the cells of each row; "" for an empty one.
        widths_picas: of the columns.
        family, body_pt, lead_pt: how it is set.
        weight_px: of the rules.
        level, upright, boxed: which rules: under each row, between columns, round it all.
        broken_px: white in the upright rules where each row ends.
        dpi: pixels to the inch.
    """
    px, style = dpi / PT_PER_IN, Style(family=family)
    columns = []
    for at, width in enumerate(widths_picas):
        align = "right" if at and at >= len(widths_picas) - 2 else "left"
        heads = [
            Head(row[at], body_pt, lead_pt, align=align) if row[at] else Gap(body_pt + lead_pt)
            for row in rows
        ]
        forme = compose(heads, measure_picas=width, style=style)
        columns.append(print_proof(forme, dpi=dpi, margin_picas=_SPARE_PICAS).image)
    gap = round(_SPARE_PICAS * 12 * px)
    image = np.hstack(columns)
    pitch = (body_pt + lead_pt) * px
    head, foot = round(gap - lead_pt * px / 2), round(gap + len(rows) * pitch - lead_pt * px / 2)
    edges = np.cumsum([0, *(column.shape[1] for column in columns)])
    ends = (int(edges[0]) + gap // 2, int(edges[-1]) - gap // 2)
    breaks = [round(gap + at * pitch - lead_pt * px / 2) for at in range(len(rows) + 1)]
    for y in breaks if level else []:
        cv2.line(image, (ends[0], y), (ends[1], y), 0, weight_px)
    inner = [int(x) for x in edges[1:-1]] if upright else []
    for x in inner + (list(ends) if boxed else []):
        for top, bottom in pairwise(breaks):
            cv2.line(image, (x, top + (broken_px + 1) // 2), (x, bottom - broken_px // 2), 0,
                     weight_px)  # fmt: skip
    if boxed:
        for y in (head, foot):
            cv2.line(image, (ends[0], y), (ends[1], y), 0, weight_px)
    rows, columns = (np.flatnonzero((image < 128).any(axis)) for axis in (1, 0))
    return image[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]


def laid_under(proof: Proof, picture: Picture, *, gap_px: int = 40, margin_px: int = 120) -> Proof:
    """The proof with a picture under its matter, midway, and a margin round both."""
    rows, columns = (np.flatnonzero((proof.image < 128).any(axis)) for axis in (1, 0))
    matter = proof.image[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    (tall, wide), (more, across) = matter.shape, picture.shape
    width = max(wide, across) + 2 * margin_px
    ground = np.full((tall + more + gap_px + 2 * margin_px, width), 255, np.uint8)
    for top, part in ((margin_px, matter), (margin_px + tall + gap_px, picture)):
        left = (width - part.shape[1]) // 2
        ground[top : top + part.shape[0], left : left + part.shape[1]] = part
    return replace(proof, image=ground, lines=())


def brace_of(height_px: int, *, stroke_px: int = 4, left: bool = False) -> Picture:
    """A brace of some lines' height, its beak to the right (or left)."""
    width = max(height_px // 6, 12)
    y = np.linspace(-1, 1, 400)
    beak, ends = np.exp(-((y / 0.09) ** 2)), np.abs(y) ** 14
    x = width * (0.45 + 0.5 * beak - 0.42 * ends)
    points = np.stack([x + stroke_px, (y + 1) / 2 * (height_px - 1) + stroke_px], axis=1)
    image = np.full((height_px + 2 * stroke_px, width + 2 * stroke_px), 255, np.uint8)
    cv2.polylines(image, [np.round(points * 8).astype(np.int32)], False, 0, stroke_px,
                  cv2.LINE_AA, 3)  # fmt: skip
    return image[:, ::-1] if left else image


def unit_of(kind: str, size_px: int) -> Picture:
    """One type ornament: "star", "leaf" (a leaf and a tendril apart), "lozenge" or "curl"."""
    over = 8
    size = size_px * over
    image, centre = np.full((size, size), 255, np.uint8), size / 2
    if kind == "star":
        turns = np.arange(10) * np.pi / 5 - np.pi / 2
        reach = np.where(np.arange(10) % 2 == 0, 0.48, 0.2) * size
        points = np.stack([np.cos(turns), np.sin(turns)], axis=1) * reach[:, None] + centre
        cv2.fillPoly(image, [points.astype(np.int32)], 0)
    elif kind == "lozenge":
        points = np.array([(0.5, 0.05), (0.85, 0.5), (0.5, 0.95), (0.15, 0.5)]) * size
        cv2.fillPoly(image, [points.astype(np.int32)], 0)
        cv2.circle(image, (int(centre), int(centre)), int(0.1 * size), 255, -1)
    elif kind == "leaf":
        cv2.ellipse(image, (int(0.4 * size), int(0.6 * size)), (int(0.3 * size), int(0.17 * size)),
                    -35, 0, 360, 0, -1)  # fmt: skip
        cv2.ellipse(image, (int(0.7 * size), int(0.3 * size)), (int(0.17 * size),) * 2,
                    0, 120, 400, 0, int(0.07 * size))  # fmt: skip
    else:
        turn = np.linspace(0.3, 4.2 * np.pi, 200)
        points = np.stack([np.cos(turn), np.sin(turn)], axis=1)
        points = points * (0.035 * turn * size)[:, None] + centre
        cv2.polylines(image, [points.astype(np.int32)], False, 0, int(0.09 * size))
    return np.asarray(cv2.resize(image, (size_px, size_px), interpolation=cv2.INTER_AREA))


def garlanded(
    proof: Proof, kind: str, *, size_px: int = 40, gap_px: int = 8, inset_px: int = 50,
    corner: str | None = None,
) -> Proof:  # fmt: skip
    """The proof with a border of one ornament repeated round its matter, each side turned.

    Args:
        proof: what stands in it.
        kind: the ornament, one of `UNITS`.
        size_px, gap_px: its size and the white between two.
        inset_px: white between the border and the matter.
        corner: another ornament for the corners.
    """
    rows, columns = (np.flatnonzero((proof.image < 128).any(axis)) for axis in (1, 0))
    pitch = size_px + gap_px
    wide = int(columns[-1] - columns[0]) + 2 * inset_px + 2 * size_px
    tall = int(rows[-1] - rows[0]) + 2 * inset_px + 2 * size_px
    across, down = -(-wide // pitch) + 1, -(-tall // pitch) + 1
    left = int(columns[0] + columns[-1]) // 2 - (across * pitch - gap_px) // 2
    top = int(rows[0] + rows[-1]) // 2 - (down * pitch - gap_px) // 2
    spare = max(0, 60 - left, 60 - top)
    image = cv2.copyMakeBorder(
        proof.image, spare, spare, spare, spare, cv2.BORDER_CONSTANT, value=255
    )
    unit = unit_of(kind, size_px)
    corners = unit_of(corner, size_px) if corner else unit

    def put(column: int, row: int, picture: Picture) -> None:
        x, y = left + spare + column * pitch, top + spare + row * pitch
        window = image[y : y + size_px, x : x + size_px]
        np.minimum(window, picture, out=window)

    for column in range(1, across - 1):
        put(column, 0, unit)
        put(column, down - 1, np.rot90(unit, 2))
    for row in range(1, down - 1):
        put(0, row, np.rot90(unit, 1))
        put(across - 1, row, np.rot90(unit, 3))
    for turn, (column, row) in enumerate(
        ((0, 0), (0, down - 1), (across - 1, down - 1), (across - 1, 0))
    ):
        put(column, row, np.rot90(corners, turn))
    return replace(proof, image=image, lines=())


def beside_block(block_letter: str, beside: str, under: str, *, family="schola", style="bold",
                 body_pt=11.0, seed: int = 0) -> Proof:  # fmt: skip
    """A paragraph that begins with a block initial: some words beside it, the others under it."""
    setting = Style(family=family, body_pt=body_pt, lead_pt=2)
    parts = []
    for words, measure in ((beside, 22), (under, 27)):
        proof = print_proof(
            compose([Para(words, align="left")], measure_picas=measure, style=setting)
        )
        rows, columns = (np.flatnonzero((proof.image < 128).any(axis)) for axis in (1, 0))
        parts.append(proof.image[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1])
    first, rest = parts
    block = block_initial(block_letter, first.shape[0] - 8, family=family, style=style, seed=seed)
    margin, gap = 120, 16
    left = margin + block.shape[1] + gap
    tall = first.shape[0] + rest.shape[0] + 14 + 2 * margin
    image = np.full((tall, max(rest.shape[1] + margin, left + first.shape[1]) + margin), 255,
                    np.uint8)  # fmt: skip
    under_y = margin + first.shape[0] + 14
    for x, y, part in ((left, margin, first), (margin, margin, block), (margin, under_y, rest)):
        image[y : y + part.shape[0], x : x + part.shape[1]] = part
    return replace(proof, image=image, lines=(), copy=f"{block_letter}{beside} {under}")


def block_initial(
    letter: str, size_px: int, *, family: str = "schola", style: str = "bold", tendrils: int = 40,
    seed: int = 0,
) -> Picture:  # fmt: skip
    """An ornamented block with its initial left white in it, among thin white tendrils."""
    rng = np.random.default_rng(seed)
    block = np.zeros((size_px, size_px), np.uint8)
    for _ in range(tendrils):
        x, y = rng.uniform(0.08, 0.92, 2) * size_px
        radius, start = rng.uniform(0.05, 0.12) * size_px, rng.uniform(0, 360)
        cv2.ellipse(block, (int(x), int(y)), (int(radius),) * 2, start, 0, 270, 255, 2, cv2.LINE_AA)
    head = [Head(letter, 40, 4, style=style)]
    drawn = print_proof(
        compose(head, measure_picas=8, style=Style(family=family)), margin_picas=1
    ).image
    rows, columns = (np.flatnonzero((drawn < 128).any(axis)) for axis in (1, 0))
    drawn = drawn[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    share = 0.6 * size_px / max(drawn.shape)
    drawn = cv2.resize(drawn, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
    height, width = drawn.shape
    y, x = (size_px - height) // 2, (size_px - width) // 2
    window = block[y : y + height, x : x + width]
    np.maximum(window, 255 - drawn, out=window)
    edge = 3
    block[:edge], block[-edge:], block[:, :edge], block[:, -edge:] = 0, 0, 0, 0
    return block
