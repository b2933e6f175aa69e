"""From bytes to text: which encoding, and how it was found.

The order is a byte-order mark, strict UTF-8, and then `charset-normalizer` kept to the few
encodings an English-speaking shop meets; left free it took three texts in six for something
exotic.
"""

from __future__ import annotations

import codecs
import re
from dataclasses import dataclass

from proofcheck.base.errors import CopyError

__all__ = ["Decoded", "decode"]

_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32"),  # before UTF-16: its mark begins with that of UTF-16
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_CONFINED = ["utf_8", "utf_16", "cp1252", "latin_1", "mac_roman", "ascii"]
_SAMPLE_BYTES = 256 * 1024
_CP1252_GAPS = re.compile(rb"[\x81\x8d\x8f\x90\x9d]")
_UTF_8_LETTER = re.compile(
    rb"[\xc3-\xdf][\x80-\xbf]|\xc2[\xa0-\xbf]|[\xe0-\xef][\x80-\xbf]{2}|[\xf0-\xf4][\x80-\xbf]{3}"
)


@dataclass(frozen=True, slots=True)
class Decoded:
    """Text with its encoding, and what a person should know of how it was taken."""

    text: str
    encoding: str
    notes: tuple[str, ...] = ()


def decode(data: bytes, name: str, encoding: str | None = None) -> Decoded:
    """Decode the copy, strictly: no byte is skipped or guessed at.

    Raises:
        CopyError: an encoding that is unknown or doesn't fit, or none that does.
    """
    if encoding is not None:
        return _as_told(data, name, encoding)
    marked = next((codec for mark, codec in _MARKS if data.startswith(mark)), None)
    if marked:
        return _as_told(data, name, marked)
    try:
        return Decoded(data.decode("utf-8"), "utf-8")
    except UnicodeDecodeError as error:
        return _guess(data, name, error)


def _as_told(data: bytes, name: str, encoding: str) -> Decoded:
    try:
        codec = codecs.lookup(encoding)
        text = data.decode(codec.name)
    except (LookupError, ValueError) as error:
        if isinstance(error, UnicodeDecodeError):
            place = _place(data, error.start)
            msg = f"{name}: not {encoding}, as byte {data[error.start]:#04x} in {place} shows; "
            msg += "give the right encoding, or save the copy as UTF-8."
        else:
            msg = f"{name}: unknown encoding {encoding!r}; say for example utf-8 or cp1252."
        raise CopyError(msg) from None
    return Decoded(text.removeprefix("\ufeff"), codec.name)


def _guess(data: bytes, name: str, error: UnicodeDecodeError) -> Decoded:
    if b"\x00" in data:  # UTF-16 without its mark; plain binary never comes so far
        half = "utf-16-le" if data[1::2].count(0) > data[::2].count(0) else "utf-16-be"
        return _noted(_as_told(data, name, half))
    high = len(re.findall(rb"[\x80-\xff]", data))
    sound = sum(len(match.group()) for match in _UTF_8_LETTER.finditer(data))
    if sound * 2 > high:
        msg = (
            f"{name}: UTF-8 but damaged at byte {data[error.start]:#04x} in "
            f"{_place(data, error.start)}; get the copy again, or save it as UTF-8."
        )
        raise CopyError(msg)
    # Only the lines with letters beyond ASCII tell the encodings apart, and a sample is enough.
    telling = [line[:4096] for line in data.splitlines() if re.search(rb"[\x80-\xff]", line)]
    sample = b"\n".join(telling)[:_SAMPLE_BYTES] or data[error.start : error.start + _SAMPLE_BYTES]
    from charset_normalizer import from_bytes

    best = from_bytes(sample, cp_isolation=_CONFINED).best()
    if best is None:
        # A few words are too little for statistics; then the commonest encoding, if it fits.
        if high * 2 < len(data) and not _CP1252_GAPS.search(data):
            return _noted(_as_told(data, name, "cp1252"))
        msg = f"{name}: in no encoding known here; save the copy as UTF-8, or name the encoding."
        raise CopyError(msg)
    return _noted(_as_told(data, name, best.encoding))


def _noted(decoded: Decoded) -> Decoded:
    note = f"The copy doesn't say its encoding; it was taken as {decoded.encoding}."
    return Decoded(decoded.text, decoded.encoding, (note,))


def _place(data: bytes, at: int) -> str:
    newlines = data.count(b"\n", 0, at)
    return f"line {newlines + 1}"
