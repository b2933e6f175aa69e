"""The bytes of the copy, and what kind of file they are."""

from __future__ import annotations

import sys
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.base.errors import CopyError

if TYPE_CHECKING:
    from typing import BinaryIO

__all__ = ["MOST_BYTES", "Form", "form_of", "read_source"]

MOST_BYTES = 64 * 2**20
"""Largest file taken as copy: a hundred times a long novel."""

_PICTURES = {
    b"\x89PNG\r\n": "a PNG picture",
    b"\xff\xd8\xff": "a JPEG picture",
    b"GIF8": "a GIF picture",
    b"II*\x00": "a TIFF picture",
    b"MM\x00*": "a TIFF picture",
    b"BM": "a BMP picture",
}
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # the compound file of older office programs
_UTF_16_MARKS = (b"\xff\xfe", b"\xfe\xff")


class Form(StrEnum):
    """How the copy is written down."""

    PLAIN = "plain text"
    MARKDOWN = "Markdown"
    DOCX = "DOCX"
    ODT = "ODT"


def read_source(name: str, stdin: BinaryIO | None = None) -> bytes:
    """The bytes of the file `name`, or of standard input for "-".

    Raises:
        CopyError: missing, a directory, unreadable, empty or too large.
    """
    if name == "-":
        data = (stdin or sys.stdin.buffer).read(MOST_BYTES + 1)
        shown = "standard input"
    else:
        data, shown = _read_file(Path(name)), name
    if not data:
        msg = f"{shown}: the copy is empty; give the file with the words in it."
        raise CopyError(msg)
    if len(data) > MOST_BYTES:
        msg = (
            f"{shown}: larger than {MOST_BYTES // 2**20} MiB, which is no job's copy; "
            "give the text of this job alone."
        )
        raise CopyError(msg)
    return data


def _read_file(path: Path) -> bytes:
    try:
        if path.is_dir():
            msg = f"{path}: is a folder; name the file with the copy in it."
            raise CopyError(msg)
        with path.open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        msg = f"{path}: no such file; check the name of the copy."
        raise CopyError(msg) from None
    except PermissionError:
        msg = f"{path}: may not be read; ask for leave to read it, or copy it elsewhere."
        raise CopyError(msg) from None
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        reason = getattr(error, "strerror", None) or "not a usable file name"
        msg = f"{str(path)!r}: can't be read ({reason}); check the name of the copy."
        raise CopyError(msg) from error


def form_of(data: bytes, name: str) -> Form:
    """What kind of copy the bytes are, by their content, and by the name for Markdown.

    Raises:
        CopyError: a kind of file that no copy can be read from, with what to do instead.
    """
    _refuse_by_signature(data, name)
    if data.startswith(b"PK\x03\x04"):
        return _packed_form(data, name)
    if Path(name).suffix.lower() in {".docx", ".odt"}:
        msg = f"{name}: damaged, or no such document as its name says; save the copy again."
        raise CopyError(msg)
    _refuse_binary(data, name)
    return Form.MARKDOWN if Path(name).suffix.lower() in {".md", ".markdown"} else Form.PLAIN


def _refuse_by_signature(data: bytes, name: str) -> None:
    instead = "save the copy as text, DOCX or ODT."
    kind = next((kind for mark, kind in _PICTURES.items() if data.startswith(mark)), None)
    if kind == "a BMP picture" and b"\x00" not in data[:64]:
        kind = None  # a text may well begin with these two letters
    if data.startswith(b"RIFF") and data[8:12] == b"WEBP":
        kind = "a WebP picture"
    if kind:
        msg = f"{name}: {kind}, not text; {instead} (Was the scan given as the copy?)"
        raise CopyError(msg)
    if data[:1024].lstrip().startswith(b"%PDF-"):
        msg = f"{name}: a PDF given as copy; its text has no sure order, so {instead}"
        raise CopyError(msg)
    if data.startswith(b"{\\rtf"):
        msg = f"{name}: rich text (RTF), which isn't read; {instead}"
        raise CopyError(msg)
    if data.startswith(_OLE):
        if "EncryptedPackage".encode("utf-16-le") in data:
            msg = f"{name}: locked by a password; save it without one."
        else:
            msg = f"{name}: an old office document (.doc), which isn't read; {instead}"
        raise CopyError(msg)


def _packed_form(data: bytes, name: str) -> Form:
    if b"word/" in data:
        return Form.DOCX
    if b"content.xml" in data:
        return Form.ODT
    msg = f"{name}: a packed (zip) file that is neither DOCX nor ODT; unpack it and name the text."
    raise CopyError(msg)


def _refuse_binary(data: bytes, name: str) -> None:
    if data.startswith(_UTF_16_MARKS) or _looks_like_utf_16(data):
        return
    controls = sum(data.count(bytes([code])) for code in range(32) if code not in b"\t\n\v\f\r")
    if b"\x00" in data or controls > max(8, len(data) // 50):
        msg = f"{name}: not text but binary data; save the copy as text, DOCX or ODT."
        raise CopyError(msg)


def _looks_like_utf_16(data: bytes) -> bool:
    """Whether NULs stand only in every other byte, as in UTF-16 of a Latin text."""
    odd, even = data[1::2].count(0), data[::2].count(0)
    half = len(data) // 2
    return len(data) % 2 == 0 and half > 0 and min(odd, even) == 0 and max(odd, even) > half * 0.6
