"""Sheets several up: tickets printed by themselves as pictures, then laid out side by side.

Each ticket is a picture (0 ink, 255 paper) of one width and height; None leaves its place empty.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from .matter import Style
from .printing import Proof, print_proof
from .setting import compose

__all__ = ["ganged", "ticket_of", "with_stub"]

Picture = NDArray[np.uint8]


def ticket_of(blocks: Sequence, *, measure_picas: float, height_px: int, style: Style) -> Picture:
    """Blocks set to a measure, on paper of one height."""
    image = print_proof(compose(blocks, measure_picas=measure_picas, style=style)).image
    rows = np.flatnonzero((image < 128).any(1))
    matter = image[rows[0] : rows[-1] + 1]
    if len(matter) > height_px:
        msg = f"the matter is {len(matter)} pixels high, more than {height_px}"
        raise ValueError(msg)
    return np.pad(matter, ((0, height_px - len(matter)), (0, 0)), constant_values=255)


def with_stub(
    stub: Picture, body: Picture, *, weight_px: int = 4, dash_px: tuple[int, int] | None = None
) -> Picture:
    """A counterfoil and the ticket itself side by side, a rule between them.

    Args:
        stub: the counterfoil.
        body: the ticket, as high.
        weight_px: of the rule.
        dash_px: length of a dash and of the white after it; none for a plain rule.
    """
    between = np.full((len(body), 40 + weight_px), 255, np.uint8)
    between[:, 20 : 20 + weight_px] = 0
    if dash_px:
        between[np.arange(len(body)) % sum(dash_px) >= dash_px[0]] = 255
    return np.hstack([stub, between, body])


def ganged(
    tickets: Sequence[Picture | None],
    across: int,
    *,
    gap_px: int = 90,
    frame_px: int = 0,
    cut_rule: bool = False,
) -> Proof:
    """Tickets in rows of so many, on one sheet with a margin, as a proof to be pulled.

    Args:
        tickets: row by row; None for a place left empty.
        across: how many stand side by side.
        gap_px: white between two, their frames left out.
        frame_px: weight of a frame round each; 0 for none.
        cut_rule: a dashed rule to cut by in the middle of every gutter.
    """
    held = [ticket for ticket in tickets if ticket is not None]
    room = 30 if frame_px else 0
    tall, wide = (side + 2 * room for side in held[0].shape)
    down = -(-len(tickets) // across)
    margin = 150
    image = np.full(
        [2 * margin - gap_px + n * (side + gap_px) for n, side in ((down, tall), (across, wide))],
        255,
        np.uint8,
    )  # fmt: skip
    for place, ticket in enumerate(tickets):
        y = margin + place // across * (tall + gap_px)
        x = margin + place % across * (wide + gap_px)
        if ticket is None:
            continue
        image[y + room : y + tall - room, x + room : x + wide - room] = ticket
        if frame_px:
            cv2.rectangle(image, (x, y), (x + wide - 1, y + tall - 1), 0, frame_px)
    if cut_rule:
        _cut_rules(image, margin, (tall, wide), (down, across), gap_px)
    return Proof(image, (), 300.0, "", ())


def _cut_rules(image: Picture, margin: int, size, count, gap_px: int) -> None:
    for row in range(1, count[0]):
        y = margin + row * (size[0] + gap_px) - gap_px // 2
        for x in range(margin, image.shape[1] - margin, 30):
            cv2.line(image, (x, y), (x + 15, y), 0, 3)
    for column in range(1, count[1]):
        x = margin + column * (size[1] + gap_px) - gap_px // 2
        for y in range(margin, image.shape[0] - margin, 30):
            cv2.line(image, (x, y), (x, y + 15), 0, 3)
