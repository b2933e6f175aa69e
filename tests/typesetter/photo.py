"""A picture of a proof taken by hand with a telephone: bench, perspective, light, focus, JPEG."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["Photo", "photograph"]


@dataclass(frozen=True, slots=True, eq=False)
class Photo:
    """The picture and where the sheet lies in it."""

    image: NDArray[np.uint8]
    """Height × width × 3, blue green red."""
    to_photo: NDArray[np.float64]
    """3×3 homography: pixel of the flat proof (x, y, 1) → pixel of the picture."""


def photograph(
    sheet: NDArray[np.uint8],
    *,
    seed: int = 0,
    width_px: int = 2400,
    tilt: float = 0.05,
    turn_deg: float = 2.0,
    shade: float = 0.35,
    defocus_px: float = 0.9,
    noise: float = 2.5,
    jpeg_quality: int = 88,
    bench: float = 62.0,
    curl: float = 0.0,
    shadow: float = 0.0,
    tone: float = 0.98,
) -> Photo:
    """Photograph a flat grey proof lying on a darker bench.

    Args:
        sheet: the pulled proof.
        seed: of the hand, the light and the noise.
        width_px: width of the picture; it is 4:3 upright where the sheet is.
        tilt: how far corners stray, as a share of the sheet's width.
        turn_deg: how far the sheet lies turned.
        shade: how much darker the far corner is than the near one.
        defocus_px: blur of the lens.
        noise: of the sensor, grey levels.
        jpeg_quality: of the compression.
        bench: how bright the wood of the bench is.
        curl: how far the paper's head and foot rise, and its sides draw in, as a share of its
            width; the homography holds for flat paper only.
        shadow: how much of the light the hand or the telephone takes, over a third of the picture.
        tone: brightness where the light is best.
    """
    rng = np.random.default_rng(seed)
    height, width = sheet.shape
    tall = height >= width
    size = (width_px, width_px * 4 // 3) if tall else (width_px, width_px * 3 // 4)
    matrix = _view(width, height, size, tilt, turn_deg, rng)
    wood = _bench(size, bench, rng)
    tinted = cv2.cvtColor(sheet, cv2.COLOR_GRAY2BGR).astype(np.float32) * (0.93, 0.98, 1.0)
    shown = cv2.warpPerspective(tinted.astype(np.float32), matrix, size, flags=cv2.INTER_AREA)
    mask = cv2.warpPerspective(np.ones((height, width), np.float32), matrix, size)
    if curl:
        shown, mask = (_curled(part, matrix, (width, height), curl) for part in (shown, mask))
    soft = cv2.GaussianBlur(mask, (0, 0), size[0] / 150)
    under = np.roll(soft, (size[0] // 200, size[0] // 250), axis=(0, 1))
    ground = wood * (1 - 0.55 * under)[..., None]
    picture = shown * mask[..., None] + ground * (1 - mask)[..., None]
    picture *= _light(size, shade, tone, rng)[..., None]
    if shadow:
        picture *= _shaded(size, shadow, rng)[..., None]
    picture = cv2.GaussianBlur(picture, (0, 0), max(defocus_px, 0.3))
    picture += rng.standard_normal(picture.shape, dtype=np.float32) * noise
    clipped = np.clip(picture, 0, 255).astype(np.uint8)
    packed = cv2.imencode(".jpg", clipped, [cv2.IMWRITE_JPEG_QUALITY, jpeg_quality])[1]
    return Photo(cv2.imdecode(packed, cv2.IMREAD_COLOR), matrix)


def _view(width, height, size, tilt, turn_deg, rng) -> NDArray[np.float64]:
    scale = min(size[0] * 0.84 / width, size[1] * 0.84 / height)
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float64)
    centred = (corners - (width / 2, height / 2)) * scale
    angle = np.radians(turn_deg * rng.uniform(0.5, 1.0) * rng.choice((-1, 1)))
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    placed = centred @ turn.T + (size[0] / 2, size[1] / 2)
    placed += rng.uniform(-0.5, 0.5, (4, 2)) * tilt * width * scale
    return cv2.getPerspectiveTransform(corners.astype(np.float32), placed.astype(np.float32))


def _curled(part, matrix, size, curl: float):
    """The sheet's picture with its sides bent: lines rise and fall, the sides draw in between."""
    height, width = part.shape[:2]
    x, y = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32))
    flat = np.linalg.inv(matrix)
    depth = flat[2, 0] * x + flat[2, 1] * y + flat[2, 2]
    u = ((flat[0, 0] * x + flat[0, 1] * y + flat[0, 2]) / depth) / size[0] * 2 - 1
    v = ((flat[1, 0] * x + flat[1, 1] * y + flat[1, 2]) / depth) / size[1] * 2 - 1
    reach = curl * width * 0.8
    down = reach * (1 - np.clip(u, -1, 1) ** 2)
    across = 0.5 * reach * np.clip(u, -1, 1) * (1 - np.clip(v, -1, 1) ** 2)
    return cv2.remap(
        part, (x + across).astype(np.float32), (y - down).astype(np.float32), cv2.INTER_LINEAR
    )


def _shaded(size, shadow: float, rng) -> NDArray[np.float32]:
    """A soft-edged shadow that comes in from one side."""
    x = np.linspace(-1, 1, size[0], dtype=np.float32)[None, :]
    y = np.linspace(-1, 1, size[1], dtype=np.float32)[:, None]
    a = rng.uniform(0, 2 * np.pi)
    across = (
        x * np.cos(a) + y * np.sin(a) - 0.35 + 0.1 * np.sin(3 * (y * np.cos(a) - x * np.sin(a)))
    )
    return (1 - shadow / (1 + np.exp(-across / 0.06))).astype(np.float32)


def _bench(size, level: float, rng) -> NDArray[np.float32]:
    """Dark wood: streaks along it."""
    rows = cv2.resize(rng.standard_normal((size[1] // 6, 4), dtype=np.float32), size)
    fine = cv2.GaussianBlur(rng.standard_normal(size[::-1], dtype=np.float32), (0, 0), 2) * 6
    grain = level + 9 * rows + fine
    return np.stack([grain * 0.62, grain * 0.82, grain * 1.05], axis=2).astype(np.float32)


def _light(size, shade: float, tone: float, rng) -> NDArray[np.float32]:
    """Brightest near one corner, falling off across the picture."""
    x = np.linspace(-1, 1, size[0], dtype=np.float32)[None, :]
    y = np.linspace(-1, 1, size[1], dtype=np.float32)[:, None]
    a = rng.uniform(0, 2 * np.pi)
    across = (x * np.cos(a) + y * np.sin(a)) / 1.42
    edge = 0.06 * (x**2 + y**2)
    return (tone - shade * (across + 1) / 2 - edge).astype(np.float32)
