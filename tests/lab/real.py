"""Lines cut from real pages, with their true text, for fine-tuning."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import torch
from torch import Tensor
from torch.nn import functional as nnf
from torch.utils.data import IterableDataset, get_worker_info

from proofcheck.reading.alphabet import INDEX, SPACE
from tests.lab.network import STRIDE_PX
from tests.lab.resetting import Cells, cells_of, reset
from tests.lab.setting import STRIP_PX

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray

__all__ = ["RealLine", "RealStream", "load_real", "save_real", "wear_again"]

_ROWS = 48
WIDEST_PX = 1152
"""Wider lines are parted, so that all batches have one size."""


@dataclass(frozen=True, slots=True, eq=False)
class RealLine:
    """One strip as cut from its page, and what is printed on it."""

    book: str
    strip: NDArray[np.uint8]
    """(48, W), 0 = ink."""
    text: str
    """In the reader's characters."""
    centres: NDArray[np.float32]
    """Strip x of the middle of each character."""


def save_real(lines: list[RealLine], path: Path) -> None:
    """Write lines as one file; greys are kept to six steps."""
    pixels = np.concatenate([line.strip for line in lines], 1)
    grey = (pixels.astype(np.uint16) * 5 + 127) // 255
    np.savez_compressed(
        path,
        books=np.array([line.book for line in lines]),
        texts=np.array([line.text for line in lines]),
        widths=np.array([line.strip.shape[1] for line in lines]),
        centres=np.concatenate([line.centres for line in lines]).astype(np.float16),
        pixels=grey.astype(np.uint8),
    )


def load_real(path: Path, *, hold: str = "") -> list[RealLine]:
    """Read lines back, less those of the books named in `hold` (names parted by commas)."""
    held = np.load(path)
    texts = [str(text) for text in held["texts"]]
    ends, stops = np.cumsum(held["widths"]), np.cumsum([len(text) for text in texts])
    pixels, centres = held["pixels"] * np.uint8(51), held["centres"].astype(np.float32)
    out = set(hold.split(",")) - {""}
    lines = [
        RealLine(str(book), pixels[:, end - width : end], text, centres[stop - len(text) : stop])
        for book, text, width, end, stop in zip(
            held["books"], texts, held["widths"], ends, stops, strict=True
        )
        if str(book) not in out
    ]
    return [part for line in lines for part in _parted(line)]


def _parted(line: RealLine) -> list[RealLine]:
    """A line of at most `WIDEST_PX`, or its parts, parted at word spaces; nothing if none serve."""
    width = line.strip.shape[1]
    if width <= WIDEST_PX:
        return [line]
    spaces = [at for at, letter in enumerate(line.text) if letter == SPACE]
    if not spaces:
        return []
    at = min(spaces, key=lambda at: abs(float(line.centres[at]) - width / 2))
    x = round(float(line.centres[at]))
    if not 8 <= x <= width - 8:
        return []
    left, right = line.strip[:, :x], line.strip[:, x:]
    one = RealLine(line.book, left, line.text[:at], line.centres[:at])
    other = RealLine(line.book, right, line.text[at + 1 :], line.centres[at + 1 :] - x)
    return [*_parted(one), *_parted(other)]


class RealStream(IterableDataset[tuple[Tensor, ...]]):
    """Batches without end: real lines as they are, and lines reset from their letters.

    Args:
        path: lines as saved.
        hold: books never to be seen.
        seed: where chance comes from (with the number of the worker).
        counts: lines as they are, lines reset, in one batch.
    """

    def __init__(self, path: Path, hold: str, seed: list[int], counts: tuple[int, int]) -> None:
        self.path, self.hold, self.seed, self.counts = path, hold, seed, counts

    def __iter__(self) -> Iterator[tuple[Tensor, ...]]:
        torch.set_num_threads(1)
        info = get_worker_info()
        rng = np.random.default_rng([*self.seed, info.id if info else 0])
        lines = load_real(self.path, hold=self.hold)
        books = [line.book for line in lines]
        # A book of many pages is not to drown the others.
        weight = np.array([books.count(book) ** -0.5 for book in books])
        weight /= weight.sum()
        cells: dict[int, Cells] = {}
        while True:
            picked = rng.choice(len(lines), self.counts[0], p=weight)
            whole = _packed([(lines[n].strip, lines[n].text) for n in picked], WIDEST_PX)
            again: list[tuple[NDArray[np.uint8], str]] = []
            while len(again) < self.counts[1]:
                n = int(rng.choice(len(lines), p=weight))
                if n not in cells:
                    cells[n] = cells_of(lines[n].strip, lines[n].text, lines[n].centres)
                if len(cells[n].pictures) >= 8:
                    again.append(reset(cells[n], rng))
            yield *whole, *_packed(again, STRIP_PX)


def _packed(pairs: list[tuple[NDArray[np.uint8], str]], width: int) -> tuple[Tensor, ...]:
    """Strips (n, 1, 48, width) with 255 = ink, labels, their lengths, widths in columns."""
    strips = np.zeros((len(pairs), 1, _ROWS, width), np.uint8)
    for row, (strip, _) in enumerate(pairs):
        strips[row, 0, :, : strip.shape[1]] = 255 - strip
    labels = np.array([INDEX[c] for _, text in pairs for c in text], np.int32)
    lengths = torch.tensor([len(text) for _, text in pairs])
    columns = torch.tensor([-(-strip.shape[1] // STRIDE_PX) for strip, _ in pairs])
    return torch.from_numpy(strips), torch.from_numpy(labels), lengths, columns


def wear_again(strips: Tensor, gen: torch.Generator) -> Tensor:
    """Real strips (uint8, 255 = ink) at slightly other height, place, focus, threshold, noise."""
    count, _, rows, columns = strips.shape
    device = strips.device

    def between(low: float, high: float) -> Tensor:
        return low + (high - low) * torch.rand(count, 1, 1, 1, device=device, generator=gen)

    ink = strips.float() / 255
    y = torch.arange(rows, device=device).float().view(1, -1, 1) + 0.5
    x = torch.arange(columns, device=device).float().view(1, 1, -1) + 0.5
    tall, shift = between(0.92, 1.08)[:, 0], between(-1.3, 1.3)[:, 0]
    wide = between(0.95, 1.0)[:, 0]
    from_y = ((y - 34) / tall + 34 + shift) * 2 / rows - 1
    from_x = (x / wide) * 2 / columns - 1
    grid = torch.stack(
        (from_x.expand(count, rows, columns), from_y.expand(count, rows, columns)), -1
    )
    moved = nnf.grid_sample(ink, grid, mode="bilinear", align_corners=False)
    soft = nnf.avg_pool2d(moved, 3, 1, 1)
    seen = torch.lerp(moved, soft, between(-0.3, 1.0).clamp(min=0))
    noise = torch.randn(seen.shape, device=device, generator=gen)
    seen = seen + noise * between(-0.06, 0.10).clamp(min=0)
    hard = torch.sigmoid((seen - between(0.30, 0.64)) * 20)
    return torch.where(between(0, 1) < 0.35, hard, seen).clamp(0, 1)
