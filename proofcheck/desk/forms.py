"""What a form sends: its fields, and its files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.datastructures import UploadFile

from proofcheck.desk.reader_now import reader_now

if TYPE_CHECKING:
    from starlette.datastructures import FormData

__all__ = ["field", "files"]


def field(form: FormData, name: str) -> str:
    """One field's text, without space at its ends; "" where there is none.

    Who records it (`by`) is the reader who came in by the door, whatever the form says.
    """
    if name == "by" and reader_now():
        return reader_now()
    value = form.get(name, "")
    return value.strip() if isinstance(value, str) else ""


async def files(form: FormData, name: str) -> list[tuple[str, bytes]]:
    """The files of one field: names and bytes, in order, empty ones left out."""
    out = []
    for value in form.getlist(name):
        if isinstance(value, UploadFile):
            data = await value.read()
            if value.filename and data:
                out.append((value.filename, data))
    return out
