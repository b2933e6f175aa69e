"""The whole job on one screen: from scans and copy to a report."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.base.errors import EngineError
from proofcheck.base.options import Options
from proofcheck.base.values import Copy
from proofcheck.collate import collate
from proofcheck.collate.lacking import lacking
from proofcheck.collate.same import Rules
from proofcheck.copytext import load_copy
from proofcheck.faults import merge_metal
from proofcheck.metal import MetalSettings, look_at_type
from proofcheck.reading.picture import Legibility, read_page
from proofcheck.reading.readers import characters_of, open_reader, version_of
from proofcheck.recast.from_options import cast_settings
from proofcheck.recast.plan import plan_recast
from proofcheck.results.report import Provenance, Report, verdict_of
from proofcheck.sheet.scans import open_scans
from proofcheck.sheet.shelf import shelve
from proofcheck.weigh import Lines, Witnesses, weigh
from proofcheck.weigh.beyond import Beyond
from proofcheck.weigh.calibration import load_calibration
from proofcheck.weigh.overlooked import with_overlooked
from proofcheck.weigh.own_letters import OwnLetters
from proofcheck.weigh.page_says import PageSays
from proofcheck.weigh.ratio import ratio_witness

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from proofcheck.base.found import Collation, Fault, Unread
    from proofcheck.base.values import Line, Reading, Sheet
    from proofcheck.collate.lacking import Lacking
    from proofcheck.reading import Reader

__all__ = ["check_proof"]


@dataclass(frozen=True, slots=True)
class _Proof:
    """All sheets of a proof as read."""

    sheets: tuple[Sheet, ...]
    lines: tuple[Line, ...]
    readings: tuple[Reading, ...]
    warnings: tuple[str, ...]
    unread: tuple[Unread, ...]


def check_proof(
    scans: Sequence[Path | str] | Path | str,
    copy: Copy | Path | str,
    *,
    options: Options | None = None,
    tell: Callable[[str], None] | None = None,
) -> Report:
    """Read a pulled proof letter by letter against the approved copy.

    Args:
        scans: pictures of the proof, in order; several make one proof.
        copy: the approved copy: a file, "-" for standard input, or loaded already.
        options: the shop's choices; the usual ones if not given.
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
    rules = Rules().without(*options.enforced).along_with(*options.allowed)
    approved = copy if isinstance(copy, Copy) else load_copy(copy, encoding=options.encoding)
    casting = cast_settings(options)
    reader = open_reader(options)
    unknown = lacking(approved.text, characters_of(reader), rules)
    for note in unknown.notes:
        tell(note)
    proof = _read_proof(paths, reader, options, Legibility(approved.text), tell)
    tell("laying the lines on the copy")
    collation = collate(
        approved,
        proof.readings,
        lines=proof.lines,
        rules=rules,
        part=options.part,
        language=options.language,
        hand_set=options.hand_set,
    )
    tell("weighing the differences")
    witnesses, warnings = _witnesses(collation, proof, reader, unknown, options)
    collation = with_overlooked(collation, proof.lines, proof.readings, approved, witnesses.page)
    weighed = weigh(
        collation,
        proof.sheets,
        proof.lines,
        proof.readings,
        witnesses,
        load_calibration(reader.name),
        called=Lines(options.fault_certainty, options.query_certainty),
        hand_set=options.hand_set,
    )
    faults, warnings = weighed.faults, unknown.notes + warnings + weighed.notes
    if options.type_too:
        tell("looking at the type")
        faults, notes = _with_metal(faults, proof, collation, approved, options)
        warnings += notes
    plan = None
    if options.recast:
        tell("planning what to recast")
        plan = plan_recast(
            proof.lines,
            proof.readings,
            approved,
            collation,
            faults,
            dpi={sheet.number: sheet.dpi for sheet in proof.sheets},
            settings=casting,
        )
    return Report(
        verdict=verdict_of(
            faults,
            mismatch=collation.mismatch,
            wholly_read=options.unfit or not proof.unread,
        ),
        sheets=proof.sheets,
        copy=approved,
        lines=proof.lines,
        readings=proof.readings,
        collation=collation,
        faults=faults,
        provenance=Provenance(reader.name, version_of(reader), settings=options.as_settings()),
        recast=plan.recasts() if plan else (),
        plan=plan,
        warnings=proof.warnings + warnings,
        let_go=weighed.let_go,
        unread=proof.unread,
    )


def _read_proof(
    paths: Sequence[Path],
    reader: Reader,
    options: Options,
    legibility: Legibility,
    tell: Callable[[str], None],
) -> _Proof:
    sheets: list[Sheet] = []
    lines: list[Line] = []
    readings: list[Reading] = []
    warnings: list[str] = []
    unread: list[Unread] = []
    for number, picture in enumerate(open_scans(paths)):
        tell(f"reading sheet {number + 1}")
        read = read_page(picture, number, len(lines) + 1, reader, options, legibility)
        sheets.append(shelve(read.sheet))
        lines.extend(read.lines)
        readings.extend(read.readings)
        warnings.extend(read.warnings)
        unread.extend(read.unread)
    return _Proof(tuple(sheets), tuple(lines), tuple(readings), tuple(warnings), tuple(unread))


def _witnesses(
    collation: Collation, proof: _Proof, reader: Reader, unknown: Lacking, options: Options
) -> tuple[Witnesses, tuple[str, ...]]:
    """Those who can speak to what is in dispute, and a word on any that can't be had."""
    from proofcheck.weigh.second_look import SecondLook

    asked = (proof.sheets, proof.lines, proof.readings, collation.differences)
    own, page = OwnLetters(*asked), PageSays(*asked)
    beyond = Beyond(unknown.characters, page.fellows)
    called = Witnesses(ratio_witness(reader), None, own, page, beyond)
    if not options.second_look:
        return called, ()
    try:
        return replace(called, second_look=SecondLook(options.language)), ()
    except EngineError as error:
        return called, (f"read without a second witness: {error}",)


def _with_metal(
    faults: tuple[Fault, ...],
    proof: _Proof,
    collation: Collation,
    copy: Copy,
    options: Options,
) -> tuple[tuple[Fault, ...], tuple[str, ...]]:
    """The faults of the text with those of the type itself; and notes on the sheet's look."""
    seen = look_at_type(
        proof.sheets,
        proof.lines,
        proof.readings,
        collation,
        copy,
        settings=MetalSettings(hand_set=options.hand_set, comparer=options.type_weights),
    )
    merged = merge_metal(
        faults,
        seen.findings,
        proof.readings,
        collation,
        copy,
        fault_certainty=options.fault_certainty,
        query_certainty=options.query_certainty,
        hand_set=options.hand_set,
    )
    return merged, seen.notes


def _silent(_: str) -> None:
    """Tell nobody."""
