"""Printing and scanning set lines: pasted, inked, worn and scanned in batches on the GPU.

Tensors are float32, (lines, 1, rows, columns), 1 = ink, 0 = paper.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import torch
from torch import Tensor
from torch.nn import functional as nnf

from tests.lab.setting import LEAST_STRETCH, STRIP_PX

if TYPE_CHECKING:
    from tests.lab.atlas import Atlas

__all__ = ["Forme", "Press", "forme_of"]

BASELINE_ROW = 34
STRIP_ROWS = 48
_MARGIN = 16
_ROWS = 2 * STRIP_ROWS + 2 * _MARGIN
_BASE = 2 * BASELINE_ROW + _MARGIN
_COLUMNS = int(2 * STRIP_PX / LEAST_STRETCH) + 2 * _MARGIN


@dataclass(slots=True)
class Forme:
    """A batch of set lines as tensors (see `setting.SetLines`)."""

    line: Tensor
    glyph: Tensor
    x: Tensor
    y: Tensor
    turned: Tensor
    bars: Tensor
    labels: Tensor
    lengths: Tensor
    stretch: Tensor


def forme_of(lines: object) -> tuple[Tensor, ...]:
    """The fields of a `Forme` from a `SetLines`, as tensors that travel between processes."""

    def get(name: str, kind: type) -> Tensor:
        return torch.from_numpy(np.array(getattr(lines, name), kind))

    bars = np.array(getattr(lines, "bars"), np.int32).reshape(-1, 5)  # noqa: B009
    return (
        get("line", np.int32), get("glyph", np.int32), get("x", np.int32), get("y", np.int32),
        get("turned", np.bool_), torch.from_numpy(bars), get("labels", np.int32),
        get("lengths", np.int32), get("stretch", np.float32),
    )  # fmt: skip


def _resampler(n_in: int, scale: float, sigma: float, device: torch.device) -> Tensor:
    """Matrix (n_out, n_in) that blurs by `sigma` input pixels and samples at `scale`.

    Blurring and scaling by plain matrix products is many times faster here than convolutions of
    one channel, whose best algorithm would be searched for anew at every new size.
    """
    n_out = round(n_in * scale)
    centre = (torch.arange(n_out, device=device) + 0.5) / scale - 0.5
    away = centre[:, None] - torch.arange(n_in, device=device)[None]
    if scale < 1:
        sigma = math.hypot(sigma, 0.42 / scale)
    bell = torch.exp(-0.5 * (away / max(sigma, 0.3)) ** 2)
    bell = bell * (away.abs() <= max(1.0, 4 * sigma))
    return bell / bell.sum(1, keepdim=True).clamp(min=1e-6)


def resample(image: Tensor, scale: float, sigma: float) -> Tensor:
    """Blur (Gaussian, input pixels) and scale a whole batch."""
    rows, columns = image.shape[-2:]
    down = _resampler(rows, scale, sigma, image.device)
    along = _resampler(columns, scale, sigma, image.device)
    return down @ (image @ along.T)


class Press:
    """Turns formes into strips as the reader gets them.

    Args:
        atlas: the sorts.
        device: where to work.
        seed: where all chance of this press comes from.
        wear: 0 prints clean and scans well; 1 is the training setting.
    """

    def __init__(self, atlas: Atlas, device: torch.device, seed: int, *, wear: float = 1.0) -> None:
        self.device = device
        self.wear = wear
        self.gen = torch.Generator(device).manual_seed(seed)
        self.dice = np.random.default_rng(seed)
        self.pixels = torch.from_numpy(atlas.pixels).to(device)
        self.start = torch.from_numpy(atlas.start).to(device)
        self.size = torch.from_numpy(atlas.size.astype(np.int64)).to(device)

    # -- chance

    def _noise(self, *shape: int) -> Tensor:
        return torch.randn(*shape, device=self.device, generator=self.gen)

    def _between(self, count: int, low: float, high: float) -> Tensor:
        drawn = torch.rand(count, 1, 1, 1, device=self.device, generator=self.gen)
        return low + (high - low) * drawn

    def _some(self, count: int, share: float) -> Tensor:
        drawn = torch.rand(count, 1, 1, 1, device=self.device, generator=self.gen)
        return (drawn < share).float()

    def _cloud(self, image: Tensor, cell: tuple[float, float]) -> Tensor:
        """Smooth noise, standard deviation about 1 at the knots, drifting over `cell` pixels."""
        count, _, rows, columns = image.shape
        knots = self._noise(count, 1, int(rows / cell[0]) + 2, int(columns / cell[1]) + 2)
        return nnf.interpolate(knots, (rows, columns), mode="bilinear", align_corners=True)

    # -- the stages

    def strips(self, forme: Forme) -> Tensor:
        """Print and scan: (lines, 1, 48, STRIP_PX)."""
        image = self.paste(forme)
        image = self.ink(image)
        image, scale = self.scan(image)
        return self.cut(image, scale, forme.stretch)

    def paste(self, forme: Forme) -> Tensor:
        """Lay the sorts in: (lines, 1, 128, columns), twice the reader's size."""
        count = len(forme.lengths)
        columns = _COLUMNS
        glyph = forme.glyph.long()
        size = self.size[glyph]
        areas = size[:, 0] * size[:, 1]
        whose = torch.repeat_interleave(areas).int()
        ends = torch.cumsum(areas, 0)
        within = torch.arange(len(whose), device=self.device, dtype=torch.int32)
        within = within - (ends - areas).int()[whose]
        ink = self.pixels[
            (self.start[glyph] - (ends - areas))[whose]
            + torch.arange(len(whose), device=self.device)
        ]
        within = torch.where(forme.turned[whose], areas.int()[whose] - 1 - within, within)
        width = size[:, 1].int()[whose]
        row = torch.div(within, width, rounding_mode="floor")
        y = forme.y[whose] + row + _BASE
        x = forme.x[whose] + within - row * width + _MARGIN
        keep = (ink > 0) & (y >= 0) & (y < _ROWS) & (x >= 0) & (x < columns)
        spot = ((forme.line[whose] * _ROWS + y) * columns + x)[keep].long()
        canvas = torch.zeros(count * _ROWS * columns, device=self.device)
        canvas.scatter_reduce_(0, spot, ink[keep].float() / 255, "amax")
        canvas = canvas.view(count, 1, _ROWS, columns)
        for line, left, top, wide, high in forme.bars.tolist():
            top_row = max(0, top + _BASE)
            right = left + _MARGIN + wide
            canvas[line, 0, top_row : max(0, top + _BASE + high), left + _MARGIN : right] = 1
        return canvas

    def ink(self, image: Tensor) -> Tensor:
        """Ink spreading or wanting, ragged edges, specks and holes."""
        if self.wear == 0:
            return image
        count = len(image)
        near, far = resample(image, 1, 0.9), resample(image, 1, float(self.dice.uniform(1.6, 2.8)))
        soft = torch.lerp(near, far, self._between(count, 0, 1) ** 1.5)
        limit = 0.46 + self._between(count, -0.20, 0.14)
        limit = limit + self._cloud(image, (64, 180)) * self._between(count, 0, 0.09)
        grain = float(self.dice.uniform(1.5, 3.2))
        limit = limit + self._cloud(image, (grain, grain)) * self._between(count, 0, 0.14)
        inked = torch.sigmoid((soft - limit) * self._between(count, 6, 25))
        return self._specks(inked)

    def _specks(self, image: Tensor) -> Tensor:
        count = len(image)
        grain = float(self.dice.uniform(1.8, 3.0))
        noise = self._cloud(image, (grain, grain))
        black = (noise > self._between(count, 2.6, 3.9)).float() * self._some(count, 0.4)
        white = (noise < -self._between(count, 1.9, 3.5)).float() * self._some(count, 0.35)
        return torch.maximum(image, black) * (1 - 0.9 * white)

    def scan(self, image: Tensor) -> tuple[Tensor, float]:
        """Scan at one resolution for the batch, grey or bilevel by line; with pixels/atlas px."""
        count = len(image)
        x_height = float(np.clip(self.dice.lognormal(math.log(18.5), 0.30), 9.5, 36))
        if self.wear == 0:
            x_height = 18.0
        scale = x_height / 36
        if self.wear == 0:
            return resample(image, scale, 0), scale
        lens = float(self.dice.uniform(0.4, 1.0)) * (2 if x_height < 24 else 36 / 24)
        seen = resample(image, scale, 0)
        seen = torch.lerp(seen, resample(image, scale, lens), self._between(count, 0, 1))
        seen = seen + self._noise(*seen.shape) * self._between(count, 0, 0.12) ** 1.3
        threshold = self._between(count, 0.34, 0.62) + self._cloud(seen, (24, 60)) * 0.03
        bilevel = torch.sigmoid((seen - threshold) * 60)
        paper = self._between(count, -0.02, 0.16) * self._some(count, 0.7)
        paper = paper + self._cloud(seen, (30, 80)) * self._between(count, 0, 0.03)
        black = self._between(count, 0.62, 1.05)
        grey = paper + (black - paper) * seen.clamp(0, 1) ** self._between(count, 0.75, 1.35)
        two_tone = self._some(count, 0.5)
        seen = two_tone * bilevel + (1 - two_tone) * grey
        if self.dice.random() < 0.2:
            seen = self._blocks(seen)
        if x_height > 22:
            seen = resample(seen, 20 / x_height, 0)
            scale = 20 / 36
        return seen.clamp(0, 1), scale

    def _blocks(self, image: Tensor) -> Tensor:
        """Coarse quantisation of 8×8 cosine blocks, as in a lossy picture file."""
        count, _, rows, columns = image.shape
        high, wide = rows // 8 * 8, columns // 8 * 8
        k = torch.arange(8, device=self.device, dtype=torch.float32)
        basis = torch.cos(math.pi * (k[None] + 0.5) * k[:, None] / 8) * 0.5
        basis[0] /= math.sqrt(2)
        tiles = image[..., :high, :wide].reshape(count, high // 8, 8, wide // 8, 8)
        found = torch.einsum("ui,nhiwj,vj->nhuwv", basis, tiles, basis)
        steps = (0.03 + 0.05 * (k[:, None] + k[None])) * float(self.dice.uniform(0.3, 1.6))
        steps = steps[None, None, :, None, :]
        found = torch.round(found / steps) * steps
        tiles = torch.einsum("ui,nhuwv,vj->nhiwj", basis, found, basis)
        image = image.clone()
        image[..., :high, :wide] = tiles.reshape(count, 1, high, wide)
        return image

    def cut(self, image: Tensor, scale: float, stretch: Tensor) -> Tensor:
        """The strip as the line finder would cut it: a little off, crooked and wavy."""
        count, _, rows, columns = image.shape
        device, wear = self.device, self.wear
        x = torch.arange(STRIP_PX, device=device).float().view(1, 1, -1) + 0.5
        y = torch.arange(STRIP_ROWS, device=device).float().view(1, -1, 1) + 0.5 - BASELINE_ROW

        def flat(drawn: Tensor) -> Tensor:
            return drawn.view(count, 1, 1)

        shift = flat(self._noise(count, 1, 1, 1).clamp(-2, 2)) * 0.8 * wear
        slope = flat(self._noise(count, 1, 1, 1).clamp(-2, 2)) * 0.0025 * wear
        wave = flat(self._between(count, 0, 0.7)) * wear
        phase, length = flat(self._between(count, 0, 6.3)), flat(self._between(count, 150, 500))
        slant = flat(self._noise(count, 1, 1, 1).clamp(-2.5, 2.5)) * 0.03 * wear
        bent = y + shift + slope * (x - STRIP_PX / 2) + wave * torch.sin(x / length * 6.3 + phase)
        from_x = 2 * (x + slant * y) / flat(stretch[:, 0]) + _MARGIN
        from_y = 2 * bent / flat(stretch[:, 1]) + _BASE
        grid = torch.stack(
            (
                (from_x * scale * 2 / columns - 1).expand(count, STRIP_ROWS, STRIP_PX),
                (from_y * scale * 2 / rows - 1).expand(count, STRIP_ROWS, STRIP_PX),
            ),
            -1,
        )
        strip = nnf.grid_sample(image, grid, mode="bilinear", align_corners=False)
        if wear:
            strip = self._blank_edges(strip)
            strip = torch.round(strip.clamp(0, 1) * 255) / 255
        return strip.clamp(0, 1)

    def _blank_edges(self, strip: Tensor) -> Tensor:
        """Sometimes the cutter has blanked what it takes for other lines."""
        count = len(strip)
        row = torch.arange(STRIP_ROWS, device=self.device).view(1, 1, -1, 1)
        top = self._between(count, 0, 6) * self._some(count, 0.25)
        bottom = self._between(count, 0, 3) * self._some(count, 0.25)
        return strip * (row >= top.floor()) * (row < STRIP_ROWS - bottom.floor())
