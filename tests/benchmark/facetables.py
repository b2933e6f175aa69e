"""Tables of what was found in faces never trained on."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .faceplants import KINDS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .faceplants import Plan

__all__ = ["WAYS", "WEARS", "FaceResult", "Told", "as_markdown"]

WEARS = ("good", "worn")
"""How proofs are pulled, in turn."""
WAYS = ("plain", "planted", "shuffled")
"""How each proof is read."""
FOUND = ("fault", "query", "missed")


@dataclass(frozen=True, slots=True)
class Told:
    """One planted fault with what became of it, or one thing reported where nothing was planted."""

    face: str
    proof: str
    way: str
    """"plain", "planted" or "shuffled"."""
    found: str
    """"fault", "query" or "missed"."""
    kind: str
    printed: str
    wanted: str
    said: str
    context: str


@dataclass(frozen=True, slots=True)
class FaceResult:
    """All of one face."""

    face: str
    characters: int
    """Of one reading of all its proofs."""
    plants: tuple[Told, ...]
    alarms: tuple[Told, ...]


def as_markdown(results: Sequence[FaceResult], plan: Plan) -> str:
    """Tables by face and by kind, and every miss and alarm."""
    ways = [way for way in plan.ways if way != "planted"]
    heads = ["face", "characters", "planted", *FOUND, "named rightly"]
    heads += [f"alarms per 1,000, {way}: fault / query" for way in ways]
    lines = [_row(heads), _row(["---"] * len(heads))]
    whole = FaceResult(
        "**in all**",
        sum(r.characters for r in results),
        tuple(t for r in results for t in r.plants),
        tuple(t for r in results for t in r.alarms),
    )
    lines += [_face_row(result, ways) for result in (*results, whole)]
    lines += ["", _row(["kind", "planted", *FOUND, "named rightly"]), _row(["---"] * 6)]
    for kind in KINDS:
        lines.append(_row([kind, *_counts([t for t in whole.plants if t.kind == kind])]))
    for wear in WEARS:
        lines.append(_row([f"*{wear}*", *_counts([t for t in whole.plants if wear in t.proof])]))
    lines += ["", "Not called faults:", ""]
    lines += [_line(told) for told in whole.plants if told.found != "fault"]
    lines += ["", "Reported where nothing was planted:", ""]
    lines += [_line(told) for told in whole.alarms]
    return "\n".join(lines) + "\n"


def _row(cells: Sequence[object]) -> str:
    return "| " + " | ".join(str(cell) for cell in cells) + " |"


def _counts(plants: Sequence[Told]) -> list[int]:
    counted = Counter(told.found for told in plants)
    named = sum(told.kind in told.said.split(", ") for told in plants)
    return [len(plants), *(counted[found] for found in FOUND), named]


def _face_row(result: FaceResult, ways: Sequence[str]) -> str:
    rates = []
    for way in ways:
        counted = Counter(told.found for told in result.alarms if told.way == way)
        each = (1000 * counted[found] / max(result.characters, 1) for found in ("fault", "query"))
        rates.append(" / ".join(f"{rate:.2f}" for rate in each))
    return _row([result.face, result.characters, *_counts(result.plants), *rates])


def _line(told: Told) -> str:
    what = f"{told.kind}: {told.printed!r} for {told.wanted!r}"
    return f"- {told.proof}, {told.way}, {told.found}, {what} ({told.said}) in `{told.context}`"
