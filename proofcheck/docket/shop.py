"""What a shop can choose for its docket: a TOML file beside it, named as it with `.toml`.

zone = "Europe/London"
minutes_a_slug = 4
minutes_a_change = 2
hour_costs = "36.00"
money = "£"
operators_in_figures = false
book_of_faces = false
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from datetime import UTC, datetime, tzinfo
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from proofcheck.base.errors import SettingError
from proofcheck.base.visible import visible

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["Shop", "load_shop"]

_MOST = 100_000
_DIGITS = 40
"""Characters of a figure beyond which it is none that a shop would write."""
_SHOWN = 60


@dataclass(frozen=True, slots=True)
class Shop:
    """The shop's choices for its docket. Raises SettingError where a value can't be used."""

    name: str = ""
    """As it stands at the head of a sign-off sheet."""
    zone: str = ""
    """Zone of its clock by its name in the tz database; "" for the machine's own."""
    minutes_a_slug: Decimal | None = None
    """Time charged for setting and putting in one slug (common practice: by the time taken); None
    where the shop has set no rate, and none is charged."""
    minutes_a_change: Decimal | None = None
    """Time charged for a change at the stone that needs no new slug: a line taken out."""
    hour_costs: Decimal | None = None
    """What an hour costs; None to tot up time alone."""
    money: str = ""
    """Sign of the money, before the sum."""
    operators_in_figures: bool = True
    """Tell faults by operator (initials) in the figures."""
    book_of_faces: bool = True
    """Learn faces from passed proofs, and hold letters against them."""

    def __post_init__(self) -> None:
        self.clock_zone()
        for name in ("minutes_a_slug", "minutes_a_change", "hour_costs"):
            value = getattr(self, name)
            # A comparison of what is no number (NaN) is an error of its own.
            if value is not None and not (value.is_finite() and 0 <= value < _MOST):
                msg = f"{name} is {_short(value)}; it must be a figure from 0 to {_MOST}"
                raise SettingError(msg)

    def clock_zone(self) -> tzinfo:
        """The shop's zone."""
        if not self.zone:
            return datetime.now(UTC).astimezone().tzinfo or UTC
        try:
            return ZoneInfo(self.zone)
        except (KeyError, ValueError, OSError) as error:
            msg = f"no zone {_short(self.zone)}; name one of the tz database, such as Europe/London"
            raise SettingError(msg) from error

    def zone_at(self, moment: datetime) -> str:
        """The zone's name and offset at a moment: "Europe/London +01:00"."""
        local = moment.astimezone(self.clock_zone())
        offset = local.strftime("%z")
        return f"{self.zone or local.tzname() or 'local'} {offset[:3]}:{offset[3:5]}"


def load_shop(path: Path) -> Shop:
    """The choices in a file; the usual ones where there is no such file.

    Raises:
        SettingError: it is not TOML, or has a key or a value that can't be used.
    """
    shown = visible(str(path))
    try:
        found = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return Shop()
    except OSError as error:
        msg = f"settings file {shown} can't be read ({error.strerror}); check the path"
        raise SettingError(msg) from error
    except (ValueError, RecursionError) as error:
        # Figures of thousands of digits and lists thousands deep are errors of other kinds.
        msg = f"settings file {shown} is not TOML: {_short(error)}"
        raise SettingError(msg) from error
    known = {field.name: str(field.type) for field in fields(Shop)}
    return Shop(**{name: _typed(path, name, value, known) for name, value in found.items()})


def _typed(path: Path, name: str, value: Any, known: dict[str, str]) -> Any:  # noqa: ANN401
    wanted, shown = known.get(name), visible(str(path))
    if wanted is None:
        msg = f"settings file {shown}: no key {_short(name)}; known are: {', '.join(known)}"
        raise SettingError(msg)
    try:
        if wanted.startswith("Decimal") and isinstance(value, int | float | str):
            return _typed_figure(value)
    except (InvalidOperation, ValueError):
        pass
    if wanted == "bool" and isinstance(value, bool):
        return value
    if wanted == "str" and isinstance(value, str):
        return value
    takes = wanted.split(" |", maxsplit=1)[0]
    msg = f"settings file {shown}: {name} can't be {_short(value)}; it takes {takes}"
    raise SettingError(msg)


def _typed_figure(value: float | str) -> Decimal:
    if isinstance(value, bool) or len(str(value)) > _DIGITS:
        raise InvalidOperation
    return Decimal(str(value))


def _short(value: object) -> str:
    """A value as it may stand in a message: on one line, and no longer than that bears."""
    try:
        text = visible(repr(value) if isinstance(value, str) else str(value))
    except (ValueError, RecursionError):
        text = "what can't be shown"
    return text if len(text) <= _SHOWN else text[:_SHOWN] + "…"
