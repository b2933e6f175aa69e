"""Open pictures that the program itself has painted: they may be larger than any scan taken."""

from __future__ import annotations

from contextlib import contextmanager
from typing import IO, TYPE_CHECKING

from PIL import Image

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["open_own"]


def open_own(source: Path | IO[bytes]) -> Image.Image:
    """Open a picture without the library's bound, which is for files of others."""
    with _unbounded():
        return Image.open(source)


@contextmanager
def _unbounded() -> Iterator[None]:
    bound = Image.MAX_IMAGE_PIXELS
    Image.MAX_IMAGE_PIXELS = None
    try:
        yield
    finally:
        Image.MAX_IMAGE_PIXELS = bound
