"""What a printed line is called to people: of several sheets by sheet and line, as in "2·14".

Lines are numbered through all sheets of a proof, and records and programs keep to that; but who
holds one sheet in the hand counts down from its own head.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from proofcheck.base.found import Fault
    from proofcheck.base.values import Line
    from proofcheck.results.report import Report

__all__ = ["PLAIN", "LineNames", "line_names", "names_in", "with_named_lines"]

_NUMBERS: Final = r"[0-9]+(?![0-9·])(?:(?:, | and | to )[0-9]+(?![0-9·]))*"
_SAID: Final = re.compile(rf"(?i:\blines?) {_NUMBERS}(?! of the copy)")
"""Lines as instructions and notes name them: "line 4", "lines 4, 7 and 9", "lines 4 to 9"."""


@dataclass(frozen=True)
class LineNames:
    """The names of the lines of one proof; of one sheet they are the numbers themselves."""

    by_number: Mapping[int, str] = field(default_factory=dict)

    def name(self, number: int) -> str:
        """What to call the line of that number."""
        return self.by_number.get(number, str(number))

    def words(self, text: str) -> str:
        """Words with the lines in them named; what stands between quotes is the proof's matter."""
        if not self.by_number:
            return text
        parts = re.split("([“”])", text)
        depth, out = 0, []
        for part in parts:
            out.append(part if depth else _SAID.sub(self._named, part))
            depth += {"“": 1, "”": -1}.get(part, 0)
        if depth == 0:
            return "".join(out)
        # Quotes within the matter that don't pair: all from the first to the last is left alone.
        quotes = [at for at, char in enumerate(text) if char in "“”"]
        first, last = quotes[0], quotes[-1] + 1
        head, tail = (_SAID.sub(self._named, one) for one in (text[:first], text[last:]))
        return head + text[first:last] + tail

    def _named(self, said: re.Match[str]) -> str:
        return re.sub("[0-9]+", lambda number: self.name(int(number[0])), said[0])

    def fault(self, fault: Fault) -> Fault:
        """A fault whose mark names lines so."""
        if not self.by_number or _SAID.search(f"{fault.copy_text}\n{fault.proof_text}"):
            return fault
        mark = fault.mark
        words, margin = self.words(mark.words), self.words(mark.margin)
        # Matter is the copy's, but for lines that are moved: then the margin says it too.
        matter = self.words(mark.matter) if mark.matter in mark.margin else mark.matter
        return replace(fault, mark=replace(mark, words=words, margin=margin, matter=matter))


PLAIN: Final = LineNames()
"""Of one sheet: every line is called by its number."""


def names_in(lines: Iterable[Line], sheets: int) -> LineNames:
    """The names of the lines of a proof.

    Args:
        lines: all of them, in order.
        sheets: how many sheets the proof has.
    """
    if sheets < 2:
        return PLAIN
    counted: dict[int, int] = {}
    named: dict[int, str] = {}
    for line in lines:
        counted[line.sheet] = counted.get(line.sheet, 0) + 1
        named[line.number] = f"{line.sheet + 1}·{counted[line.sheet]}"
    return LineNames(named)


def line_names(report: Report) -> LineNames:
    """The names of the lines of a report's proof."""
    return names_in(report.lines, len(report.sheets))


def with_named_lines(report: Report) -> tuple[Report, LineNames]:
    """A report whose words name lines as people do; its numbers stay. And the names."""
    names = line_names(report)
    if not names.by_number:
        return report, names
    unread = (replace(one, words=names.words(one.words)) for one in report.unread)
    named = replace(
        report,
        faults=tuple(names.fault(one) for one in report.faults),
        warnings=tuple(names.words(one) for one in report.warnings),
        unread=tuple(unread),
    )
    return named, names
