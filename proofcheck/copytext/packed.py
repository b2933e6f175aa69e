"""Word processors' packed files: open them, guard against bombs, read one part as XML."""

from __future__ import annotations

import io
import lzma
import struct
import zipfile
import zlib
from typing import TYPE_CHECKING, cast

from defusedxml import DefusedXmlException
from defusedxml.ElementTree import ParseError, fromstring

from proofcheck.base.errors import CopyError

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator
    from xml.etree.ElementTree import Element

    from proofcheck.copytext.draft import Draft

__all__ = ["MOST_PART_BYTES", "Pack", "guarded", "nearest"]

MOST_PART_BYTES = 32 * 2**20
"""Largest part read, unpacked; the text of a thousand-page book is a tenth of it."""

MOST_BYTES = 4 * MOST_PART_BYTES
"""Most read of one document; it may have any number of parts."""

_DAMAGE = (
    zipfile.BadZipFile,
    zlib.error,
    lzma.LZMAError,
    struct.error,
    EOFError,
    LookupError,
    NotImplementedError,
    OSError,
    RuntimeError,
    ValueError,
)
"""What the unpacking raises on damaged files: there is no one base."""


class Pack:
    """A packed document, open for reading its parts.

    Raises:
        CopyError: on opening or reading: damaged, locked, or unpacking to an absurd size.
    """

    def __init__(self, data: bytes, name: str) -> None:
        self._name = name
        self._unpacked = 0
        try:
            self._zip = zipfile.ZipFile(io.BytesIO(data))
        except _DAMAGE as error:
            raise self._damaged() from error

    def _damaged(self) -> CopyError:
        msg = f"{self._name}: damaged, it can't be unpacked; save or send the copy again."
        return CopyError(msg)

    def locked(self) -> CopyError:
        """The error for a document with a password."""
        return CopyError(f"{self._name}: locked by a password; save it without one.")

    def text(self, part: str) -> bytes | None:
        """The bytes of a part, or None where there is none of that name."""
        try:
            entry = self._zip.getinfo(part)
        except KeyError:
            return None
        if entry.flag_bits & 1:
            raise self.locked()
        try:
            with self._zip.open(entry) as file:  # the declared size may lie, so count as well
                too_large = entry.file_size > MOST_PART_BYTES
                data = b"" if too_large else file.read(MOST_PART_BYTES + 1)
        except _DAMAGE as error:
            raise self._damaged() from error
        self._unpacked += len(data)
        if too_large or len(data) > MOST_PART_BYTES or self._unpacked > MOST_BYTES:
            msg = (
                f"{self._name}: unpacks to more than {MOST_PART_BYTES // 2**20} MiB of text, "
                "which is no job's copy; save it as plain text."
            )
            raise CopyError(msg)
        return data

    def named(self, *beginnings: str) -> list[str]:
        """Names of the XML parts that begin with one of these, in order."""
        held = {name for name in self._zip.namelist() if name.endswith(".xml")}
        return sorted(name for name in held if name.startswith(beginnings))

    def tree(self, part: str) -> Element | None:
        """A part as XML, or None where there is none; entities of its own are refused."""
        data = self.text(part)
        if data is None:
            return None
        try:
            return cast("Element", fromstring(data, forbid_dtd=True))
        except (ParseError, ValueError, LookupError) as error:
            if isinstance(error, DefusedXmlException):
                msg = f"{self._name}: holds XML declarations no office program writes; refused."
                raise CopyError(msg) from error
            raise self._damaged() from error

    def body(self, part: str) -> Element:
        """A part that must be there, as XML."""
        tree = self.tree(part)
        if tree is None:
            raise self._damaged()
        return tree


def guarded(make: Callable[[Pack], Draft], data: bytes, name: str) -> Draft:
    """Run one reader of a packed document; nesting without end is an error of the copy."""
    try:
        return make(Pack(data, name))
    except RecursionError as error:
        msg = f"{name}: nested deeper than any document is; save the copy as plain text."
        raise CopyError(msg) from error


def nearest(parent: Element, tags: Collection[str]) -> Iterator[Element]:
    """The descendants with one of these tags, in order, looking inside none of them."""
    for child in parent:
        if child.tag in tags:
            yield child
        else:
            yield from nearest(child, tags)
