"""The stages of a proof: each takes the proof so far and returns it with its own part added."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from proofcheck.base.values import Copy
from proofcheck.collate import collate
from proofcheck.collate.arranging import arrange, with_reordered
from proofcheck.collate.lacking import lacking
from proofcheck.collate.own_lines import OWN_LINE, own_lines_on
from proofcheck.collate.part_held import part_notes
from proofcheck.collate.same import Rules
from proofcheck.collate.several_up import collate_tickets
from proofcheck.collate.sheets_apart import set_apart, with_all_placed, without_sheets
from proofcheck.copytext import load_copy
from proofcheck.faults import (
    leave_initials,
    leave_shadowed,
    leave_unfollowed,
    make_faults,
    merge_metal,
)
from proofcheck.metal import MetalSettings, look_at_type
from proofcheck.reading.picture import Legibility, read_page
from proofcheck.reading.readers import characters_of, open_reader
from proofcheck.recast.from_options import cast_settings
from proofcheck.recast.plan import plan_recast
from proofcheck.results.program_hash import made_with
from proofcheck.results.report import Report, verdict_of, wholly_read
from proofcheck.sheet.frames import framed_lines
from proofcheck.sheet.given_lines import refuse_left_over
from proofcheck.sheet.scans import one_each, open_scans
from proofcheck.sheet.shelf import shelve
from proofcheck.so_far import Proof, Work
from proofcheck.weigh import Thresholds, weigh
from proofcheck.weigh.bits_of_cuts import bits_of_cuts
from proofcheck.weigh.calibration import load_calibration
from proofcheck.weigh.calling import witnesses_of
from proofcheck.weigh.overlooked import with_overlooked
from proofcheck.weigh.sideways_words import claimed_by_sideways

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from proofcheck.base.options import Options
    from proofcheck.marks import SetOfMarks

__all__ = [
    "Proof",
    "Work",
    "begin",
    "lay_on_copy",
    "look",
    "mark",
    "plan",
    "put_in_order",
    "read",
    "report",
    "weigh_up",
]


def begin(
    copy: Copy | Path | str, options: Options, marks: SetOfMarks, tell: Callable[[str], None]
) -> tuple[Work, Proof]:
    """Load the copy and open the reader; errors as of `check_proof`."""
    rules = Rules().without(*options.enforced).along_with(*options.allowed)
    approved = copy if isinstance(copy, Copy) else load_copy(copy, encoding=options.encoding)
    casting = cast_settings(options)
    reader = open_reader(options)
    lacks = lacking(approved.text, characters_of(reader), rules)
    for note in lacks.notes:
        tell(note)
    return Work(options, rules, reader, lacks, casting, marks, tell), Proof(approved)


def read(proof: Proof, work: Work, scans: Sequence[Path]) -> Proof:
    """Every picture made clean, its lines found and read."""
    legibility = Legibility(proof.copy.text)
    for number, picture in enumerate(open_scans(scans)):
        of = f" of {len(scans)}" if one_each(scans) else ""
        work.tell(f"reading sheet {number + 1}{of}")
        asked = work.reader, work.options, legibility, proof.copy.text
        page = read_page(picture, number, len(proof.lines) + 1, *asked)
        proof = replace(
            proof,
            sheets=(*proof.sheets, shelve(page.sheet)),
            lines=(*proof.lines, *page.lines),
            readings=(*proof.readings, *page.readings),
            unread=(*proof.unread, *page.unread),
            warnings=(*proof.warnings, *page.warnings),
        )
    refuse_left_over(work.options.lines, len(proof.sheets))
    return proof


def put_in_order(proof: Proof, work: Work) -> Proof:
    """The lines in the order that lays best on the copy, by ticket; sheets of no part left out."""
    up, part = work.options.up, work.options.part
    found = arrange(proof.copy, proof.lines, proof.readings, work.rules, up=up, part=part)
    proof = replace(
        proof,
        copy=found.gang.copy if found.gang else proof.copy,
        lines=found.lines,
        readings=found.readings,
        gang=found.gang,
        reordered=found.reordered,
        warnings=(*proof.warnings, *found.notes),
    )
    if found.gang:
        return proof
    apart = set_apart(proof.copy, found.lines, found.readings, work.rules, part=part)
    return replace(
        proof,
        readings=apart.readings,
        left_out=apart.left_out,
        unread=(*proof.unread, *apart.unread),
        warnings=(*proof.warnings, *apart.notes),
    )


def lay_on_copy(proof: Proof, work: Work) -> Proof:
    """The lines laid on the copy, and every difference told."""
    options = work.options
    if proof.gang:
        laid = collate_tickets(
            proof.gang,
            proof.readings,
            proof.lines,
            work.rules,
            language=options.language,
            hand_set=options.hand_set,
        )
        return replace(proof, collation=laid)
    lines, readings = without_sheets(proof.lines, proof.readings, proof.left_out)
    own = own_lines_on(lines, readings, options.own_lines, proof.copy.text)
    lines = [line for line in lines if line.number not in own]
    readings = [reading for reading in readings if reading.line not in own]
    collation = collate(
        proof.copy,
        readings,
        lines=lines,
        rules=work.rules,
        part=options.part,
        language=options.language,
        hand_set=options.hand_set,
        framed=framed_lines(proof.sheets, proof.lines),
    )
    if own:
        waived = {**collation.waived, OWN_LINE: len(own)}
        collation = replace(collation, waived=dict(sorted(waived.items())))
    collation = with_reordered(with_all_placed(collation, proof.readings), proof.reordered)
    asked = options.part or proof.unread  # What was not read may be the rest.
    notes = () if asked else part_notes(proof.copy, collation)
    return replace(proof, collation=collation, warnings=(*proof.warnings, *notes))


def weigh_up(proof: Proof, work: Work) -> Proof:
    """Each difference: a fault, a query, or a slip of the reading let go."""
    options = work.options
    asked = proof.sheets, proof.lines, proof.readings, proof.collation.differences
    witnesses, notes = witnesses_of(work.reader, asked, work.lacks.characters, options)
    seen = proof.lines, proof.readings, proof.copy
    collation = with_overlooked(proof.collation, *seen, witnesses.page, witnesses.letters)
    weighed = weigh(
        collation,
        proof.sheets,
        proof.lines,
        proof.readings,
        witnesses,
        load_calibration(work.reader.name),
        called=Thresholds(options.fault_certainty, options.query_certainty),
    )
    notes = (*work.lacks.notes, *notes, *weighed.notes)
    # Where the sheet is judged as it is, parts not read hold up no verdict: nothing is let go.
    unread = () if options.unfit else proof.unread
    apart = bits_of_cuts(weighed.found, proof.sheets, proof.lines, proof.readings)
    claimed = claimed_by_sideways(apart.found, unread, proof.sheets, proof.copy)
    return replace(
        proof,
        collation=collation,
        found=claimed.found,
        let_go=(*weighed.let_go, *apart.let_go, *claimed.let_go),
        unread=claimed.unread or proof.unread,
        warnings=(*proof.warnings, *notes),
    )


def look(proof: Proof, work: Work) -> Proof:
    """The faults of the type itself joined to those of the text; notes on the sheet's look."""
    options = work.options
    seen = look_at_type(
        proof.sheets,
        proof.lines,
        proof.readings,
        proof.collation,
        proof.copy,
        settings=MetalSettings(
            hand_set=options.hand_set, comparer=options.type_weights, faces=options.faces
        ),
    )
    found = merge_metal(
        proof.found,
        seen.findings,
        proof.readings,
        proof.collation,
        proof.copy,
        fault_certainty=options.fault_certainty,
        query_certainty=options.query_certainty,
        hand_set=options.hand_set,
    )
    kept = tuple(one for one in found if one.sheet not in proof.left_out)
    return replace(proof, found=kept, warnings=(*proof.warnings, *seen.notes))


def leave(proof: Proof, work: Work) -> Proof:
    """Nothing alleged of lines that could not be followed, named as not read, nor in a shadow."""
    # Where the sheet is judged as it is, parts not read hold up no verdict: nothing is let go.
    if work.options.unfit:
        return proof
    for taken_back in (leave_shadowed, leave_initials):
        left = taken_back(proof.found, proof.unread, proof.lines)
        let_go = (*proof.let_go, *left.let_go)
        proof = replace(proof, found=left.found, let_go=let_go, unread=left.unread)
    if proof.gang:
        return proof
    seen = proof.sheets, proof.lines, proof.readings, proof.collation, proof.copy
    followed = leave_unfollowed(proof.found, *seen)
    return replace(
        proof,
        found=followed.found,
        let_go=(*proof.let_go, *followed.let_go),
        unread=(*proof.unread, *followed.unread),
    )


def mark(proof: Proof, work: Work) -> Proof:
    """Faults made of what was found, each with its mark."""
    faults = make_faults(proof.found, work.marks, hand_set=work.options.hand_set)
    return replace(proof, faults=faults)


def plan(proof: Proof, work: Work) -> Proof:
    """Which slugs to recast."""
    planned = plan_recast(
        proof.lines,
        proof.readings,
        proof.copy,
        proof.collation,
        proof.faults,
        dpi={sheet.number: sheet.dpi for sheet in proof.sheets},
        settings=work.casting,
    )
    return replace(proof, plan=planned)


def carry_home(proof: Proof) -> Proof:
    """What was found on several tickets, in the places of the copy as it was given."""
    gang, collation = proof.gang, proof.collation
    if gang is None:
        return proof
    placings = (replace(p, copy=gang.home(p.copy) if p.copy else None) for p in collation.placings)
    differences = (replace(d, copy=gang.home(d.copy)) for d in collation.differences)
    return replace(
        proof,
        copy=gang.given,
        collation=replace(collation, placings=tuple(placings), differences=tuple(differences)),
        faults=tuple(replace(fault, copy=gang.home(fault.copy)) for fault in proof.faults),
        let_go=tuple(replace(each, copy=gang.home(each.copy)) for each in proof.let_go),
    )


def report(proof: Proof, work: Work) -> Report:
    """All of it as the report."""
    options, proof = work.options, carry_home(proof)
    return Report(
        verdict=verdict_of(
            proof.faults,
            mismatch=proof.collation.mismatch,
            wholly_read=wholly_read(proof.unread, unfit=options.unfit),
        ),
        sheets=proof.sheets,
        copy=proof.copy,
        lines=proof.lines,
        readings=proof.readings,
        collation=proof.collation,
        faults=proof.faults,
        provenance=made_with(work.reader, options),
        recast=proof.plan.recasts() if proof.plan else (),
        plan=proof.plan,
        warnings=proof.warnings,
        let_go=proof.let_go,
        unread=proof.unread,
    )
