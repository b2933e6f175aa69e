"""The whole job on one screen: from scans and copy to a report."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.base.options import Options
from proofcheck.base.threads import one_blas_thread
from proofcheck.marks import AMERICAN
from proofcheck.stages import (
    begin,
    lay_on_copy,
    leave,
    look,
    mark,
    plan,
    put_in_order,
    read,
    report,
    weigh_up,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from proofcheck.base.values import Copy
    from proofcheck.marks import SetOfMarks
    from proofcheck.results.report import Report
    from proofcheck.stages import Proof, Work

__all__ = ["check_proof"]


def check_proof(
    scans: Sequence[Path | str] | Path | str,
    copy: Copy | Path | str,
    *,
    options: Options | None = None,
    marks: SetOfMarks = AMERICAN,
    tell: Callable[[str], None] | None = None,
) -> Report:
    """Read a pulled proof letter by letter against the approved copy.

    Args:
        scans: pictures of the proof, in order; several make one proof.
        copy: the approved copy: a file, "-" for standard input, or loaded already.
        options: the shop's choices; the usual ones if not given.
        marks: the practice whose marks are put.
        tell: called with a few words on what is under way, for a display of progress.

    Returns:
        The report; its `faults` are in the order of the proof.

    Raises:
        ScanError: a scan can't be opened (SheetUnfitError: no proof can be judged from it).
        CopyError: the copy can't be loaded.
        EngineError: the OCR engine, or its language, is missing.
        WeightsError: the letter reader's weights are missing or damaged.
        SettingError: an option can't be used.
    """
    options, tell = options or Options(), tell or _silent
    paths = [Path(scans)] if isinstance(scans, str | Path) else [Path(scan) for scan in scans]
    with one_blas_thread():
        work, proof = begin(copy, options, marks, tell)
        return report(_through(read(proof, work, paths), work), work)


def _through(proof: Proof, work: Work) -> Proof:
    """A proof as read, through all stages after that."""
    options, tell = work.options, work.tell
    tell("laying the lines on the copy")
    proof = put_in_order(proof, work)
    proof = lay_on_copy(proof, work)
    tell("weighing the differences")
    proof = weigh_up(proof, work)
    if options.type_too:
        tell("looking at the type")
        proof = look(proof, work)
    proof = mark(leave(proof, work), work)
    if options.recast:
        tell("planning what to recast")
        proof = plan(proof, work)
    return proof


def _silent(_: str) -> None:
    """Tell nobody."""
