"""What a shop can choose, and the file it keeps its choices in.

A settings file is TOML; each key is the name of a field of `Options`, and every one can be
overridden on the command line:

    measure_picas = 20
    hand_set = true
    enforced = ["point-space"]
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

from proofcheck.base.bands import band_kind
from proofcheck.base.errors import SettingError
from proofcheck.base.languages import is_language
from proofcheck.base.toml_file import is_figure, shown_value, toml_table

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["READERS", "Options", "load_settings"]

READERS = ("letters", "tesseract")
_MOST_UP = 128


@dataclass(frozen=True, slots=True)
class Options:
    """Choices for reading one proof. Raises SettingError where a value can't be used."""

    reader: str = "letters"
    """Which reader reads: "letters" (our own; the OCR engine is its second witness) or
    "tesseract" (the OCR engine alone)."""
    weights: Path | None = None
    """Another set of weights for the letter reader (an .onnx file); None for the package's own."""
    type_weights: Path | None = None
    """Another set of weights for comparing letters with their fellows; None for the package's."""
    faces: Path | None = None
    """The shop's book of faces (`proofcheck faces`); None for the docket's own, where it is read
    for one."""
    language: str = "eng"
    """Language of the matter by the OCR engine's name, also for the division of words."""
    encoding: str | None = None
    """Encoding of the copy; None to find out."""
    dpi: float | None = None
    """Resolution of the scans; None to take it from the file."""
    measure_picas: float | None = None
    """Length of a full line in picas; sets the resolution where the file has none to trust."""
    part: bool = False
    """The proof holds only part of the copy: what lies beyond its ends is no fault."""
    up: int = 0
    """How many times the copy stands on each sheet (tickets, labels, cards); 0 to find out."""
    lines: tuple[str, ...] = ()
    """Files of lines that another program has found (PAGE XML, ALTO), one a sheet, in place of
    those found here."""
    hand_set: bool = False
    """Type from the case rather than slugs: other marks, other likely causes."""
    enforced: tuple[str, ...] = ()
    """Allowances not to be made, by name (`proofcheck.collate.same.Rules`)."""
    allowed: tuple[str, ...] = ()
    """Allowances to be made that are not made of themselves, by name."""
    own_lines: tuple[str, ...] = ()
    """Lines the shop adds at the head or foot of a sheet that no copy has (an imprint), to the
    letter."""
    fault_certainty: float = 0.5
    """From this certainty on a difference is called a fault; below it is a query."""
    query_certainty: float = 0.02
    """Below this certainty a difference is taken for a slip of the reading and not shown."""
    second_look: bool = True
    """Ask the OCR engine about each place in dispute."""
    type_too: bool = True
    """Look at the type itself as well as the text: turned, broken and strange letters, spaces."""
    recast: bool = True
    """Plan which slugs to cast again, and write the lists for the machine and the stone."""
    bands: str = "thick"
    """Kind of spaceband in the machine (`proofcheck.base.bands.BANDS`)."""
    face: Path | None = None
    """Face of the matter, for letters the proof does not show: an OpenType file, or a table of
    widths in ems (TOML or CSV)."""
    bill: Path | None = None
    """Bill of the font for type from the case (TOML, `[sorts]`): warns where it runs short."""
    minutes_a_slug: float = 0.0
    """The shop's own rate: minutes to key and cast one slug; 0 for no time to be told."""
    minutes_a_change: float = 0.0
    """Minutes for one change at the stone."""
    unfit: bool = False
    """Read on even where the sheet is not fit to be judged."""

    def __post_init__(self) -> None:
        if self.reader not in READERS:
            msg = f"no reader {self.reader!r}; choose one of: {', '.join(READERS)}"
            raise SettingError(msg)
        for name in ("dpi", "measure_picas"):
            value = getattr(self, name)
            if value is not None and not 0 < value < 10_000:
                msg = f"{name} is {value:g}; it must be a length greater than 0"
                raise SettingError(msg)
        for name in self.language.split("+"):
            if not is_language(name):
                msg = (
                    f"no language {shown_value(name)}; named by the three letters of ISO 639-2, "
                    "several joined by +: eng, fra, deu, eng+deu"
                )
                raise SettingError(msg)
        if not 0 <= self.up <= _MOST_UP:
            msg = f"up is {self.up}; it must be a number of tickets from 0 to {_MOST_UP}"
            raise SettingError(msg)
        band_kind(self.bands)
        if not all(0 <= rate < 10_000 for rate in (self.minutes_a_slug, self.minutes_a_change)):
            msg = "minutes_a_slug and minutes_a_change must be minutes, 0 or more"
            raise SettingError(msg)
        if not 0 <= self.query_certainty <= self.fault_certainty <= 1:
            msg = (
                f"query_certainty ({self.query_certainty:g}) and fault_certainty "
                f"({self.fault_certainty:g}) must lie between 0 and 1, the first not the greater"
            )
            raise SettingError(msg)

    def as_settings(self) -> dict[str, str | int | float | bool | None]:
        """The choices as the report records them, lists joined by commas."""
        return {field.name: _plain(getattr(self, field.name)) for field in fields(self)}


def _plain(value: Any) -> str | int | float | bool | None:  # noqa: ANN401
    if isinstance(value, tuple):
        return ", ".join(value)
    return value if value is None or isinstance(value, str | int | float | bool) else str(value)


def load_settings(path: Path, base: Options | None = None) -> Options:
    """Read a settings file over `base`.

    Raises:
        SettingError: the file is missing, is not TOML, or has a key or value unknown here.
    """
    try:
        found = toml_table(path)
    except OSError as error:
        reason = (error.strerror or "no file to be read").lower()
        msg = f"settings file {path} can't be read ({reason}); check the path"
        raise SettingError(msg) from error
    except ValueError as error:
        msg = f"settings file {path} can't be used: {error}"
        raise SettingError(msg) from error
    known = {field.name: str(field.type) for field in fields(Options)}
    values = {name: _typed(path, name, value, known) for name, value in found.items()}
    return replace(base or Options(), **values)


def _typed(path: Path, name: str, value: Any, known: dict[str, str]) -> Any:  # noqa: ANN401
    if name not in known:
        msg = f"settings file {path}: no key {name!r}; known are: {', '.join(sorted(known))}"
        raise SettingError(msg)
    wanted = known[name]
    if isinstance(value, bool):
        if wanted == "bool":
            return value
    elif wanted == "int" and isinstance(value, int):
        return value
    elif wanted.startswith("float") and is_figure(value):
        return float(value)
    elif wanted.startswith("str") and isinstance(value, str):
        return value
    elif wanted.startswith("Path") and isinstance(value, str) and "\0" not in value:
        return path.parent / value
    elif wanted.startswith("tuple") and isinstance(value, list):
        return tuple(item if isinstance(item, str) else shown_value(item) for item in value)
    shown = shown_value(value)
    msg = f"settings file {path}: {name} can't be {shown}; it takes {wanted.split(' |')[0]}"
    raise SettingError(msg)
