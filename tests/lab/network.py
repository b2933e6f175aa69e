"""The letter reader's network: convolutions with a narrow view, and nothing that could know words.

No recurrent layer, no attention, no pooling along the line: one output column depends on at most
`VIEW_PX` columns of the strip, about four letters. Needs torch (see the training notes).
"""

from __future__ import annotations

import torch
from torch import Tensor, nn

__all__ = ["STRIDE_PX", "VIEW_PX", "LetterNet"]

STRIDE_PX = 4
"""Columns of the strip a step of output."""
VIEW_PX = 77
"""Columns of the strip one output column can see (checked by a test)."""


def _conv(n_in: int, n_out: int, kernel: tuple[int, int], stride: tuple[int, int]) -> nn.Sequential:
    pad = (kernel[0] // 2, kernel[1] // 2)
    return nn.Sequential(
        nn.Conv2d(n_in, n_out, kernel, stride, pad, bias=False),
        nn.BatchNorm2d(n_out),
        nn.ReLU(inplace=True),
    )


class _Residual(nn.Module):
    """Two 3×3 convolutions beside a short cut."""

    def __init__(self, channels: int) -> None:
        super().__init__()
        self.first = _conv(channels, channels, (3, 3), (1, 1))
        self.second = nn.Conv2d(channels, channels, 3, padding=1, bias=False)
        self.norm = nn.BatchNorm2d(channels)

    def forward(self, strip: Tensor) -> Tensor:
        return torch.relu(strip + self.norm(self.second(self.first(strip))))


class LetterNet(nn.Module):
    """Strips to scores: (N, 1, 48, W) with ink = 1, paper = 0 → (N, W/4, classes), raw scores."""

    def __init__(self, classes: int, widths: tuple[int, int, int, int, int]) -> None:
        super().__init__()
        a, b, c, d, e = widths
        self.body = nn.Sequential(
            _conv(1, a, (5, 5), (2, 2)),  # 24 rows, W/2
            _conv(a, b, (3, 3), (2, 2)),  # 12 rows, W/4
            _Residual(b),
            _conv(b, c, (3, 3), (2, 1)),  # 6 rows
            _Residual(c),
            _conv(c, d, (3, 1), (2, 1)),  # 3 rows
        )
        self.column = nn.Sequential(
            nn.Conv2d(d, e, (3, 1), bias=False), nn.BatchNorm2d(e), nn.ReLU(inplace=True)
        )
        self.along = nn.ModuleList(_conv(e, e, (1, 3), (1, 1)) for _ in range(2))
        self.classes = nn.Conv2d(e, classes, 1)

    def forward(self, strips: Tensor) -> Tensor:
        """Scores of every class for every fourth column."""
        seen = self.column(self.body(strips))
        for step in self.along:
            seen = seen + step(seen)
        scores: Tensor = self.classes(seen)
        return scores[:, :, 0, :].transpose(1, 2)
