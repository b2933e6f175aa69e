"""A small TOML file given by a person, read within bounds."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["MOST_BYTES", "is_figure", "shown_value", "toml_table"]

MOST_BYTES = 2**20
"""Far more than any settings, bill of type or table of widths has."""
_MOST_FIGURE = 1e9
_MOST_SHOWN = 60


def toml_table(path: Path) -> dict[str, Any]:
    """What the file holds.

    Raises:
        OSError: it can't be read.
        ValueError: it is too large, no TOML, or nested without end; the text says which.
    """
    with path.open("rb") as file:
        data = file.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        msg = f"larger than {MOST_BYTES // 2**20} MiB, which no such file is"
        raise ValueError(msg)
    try:
        return tomllib.loads(data.decode("utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        msg = f"not TOML: {error}"
        raise ValueError(msg) from error
    except RecursionError as error:
        msg = "nested deeper than any such file is"
        raise ValueError(msg) from error
    except ValueError as error:  # Python takes no number of more than 4,300 digits
        msg = "it holds a number of thousands of digits"
        raise ValueError(msg) from error


def is_figure(value: object) -> bool:
    """Whether a value is a number to reckon with: neither infinite nor none, nor absurdly large."""
    return (
        isinstance(value, int | float)
        and not isinstance(value, bool)
        and -_MOST_FIGURE < value < _MOST_FIGURE
    )


def shown_value(value: object) -> str:
    """A value as it may stand in a message: cut where it is long."""
    try:
        shown = repr(value)
    except (ValueError, RecursionError):
        return f"such a {type(value).__name__}"
    return shown if len(shown) <= _MOST_SHOWN else shown[: _MOST_SHOWN - 1] + "…"
