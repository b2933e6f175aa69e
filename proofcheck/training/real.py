"""Lines cut from real pages, with their true text, for fine-tuning."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor
from torch.nn import functional as nnf

from proofcheck.reading.alphabet import INDEX
from proofcheck.training.network import STRIDE_PX

__all__ = ["RealLine", "RealLines", "load_real", "save_real"]

_ROWS = 48
_WIDEST_PX = 1280


@dataclass(frozen=True, slots=True, eq=False)
class RealLine:
    """One strip as cut from its page, and what is printed on it."""

    book: str
    strip: NDArray[np.uint8]
    """(48, W), 0 = ink."""
    text: str
    """In the reader's characters."""


def save_real(lines: list[RealLine], path: Path) -> None:
    """Write lines as one file."""
    np.savez_compressed(
        path,
        books=np.array([line.book for line in lines]),
        texts=np.array([line.text for line in lines]),
        widths=np.array([line.strip.shape[1] for line in lines]),
        pixels=np.concatenate([line.strip for line in lines], 1),
    )


def load_real(path: Path, *, hold: str = "") -> list[RealLine]:
    """Read lines back, less those of the books named in `hold` (names parted by commas)."""
    held = np.load(path)
    ends = np.cumsum(held["widths"])
    pixels = held["pixels"]
    out = set(hold.split(",")) - {""}
    return [
        RealLine(str(book), pixels[:, end - width : end], str(text))
        for book, text, width, end in zip(
            held["books"], held["texts"], held["widths"], ends, strict=True
        )
        if str(book) not in out
    ]


class RealLines:
    """Batches of real lines, each time worn a little differently."""

    def __init__(self, lines: list[RealLine], device: torch.device, seed: int) -> None:
        self.lines = sorted(
            (line for line in lines if line.strip.shape[1] <= _WIDEST_PX),
            key=lambda line: line.strip.shape[1],
        )
        self.device = device
        self.rng = np.random.default_rng(seed)
        self.gen = torch.Generator(device).manual_seed(seed)
        books = [line.book for line in self.lines]
        share = {book: len(books) / books.count(book) for book in set(books)}
        # A book of many pages is not to drown the others.
        weight = np.array([share[book] ** 0.5 for book in books])
        self.share = weight / weight.sum()

    def batch(self, count: int) -> tuple[Tensor, Tensor, Tensor, Tensor]:
        """Strips, labels one after another, their lengths, and widths in output columns."""
        picked = np.sort(self.rng.choice(len(self.lines), count, p=self.share))
        lines = [self.lines[n] for n in picked]
        width = -(-max(line.strip.shape[1] for line in lines) // 64) * 64
        strips = np.zeros((count, 1, _ROWS, width), np.uint8)
        for row, line in enumerate(lines):
            strips[row, 0, :, : line.strip.shape[1]] = 255 - line.strip
        labels = np.concatenate([[INDEX[c] for c in line.text] for line in lines])
        lengths = torch.tensor([len(line.text) for line in lines])
        columns = torch.tensor([-(-line.strip.shape[1] // STRIDE_PX) for line in lines])
        moved = torch.from_numpy(strips).to(self.device).float() / 255
        worn = self._wear(moved)
        return worn, torch.from_numpy(labels).to(self.device), lengths, columns

    def _between(self, count: int, low: float, high: float) -> Tensor:
        drawn = torch.rand(count, 1, 1, 1, device=self.device, generator=self.gen)
        return low + (high - low) * drawn

    def _wear(self, strips: Tensor) -> Tensor:
        """Slightly other height, place, focus, threshold and noise."""
        count, _, rows, columns = strips.shape
        y = torch.arange(rows, device=self.device).float().view(1, 1, -1, 1) + 0.5
        x = torch.arange(columns, device=self.device).float().view(1, 1, 1, -1) + 0.5
        tall = self._between(count, 0.93, 1.07)
        from_y = (y - 34) / tall + 34 + self._between(count, -1.2, 1.2)
        grid = torch.stack(
            (
                (x * 2 / columns - 1).expand(count, 1, rows, columns)[:, 0],
                (from_y * 2 / rows - 1).expand(count, 1, rows, columns)[:, 0],
            ),
            -1,
        )
        moved = nnf.grid_sample(strips, grid, mode="bilinear", align_corners=False)
        soft = nnf.avg_pool2d(moved, 3, 1, 1)
        seen = torch.lerp(moved, soft, self._between(count, 0, 0.9))
        noise = torch.randn(seen.shape, device=self.device, generator=self.gen)
        seen = seen + noise * self._between(count, -0.06, 0.10).clamp(min=0)
        drawn = torch.rand(count, 1, 1, 1, device=self.device, generator=self.gen)
        hard = torch.sigmoid((seen - self._between(count, 0.32, 0.62)) * 20)
        return torch.where(drawn < 0.3, hard, seen).clamp(0, 1)
