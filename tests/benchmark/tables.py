"""What came of a run, as a Markdown table for people and as JSON."""

from __future__ import annotations

import dataclasses
from collections import Counter, defaultdict
from statistics import median
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from .cost import Cost
    from .running import PageResult
    from .score import Outcome

__all__ = ["as_json", "as_markdown"]

_WAYS = {
    "copy": "planted in the copy",
    "image": "planted in the image",
    "lines": "lines moved in the image",
}


def as_markdown(results: Sequence[PageResult], costs: dict[str, Cost], heading: str) -> str:
    """The whole report of a run."""
    characters = sum(result.characters for result in results)
    parts = [
        f"# {heading}",
        f"{len(results)} pages, {characters:,} characters.",
        *_refused(results),
        "## Planted faults",
        _planted(results),
        "“By chance”: places where the page as printed has an alarm as well.",
        "## Planted faults by book",
        _planted_by_book(results),
        "## Pages as printed",
        "Reported per 1,000 characters, true differences listed by name left out.",
        _alarms(results),
        _alarms_by_kind(results),
        "## Time and memory",
        _costs(results, costs),
    ]
    return "\n\n".join(parts) + "\n"


def as_json(results: Sequence[PageResult], costs: dict[str, Cost], heading: str) -> dict[str, Any]:
    """Everything, plant by plant and alarm by alarm."""
    return {
        "heading": heading,
        "pages": [dataclasses.asdict(result) for result in results],
        "costs": {page: dataclasses.asdict(cost) for page, cost in costs.items()},
    }


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(cells) + " |" for cells in lines)


def _share(part: int, whole: int) -> str:
    return f"{100 * part / whole:.1f} %" if whole else "–"


def _row(name: str, held: Sequence[Outcome]) -> list[str]:
    seen = Counter(outcome.found for outcome in held)
    found = seen["fault"] + seen["query"]
    named = sum(outcome.named_rightly for outcome in held)
    return [
        name,
        str(len(held)),
        str(seen["fault"]),
        str(seen["query"]),
        str(seen["missed"]),
        _share(found, len(held)),
        _share(named, found),
        str(sum(outcome.by_chance for outcome in held)),
    ]


_HEAD = ("", "planted", "as fault", "as query", "missed", "found", "named rightly", "by chance")


def _planted(results: Sequence[PageResult]) -> str:
    by_kind: dict[tuple[str, str], list[Outcome]] = defaultdict(list)
    for result in results:
        for outcome in result.outcomes:
            by_kind[outcome.way, outcome.name].append(outcome)
    rows = []
    for way, title in _WAYS.items():
        held = [o for (its, _), outcomes in by_kind.items() if its == way for o in outcomes]
        if held:
            rows.append(_row(f"**{title}**", held))
            rows += [_row(n, by_kind[w, n]) for w, n in sorted(by_kind) if w == way]
    return _table(_HEAD, rows)


def _planted_by_book(results: Sequence[PageResult]) -> str:
    by_book: dict[tuple[str, str], list[Outcome]] = defaultdict(list)
    for result in results:
        for outcome in result.outcomes:
            by_book[outcome.book, outcome.way].append(outcome)
    return _table(_HEAD, [_row(f"{b}, {_WAYS[w]}", by_book[b, w]) for b, w in sorted(by_book)])


def _alarms(results: Sequence[PageResult]) -> str:
    rows = []
    for book in [*sorted({result.book for result in results}), ""]:
        held = [result for result in results if book in {"", result.book}]
        read = sum(result.characters for result in held if not _was_refused(result))
        alarms = [alarm for result in held for alarm in result.alarms]
        false = Counter(alarm.status for alarm in alarms if not alarm.listed)
        true = sum(bool(alarm.listed) for alarm in alarms)
        rates = [
            f"{1000 * false[status] / read:.2f}" if read else "–" for status in ("fault", "query")
        ]
        cells = [str(len(held)), f"{read:,}", str(false["fault"]), rates[0]]
        rows.append([book or "**all**", *cells, str(false["query"]), rates[1], str(true)])
    head = ("book", "pages", "characters", "faults", "per 1,000", "queries", "per 1,000", "listed")
    return _table(head, rows)


def _alarms_by_kind(results: Sequence[PageResult]) -> str:
    """What the false alarms are of, the commonest first."""
    false = [a for result in results for a in result.alarms if not a.listed]
    counts = Counter((alarm.kind, alarm.status) for alarm in false)
    kinds = sorted({alarm.kind for alarm in false}, key=lambda k: -counts[k, "fault"])
    rows = [[kind, str(counts[kind, "fault"]), str(counts[kind, "query"])] for kind in kinds]
    return _table(("false alarms of", "faults", "queries"), rows)


def _was_refused(result: PageResult) -> bool:
    return any(reason.startswith("printed:") for reason in result.refused)


def _refused(results: Sequence[PageResult]) -> list[str]:
    refused = [f"- {result.page} {reason}" for result in results for reason in result.refused]
    return ["Refused:\n" + "\n".join(refused)] if refused else []


def _costs(results: Sequence[PageResult], costs: dict[str, Cost]) -> str:
    rows = [
        [
            page,
            f"{cost.seconds:.1f}",
            f"{cost.engine_seconds:.1f}",
            f"{cost.seconds / cost.engine_seconds:.2f}",
            f"{cost.start_seconds:.1f}",
            f"{cost.peak_mb:.0f}",
            f"{cost.engine_mb:.0f}",
        ]
        for page, cost in sorted(costs.items())
    ]
    if costs:
        ratio = median(cost.seconds / cost.engine_seconds for cost in costs.values())
        rows.append(["**median**", "", "", f"{ratio:.2f}", "", "", ""])
    head = ("page", "s", "engine alone, s", "ratio", "start, s", "peak MB", "engine's peak MB")
    table = _table(head, rows) if rows else "Not measured apart."
    seconds = [result.seconds for result in results if result.seconds]
    note = f"\n\nMedian time a page in this run: {median(seconds):.1f} s." if seconds else ""
    return table + note
