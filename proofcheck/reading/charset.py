"""Which characters the OCR engine's trained data know: a letter they lack is never read.

A file of trained data begins with the number of its components and their offsets; one of them is
the list of characters of the network, a line each, the character first (Tesseract's own
`tessdatamanager.h` and `unicharset.h`; laid out here from memory and tried on the files that
come with the engine).
"""

from __future__ import annotations

import re
import struct
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.reading.engine import list_languages

if TYPE_CHECKING:
    from proofcheck.reading.engine import Engine

__all__ = ["characters_in"]

_LIST_OF_CHARACTERS = 21
"""Which component it is."""
_NO_CHARACTERS = frozenset({"NULL", "Joined", "|Broken|0|1"})


@lru_cache(maxsize=8)
def characters_in(engine: Engine, language: str) -> frozenset[str] | None:
    """The characters of one language or several ("eng+deu"); None where that can't be known."""
    folder = engine.data_dir or _default_folder(engine)
    if folder is None:
        return None
    held: set[str] = set()
    for name in language.split("+"):
        try:
            held |= _listed((Path(folder) / f"{name}.traineddata").read_bytes())
        except (OSError, ValueError, struct.error):
            return None
    return frozenset(held)


def _default_folder(engine: Engine) -> str | None:
    found = re.search(r'"(.+)"', list_languages(engine).partition("\n")[0])
    return found.group(1) if found else None


def _listed(data: bytes) -> set[str]:
    """Characters of one file; ValueError where it is laid out otherwise."""
    (count,) = struct.unpack_from("<i", data)
    if not _LIST_OF_CHARACTERS < count < 1000:
        msg = "no list of characters"
        raise ValueError(msg)
    offsets = struct.unpack_from(f"<{count}q", data, 4)
    start = offsets[_LIST_OF_CHARACTERS]
    if not 0 < start < len(data):
        msg = "no list of characters"
        raise ValueError(msg)
    end = min((at for at in offsets if at > start), default=len(data))
    rows = data[start:end].decode("utf-8").split("\n")[1:]
    names = {row.split(" ", 1)[0] for row in rows} - _NO_CHARACTERS
    return {char for name in names for char in name}
