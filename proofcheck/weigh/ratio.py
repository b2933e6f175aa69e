"""The letter reader as a witness: how much likelier the line is as read than as the copy has it."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from proofcheck.reading.letter_reader import LetterReader, log_likelihood_ratio

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Line, Sheet
    from proofcheck.reading import Reader
    from proofcheck.weigh.evidence import Dispute

__all__ = ["RatioWitness", "ratio_witness"]


class RatioWitness:
    """Scores the two readings of each line in dispute against each other.

    The evidence of a whole proof would fill the memory: past its first sheets that of the lines
    in dispute is made again, ten milliseconds a line.
    """

    def __init__(self, reader: LetterReader) -> None:
        self._reader = reader

    def testify(self, disputes: Sequence[Dispute]) -> list[float | None]:
        """Log-likelihood ratio in nats for each dispute; positive bears out the reading."""
        lines: dict[int, dict[int, Line]] = defaultdict(dict)
        sheets: dict[int, Sheet] = {}
        for dispute in disputes:
            lines[dispute.sheet.number][dispute.line.number] = dispute.line
            sheets[dispute.sheet.number] = dispute.sheet
        evidence = {
            held.line: held
            for number, at in lines.items()
            for held in self._reader.evidence_again(sheets[number], list(at.values()))
        }
        return [
            log_likelihood_ratio(evidence[d.line.number], d.as_read, d.as_copy) for d in disputes
        ]


def ratio_witness(reader: Reader) -> RatioWitness | None:
    """The witness that gives likelihood ratios, where the reader can be one."""
    return RatioWitness(reader) if isinstance(reader, LetterReader) else None
