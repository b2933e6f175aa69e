"""What a shop can choose for its docket: a TOML file beside it, named as it with `.toml`.

zone = "Europe/London"
minutes_a_slug = 4
minutes_a_change = 2
hour_costs = "36.00"
money = "£"
operators_in_figures = false
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from datetime import UTC, datetime, tzinfo
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from proofcheck.errors import SettingError
from proofcheck.visible import visible

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["Shop", "load_shop"]


@dataclass(frozen=True, slots=True)
class Shop:
    """The shop's choices for its docket. Raises SettingError where a value can't be used."""

    name: str = ""
    """As it stands at the head of a sign-off sheet."""
    zone: str = ""
    """Zone of its clock by its name in the tz database; "" for the machine's own."""
    minutes_a_slug: Decimal = Decimal(4)
    """Time charged for setting and putting in one slug (common practice: by the time taken)."""
    minutes_a_change: Decimal = Decimal(2)
    """Time charged for a change at the stone that needs no new slug: a line taken out."""
    hour_costs: Decimal | None = None
    """What an hour costs; None to tot up time alone."""
    money: str = ""
    """Sign of the money, before the sum."""
    operators_in_figures: bool = True
    """Tell faults by operator (initials) in the figures."""

    def __post_init__(self) -> None:
        self.clock_zone()
        for name in ("minutes_a_slug", "minutes_a_change", "hour_costs"):
            value = getattr(self, name)
            if value is not None and not 0 <= value < 100_000:
                msg = f"{name} is {value}; it must be a figure from 0 on"
                raise SettingError(msg)

    def clock_zone(self) -> tzinfo:
        """The shop's zone."""
        if not self.zone:
            return datetime.now(UTC).astimezone().tzinfo or UTC
        try:
            return ZoneInfo(self.zone)
        except (KeyError, ValueError, OSError) as error:
            msg = f"no zone {self.zone!r}; name one of the tz database, such as Europe/London"
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
    try:
        found = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return Shop()
    except OSError as error:
        msg = f"settings file {path} can't be read ({error.strerror}); check the path"
        raise SettingError(msg) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        msg = f"settings file {path} is not TOML: {error}"
        raise SettingError(msg) from error
    known = {field.name: str(field.type) for field in fields(Shop)}
    return Shop(**{name: _typed(path, name, value, known) for name, value in found.items()})


def _typed(path: Path, name: str, value: Any, known: dict[str, str]) -> Any:  # noqa: ANN401
    wanted = known.get(name)
    if wanted is None:
        msg = f"settings file {path}: no key {visible(name)!r}; known are: {', '.join(known)}"
        raise SettingError(msg)
    try:
        if wanted.startswith("Decimal") and not isinstance(value, bool):
            return Decimal(str(value))
    except InvalidOperation:
        pass
    if wanted == "bool" and isinstance(value, bool):
        return value
    if wanted == "str" and isinstance(value, str):
        return value
    msg = f"settings file {path}: {name} can't be {value!r}; it takes {wanted.split(' |')[0]}"
    raise SettingError(msg)
