"""Keep a decoder's remarks off the standard error: what is truly wrong comes as an exception."""

from __future__ import annotations

import contextlib
import os
import warnings
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["hushed"]

_STANDARD_ERROR = 2


@contextmanager
def hushed() -> Iterator[None]:
    """Let nothing through from libraries in C, which write to the descriptor, nor any warning."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            kept = os.dup(_STANDARD_ERROR)
        except OSError:  # standard error is closed: there is nothing to keep clean
            yield
            return
        try:
            with contextlib.suppress(OSError):
                nowhere = os.open(os.devnull, os.O_WRONLY)
                os.dup2(nowhere, _STANDARD_ERROR)
                os.close(nowhere)
            yield
        finally:
            os.dup2(kept, _STANDARD_ERROR)
            os.close(kept)
