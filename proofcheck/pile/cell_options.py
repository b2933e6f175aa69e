"""A shop's choices written in one cell of a table: `part up=4 face=caslon.otf`.

The names are those of the settings file. One that is a yes or no is said by its name alone; lists
are parted by commas; a value with blanks in it stands in quotes.
"""

from __future__ import annotations

import shlex
from dataclasses import fields, replace
from typing import TYPE_CHECKING, Any

from proofcheck.base.errors import SettingError
from proofcheck.base.options import Options
from proofcheck.base.visible import visible

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["options_in"]

_YES, _NO = {"", "yes", "true", "1"}, {"no", "false", "0"}


def options_in(text: str, base: Options, folder: Path) -> Options:
    """The choices in a cell, over `base`.

    Args:
        text: what the cell says.
        base: what holds where it says nothing.
        folder: where files that it names lie.

    Raises:
        SettingError: a name that is none, or a value that can't be used.
    """
    try:
        words = shlex.split(text)
    except ValueError as error:
        msg = f"options {visible(text)[:60]!r}: a quotation mark is not closed"
        raise SettingError(msg) from error
    known = {field.name: str(field.type) for field in fields(Options)}
    chosen: dict[str, Any] = {}
    for word in words:
        given, stated, value = word.partition("=")
        name = given.replace("-", "_").casefold()
        if name not in known:
            msg = f"no option {visible(given)[:40]!r}; known are: {', '.join(sorted(known))}"
            raise SettingError(msg)
        chosen[name] = _valued(name, known[name], value if stated else None, folder)
    return replace(base, **chosen)


def _valued(name: str, wanted: str, value: str | None, folder: Path) -> Any:  # noqa: ANN401
    if wanted == "bool":
        if value is None or value.casefold() in _YES | _NO:
            return (value or "").casefold() in _YES
    elif value:
        try:
            return _of_kind(wanted, value, folder)
        except ValueError:
            pass
    shown = "nothing" if not value else repr(visible(value)[:40])
    msg = f"option {name} can't be {shown}; it takes {wanted.split(' |', maxsplit=1)[0]}"
    raise SettingError(msg)


def _of_kind(wanted: str, value: str, folder: Path) -> Any:  # noqa: ANN401
    if wanted.startswith("int"):
        return int(value)
    if wanted.startswith("float"):
        return float(value)
    if wanted.startswith("tuple"):
        return tuple(part.strip() for part in value.split(",") if part.strip())
    if wanted.startswith("Path"):
        if "\0" in value:
            raise ValueError
        return folder / value
    return value
