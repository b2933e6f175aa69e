"""The values of a report as plain JSON values and back, without loss; and the shape they have.

What is written follows from the fields of the values themselves, so that one added to a value of
`base` or `recast` is in the record from that day on. A value is an object with the names of its
fields; boxes, spans and letters, of which there are thousands, are rows without names. Floats
keep every digit (Python's shortest form that reads back the same); those that are no number are
written by name. A picture is written as its height and width only.
"""

from __future__ import annotations

import math
import types
from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, fields, is_dataclass
from enum import StrEnum
from functools import lru_cache
from typing import Any, Final, Union, get_args, get_origin, get_type_hints

import numpy as np
from numpy.typing import NDArray

from proofcheck.base import found, values
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Grey, Letter, no_picture
from proofcheck.recast import change, handset, plan
from proofcheck.recast.cost import Toll

__all__ = ["Codec", "MisfitError", "codec_of"]

_NAMES: Final[dict[str, Any]] = {
    **vars(values), **vars(found), **vars(change), **vars(handset), **vars(plan),
    "Toll": Toll, "Kind": Kind, "Mapping": Mapping,
}  # fmt: skip
"""What the names in the values' annotations mean: modules import them for types only."""
_ROWS: Final = frozenset({Letter})
"""Values written as rows of their fields, in order."""
_NO_NUMBERS: Final = {"nan": math.nan, "inf": math.inf, "-inf": -math.inf}
_SCALARS: Final = (str, bool, int, float, types.NoneType)
_LARGEST_PX: Final = 1 << 20
"""Height or width beyond which no picture is made room for."""


class MisfitError(ValueError):
    """A plain value is not what stands at its place; the words say where and why."""


@dataclass(frozen=True, slots=True)
class Codec:
    """How values of one kind are written and read."""

    write: Callable[[Any], Any]
    """To a plain value for JSON."""
    read: Callable[[Any, str], Any]
    """Back, from a plain value and the words for its place. Raises MisfitError."""
    schema: Mapping[str, Any]
    """The plain value's shape (JSON Schema); values with names stand in `$defs`."""
    defs: Mapping[str, Any]
    """What `schema` refers to in `$defs`."""


@lru_cache(maxsize=256)
def codec_of(kind: Any) -> Codec:  # noqa: ANN401
    """The codec of a type as annotated. Raises TypeError for one that has none."""
    origin, inner = get_origin(kind), get_args(kind)
    if isinstance(kind, type):
        return _of_class(kind)
    if kind in (Grey, NDArray[np.float64]):
        return _picture() if kind == Grey else _matrix()
    if origin in (Union, types.UnionType):
        return _union(inner)
    if origin is tuple:
        many = len(inner) == 2 and inner[1] is Ellipsis
        return _list(codec_of(inner[0])) if many else _row(tuple, [codec_of(i) for i in inner])
    if origin is Mapping:
        return _mapping(codec_of(inner[1]))
    msg = f"no way to write {kind!r} down"
    raise TypeError(msg)


def _of_class(kind: type) -> Codec:
    if issubclass(kind, StrEnum):
        return _choice(kind)
    if issubclass(kind, tuple):
        hints = get_type_hints(kind, localns=_NAMES)
        return _row(lambda held: kind(*held), [codec_of(hint) for hint in hints.values()])
    if is_dataclass(kind):
        return _record(kind)
    if kind in _SCALARS:
        return _float() if kind is float else _scalar(kind)
    msg = f"no way to write {kind!r} down"
    raise TypeError(msg)


def _scalar(kind: type) -> Codec:
    name = {str: "string", bool: "boolean", int: "integer", types.NoneType: "null"}[kind]

    def read(held: Any, place: str) -> Any:  # noqa: ANN401
        if type(held) is not kind:
            raise MisfitError(f"{place} is no {name}")
        return held

    # Whole numbers and yes or no may come from arrays.
    return Codec((lambda v: v) if kind is types.NoneType else kind, read, {"type": name}, {})


def _float() -> Codec:
    def write(value: float) -> float | str:
        number = float(value)
        return number if math.isfinite(number) else str(number)

    def read(held: Any, place: str) -> float:  # noqa: ANN401
        if type(held) is float and math.isfinite(held):
            return held
        if type(held) is not str or held not in _NO_NUMBERS:
            raise MisfitError(f"{place} is no number with its fraction")
        return _NO_NUMBERS[held]

    schema = {"anyOf": [{"type": "number"}, {"enum": list(_NO_NUMBERS)}]}
    return Codec(write, read, schema, {})


def _choice(kind: type[StrEnum]) -> Codec:
    def read(held: Any, place: str) -> StrEnum:  # noqa: ANN401
        try:
            return kind(held)
        except ValueError as error:
            raise MisfitError(f"{place} is none of those there are") from error

    # The kinds of fault are written down once.
    names: dict[str, Any] = {"enum": [each.value for each in kind]}
    schema = {"$ref": "#/$defs/fault/properties/kind"} if kind is Kind else names
    return Codec(lambda v: v.value, read, schema, {})


def _union(inner: tuple[Any, ...]) -> Codec:
    """One kind or None; or any plain value."""
    others = [kind for kind in inner if kind is not types.NoneType]
    if len(others) == 1:
        one = codec_of(others[0])
        schema = {"anyOf": [{"type": "null"}, one.schema]}
        return Codec(
            lambda v: None if v is None else one.write(v),
            lambda held, place: None if held is None else one.read(held, place),
            schema,
            one.defs,
        )
    if not set(inner) <= set(_SCALARS):
        msg = f"no way to write one of {inner!r} down"
        raise TypeError(msg)

    def read(held: Any, place: str) -> Any:  # noqa: ANN401
        if type(held) not in inner:
            raise MisfitError(f"{place} is no plain value")
        return held

    return Codec(lambda v: v, read, {"type": ["string", "boolean", "number", "null"]}, {})


def _list(one: Codec) -> Codec:
    def read(held: Any, place: str) -> tuple[Any, ...]:  # noqa: ANN401
        return tuple(one.read(v, f"{place}[{n}]") for n, v in enumerate(_as(list, held, place)))

    schema = {"type": "array", "items": one.schema}
    return Codec(lambda v: [one.write(each) for each in v], read, schema, one.defs)


def _row(make: Callable[[list[Any]], Any], parts: list[Codec]) -> Codec:
    def write(value: Any) -> list[Any]:  # noqa: ANN401
        return [part.write(each) for part, each in zip(parts, value, strict=True)]

    def read(held: Any, place: str) -> Any:  # noqa: ANN401
        if len(_as(list, held, place)) != len(parts):
            raise MisfitError(f"{place} has not {len(parts)} values")
        return make([part.read(each, place) for part, each in zip(parts, held, strict=True)])

    schema = {
        "type": "array",
        "prefixItems": [part.schema for part in parts],
        "items": False,
        "minItems": len(parts),
    }
    return Codec(write, read, schema, _joined(parts))


def _mapping(one: Codec) -> Codec:
    def read(held: Any, place: str) -> dict[str, Any]:  # noqa: ANN401
        return {
            name: one.read(each, f"{place}.{name}") for name, each in _as(dict, held, place).items()
        }

    schema = {"type": "object", "additionalProperties": one.schema}

    def write(value: Mapping[str, Any]) -> dict[str, Any]:
        return {str(name): one.write(each) for name, each in value.items()}

    return Codec(write, read, schema, one.defs)


def _record(kind: type) -> Codec:
    hints = get_type_hints(kind, localns=_NAMES)
    parts = {field.name: codec_of(hints[field.name]) for field in fields(kind)}
    if kind in _ROWS:
        row = _row(lambda held: kind(*held), list(parts.values()))
        names = tuple(parts)
        write_row = row.write
        return Codec(
            lambda v: write_row([getattr(v, name) for name in names]),
            row.read, *_named(kind, row.schema, row.defs),
        )  # fmt: skip
    asked = [
        field.name
        for field in fields(kind)
        if field.default is MISSING and field.default_factory is MISSING
    ]

    def write(value: Any) -> dict[str, Any]:  # noqa: ANN401
        return {name: part.write(getattr(value, name)) for name, part in parts.items()}

    def read(held: Any, place: str) -> Any:  # noqa: ANN401
        told = _as(dict, held, place)
        strange = next((name for name in told if name not in parts), None)
        if strange is not None:
            raise MisfitError(f"{place}.{strange} is not known here; a later version may know it")
        missing = next((name for name in asked if name not in told), None)
        if missing is not None:
            raise MisfitError(f"{place}.{missing} is missing")
        return kind(**{n: parts[n].read(each, f"{place}.{n}") for n, each in told.items()})

    shapes = {name: part.schema for name, part in parts.items()}
    schema = {"type": "object", "properties": shapes, "required": asked}
    return Codec(write, read, *_named(kind, schema, _joined(list(parts.values()))))


def _picture() -> Codec:
    def read(held: Any, place: str) -> Grey:  # noqa: ANN401
        sides = [_as(int, side, place) for side in _as(list, held, place)]
        if len(sides) != 2 or not all(0 <= side <= _LARGEST_PX for side in sides):
            raise MisfitError(f"{place} is no size of a picture")
        return no_picture(*sides)

    size = {"type": "integer", "minimum": 0, "maximum": _LARGEST_PX}
    schema = {"type": "array", "prefixItems": [size, size], "items": False, "minItems": 2}
    return Codec(lambda v: [int(side) for side in v.shape], read, schema, {})


def _matrix() -> Codec:
    """Three rows of three."""
    row = _row(list, [_float()] * 3)
    whole = _row(np.array, [row] * 3)
    return Codec(whole.write, whole.read, whole.schema, {})


def _named(kind: type, schema: Any, defs: Mapping[str, Any]) -> tuple[Any, dict[str, Any]]:  # noqa: ANN401
    name = f"record_{kind.__name__}"
    return {"$ref": f"#/$defs/{name}"}, {**defs, name: schema}


def _joined(parts: list[Codec]) -> dict[str, Any]:
    return {name: schema for part in parts for name, schema in part.defs.items()}


def _as(kind: type, held: Any, place: str) -> Any:  # noqa: ANN401
    if type(held) is not kind:
        words = {list: "list", int: "whole number", dict: "group of values"}[kind]
        raise MisfitError(f"{place} is no {words}")
    return held
