"""Whether data from outside has the shape written down for it, with the right kind at each place.

The shape is a JSON Schema (draft 2020-12), of which as much is understood as the project's own
schemas use; whole numbers are such, not floats that happen to be whole, and no number is
infinite or none.
"""

from __future__ import annotations

import json
import math
import operator
import re
from collections.abc import Callable
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING, Any, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["Fit", "entry_misfit", "fit_of", "report_misfit"]

Fit: TypeAlias = Callable[[object, str], str]
"""Says of data at a named place what is wrong with it, in a few words; "" if it fits."""

Making: TypeAlias = Callable[[Any, "Mapping[str, Any]"], Fit]
"""Makes a check of a keyword's value and the whole schema."""

_WORDS = {
    "object": "group of values", "array": "list", "string": "text", "integer": "whole number",
    "number": "number", "boolean": "yes or no", "null": "nothing",
}  # fmt: skip
_TELLING_NOTHING = {"$schema", "title", "description", "$defs", "$ref"}


def report_misfit(report: object) -> str:
    """What of a report is not as `report_schema.json` has it; "" if all is."""
    from proofcheck.results.report_json import report_schema

    return _report_fit(json.dumps(report_schema()))(report, "")


def entry_misfit(kind: str, data: object) -> str:
    """What of the data of an entry is not as entries of its kind have it; "" if all is.

    A kind that is not known here is said to be so.
    """
    fit = _entry_fits().get(kind)
    return "it is of a kind not known here" if fit is None else fit(data, "")


@lru_cache(maxsize=2)
def _report_fit(schema: str) -> Fit:
    return fit_of(json.loads(schema))


@lru_cache(maxsize=1)
def _entry_fits() -> dict[str, Fit]:
    text = resources.files("proofcheck.docket").joinpath("entry_schema.json").read_text("utf-8")
    schema = json.loads(text)
    return {kind: fit_of(one, schema) for kind, one in schema["properties"].items()}


def fit_of(schema: Mapping[str, Any], whole: Mapping[str, Any] | None = None) -> Fit:
    """A check made of a schema.

    Args:
        schema: the shape.
        whole: the schema its references point into; itself if not given.

    Raises:
        ValueError: it has a keyword that is not understood here.
    """
    defs = schema if whole is None else whole
    if "$ref" in schema:
        named: Any = defs
        for step in str(schema["$ref"]).removeprefix("#/").split("/"):
            named = named[step]
        return fit_of(named, defs)
    told = {key: value for key, value in schema.items() if key not in _TELLING_NOTHING}
    kinds = told.pop("type", None)
    checks: list[Fit] = []
    for key in sorted(told.keys() - _TOGETHER):
        making = _MAKING.get(key)
        if making is None:
            msg = f"the keyword {key!r} of a schema is not understood"
            raise ValueError(msg)
        checks.append(making(told[key], defs))
    if told.keys() & {"properties", "additionalProperties"}:
        checks.append(_members(told, defs))
    if told.keys() & {"prefixItems", "items"}:
        checks.append(_items(told, defs))
    return _all_of(kinds, checks)


_TOGETHER = {"properties", "additionalProperties", "prefixItems", "items"}


def _all_of(kinds: str | list[str] | None, checks: list[Fit]) -> Fit:
    names = [kinds] if isinstance(kinds, str) else list(kinds or ())
    words = " or ".join(_WORDS[name] for name in names)
    right = {_KINDS[name] for name in names if name in _KINDS}
    figure = "number" in names

    def fit(held: object, place: str) -> str:
        if names and type(held) not in right and not (figure and _is_figure(held)):
            return f"{place or 'it'} is no {words}"
        for check in checks:
            found = check(held, place)
            if found:
                return found
        return ""

    return fit


def _is_figure(held: object) -> bool:
    return type(held) is int or (type(held) is float and math.isfinite(held))


_KINDS: dict[str, type] = {
    "object": dict, "array": list, "string": str, "integer": int, "boolean": bool,
    "null": type(None),
}  # fmt: skip


def _const(value: object, _: Mapping[str, Any]) -> Fit:
    return _enum([value], {})


def _enum(values: list[object], _: Mapping[str, Any]) -> Fit:
    right = {(type(value), value) for value in values}

    def fit(held: object, place: str) -> str:
        known = isinstance(held, str | int | float | None) and (type(held), held) in right
        return "" if known else f"{place or 'it'} is none of those there are"

    return fit


def _bound(wrong: Callable[[Any, Any], bool], words: str, kinds: Any) -> Making:  # noqa: ANN401
    """Makes checks of a figure, or of a length, against one of the schema."""

    def making(bound: float, _: Mapping[str, Any]) -> Fit:
        def fit(held: object, place: str) -> str:
            size = len(held) if isinstance(held, str | list) else held
            return f"{place or 'it'} {words} {bound}" if _one(held) and wrong(size, bound) else ""

        return fit

    def _one(held: object) -> bool:
        return isinstance(held, kinds) and not isinstance(held, bool)

    return making


def _pattern(pattern: str, _: Mapping[str, Any]) -> Fit:
    # Python's $ lets a line end follow; what is written down means the very end.
    seek = re.compile(re.sub(r"\$(?=\)*$)", r"\\Z", pattern)).search
    return lambda held, place: (
        f"{place or 'it'} is not written as it must be"
        if isinstance(held, str) and not seek(held)
        else ""
    )


def _required(names: list[str], _: Mapping[str, Any]) -> Fit:
    def fit(held: object, place: str) -> str:
        missing = [n for n in names if n not in held] if isinstance(held, dict) else []
        return f"{_at(place, missing[0])} is missing" if missing else ""

    return fit


def _any_of(schemas: list[Mapping[str, Any]], defs: Mapping[str, Any]) -> Fit:
    fits = [fit_of(one, defs) for one in schemas]
    return lambda held, place: (
        "" if any(not one(held, place) for one in fits) else f"{place or 'it'} fits none"
    )


def _one_of(schemas: list[Mapping[str, Any]], defs: Mapping[str, Any]) -> Fit:
    fits = [fit_of(one, defs) for one in schemas]

    def fit(held: object, place: str) -> str:
        said = [one(held, place) for one in fits]
        return "" if said.count("") == 1 else next(filter(None, said), f"{place} fits twice")

    return fit


def _members(told: Mapping[str, Any], defs: Mapping[str, Any]) -> Fit:
    own = {name: fit_of(one, defs) for name, one in told.get("properties", {}).items()}
    more = told.get("additionalProperties", True)
    others = fit_of(more, defs) if isinstance(more, dict) else None

    def fit(held: object, place: str) -> str:
        for name, value in held.items() if isinstance(held, dict) else ():
            check = own.get(name, others)
            if check is None and more is False:
                return f"{_at(place, name)} does not belong there"
            # Where it is, is put into words only if something is wrong.
            if check and check(value, ""):
                return check(value, _at(place, name))
        return ""

    return fit


def _items(told: Mapping[str, Any], defs: Mapping[str, Any]) -> Fit:
    first = [fit_of(one, defs) for one in told.get("prefixItems", ())]
    more = told.get("items", True)
    others = fit_of(more, defs) if isinstance(more, dict) else None

    def fit(held: object, place: str) -> str:
        for number, value in enumerate(held if isinstance(held, list) else ()):
            check = first[number] if number < len(first) else others
            if check is None and more is False:
                return f"{place or 'it'} is too long"
            if check and check(value, ""):
                return check(value, f"{place}[{number}]")
        return ""

    return fit


def _at(place: str, name: object) -> str:
    from proofcheck.base.visible import visible

    shown = visible(str(name))[:40]
    return f"{place}.{shown}" if place else shown


_MAKING: dict[str, Making] = {
    "const": _const,
    "enum": _enum,
    "minimum": _bound(operator.lt, "is less than", (int, float)),
    "exclusiveMinimum": _bound(operator.le, "is not more than", (int, float)),
    "maximum": _bound(operator.gt, "is more than", (int, float)),
    "exclusiveMaximum": _bound(operator.ge, "is not less than", (int, float)),
    "pattern": _pattern,
    "minLength": _bound(operator.lt, "is shorter than", str),
    "maxLength": _bound(operator.gt, "is longer than", str),
    "minItems": _bound(operator.lt, "has fewer than", list),
    "maxItems": _bound(operator.gt, "has more than", list),
    "required": _required,
    "oneOf": _one_of,
    "anyOf": _any_of,
}
