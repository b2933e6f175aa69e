"""The collation from readings to differences."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from proofcheck.base.found import Collation, Difference, Placing
from proofcheck.base.kinds import KINDS, Cure, Kind
from proofcheck.base.values import Copy, Line, Reading, Span
from proofcheck.collate.allow import count_spellings
from proofcheck.collate.capitals import asked_once
from proofcheck.collate.causes import with_cause
from proofcheck.collate.divide import division_faults
from proofcheck.collate.folios import Folios
from proofcheck.collate.heads import head_told
from proofcheck.collate.laying import BORNE_OUT, Laying, lay_lines
from proofcheck.collate.makeup import disorder
from proofcheck.collate.paragraphs import paragraph_faults
from proofcheck.collate.same import USUAL, Rules
from proofcheck.collate.setting import Setting
from proofcheck.collate.stray import doubled_lines, foreign_lines
from proofcheck.collate.tell import Teller, Told

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["collate"]


def collate(
    copy: Copy,
    readings: Sequence[Reading],
    *,
    lines: Sequence[Line] = (),
    rules: Rules = USUAL,
    part: bool = False,
    language: str = "en_US",
    hand_set: bool = False,
    framed: frozenset[int] = frozenset(),
) -> Collation:
    """Lay the readings on the copy and tell the differences.

    Args:
        copy: the approved copy.
        readings: one a printed line, in order of the proof; words parted by single spaces.
        lines: the lines' geometry; without it no paragraph is told, nor columns put in order.
        rules: the allowances made.
        part: the proof holds only part of the copy; what lies beyond its ends is no fault.
        language: of the words, for divisions ("eng", "eng+fra", "en_US").
        hand_set: the type is set by hand; decides between likely causes.
        framed: numbers of the lines within a frame or a border, where no folio stands.
    """
    setting = Setting(readings, {line.number: line for line in lines})
    laying = lay_lines(copy, setting, rules, part=part)
    folios = Folios(setting, framed)
    if (agreement := _agreement(laying, folios, rules)) < BORNE_OUT:
        return _of_another_copy(readings, agreement)
    told = Teller(laying.alignment, laying.copy, copy.text, readings, rules).told()
    spans = _spans(laying, told, setting.place)
    told = _within(told, laying, readings) if part else told
    heads = _heads(laying, folios, spans, copy.text) if rules.folio else {}
    waived: Counter[str] = Counter({"folio": len(heads)} if heads else {})
    told += _told_of_heads(heads, spans, (laying, setting, folios), copy, rules)
    told = [one._replace(rule=one.rule or _allowed(one, copy, folios, rules)) for one in told]
    differences = _asked_by_braces([o.difference for o in told if o.rule is None], setting)
    waived.update(one.rule for one in told if one.rule is not None)
    swapped = _swapped(differences, setting)
    differences += _line_faults(laying, folios, spans, rules, waived, copy, heads, swapped)
    differences += division_faults(laying.alignment, laying.copy, setting, rules, language, waived)
    differences += paragraph_faults(laying.alignment, laying.copy, setting, copy, spans)
    _count_allowed(laying, readings, copy, waived)
    differences = _in_order(differences, readings, setting, hand_set=hand_set)
    placings = tuple(Placing(r.line, spans.get(k)) for k, r in enumerate(readings))
    return Collation(placings, tuple(differences), dict(sorted(waived.items())), agreement)


def _of_another_copy(readings: Sequence[Reading], agreement: float) -> Collation:
    none = tuple(Placing(reading.line, None) for reading in readings)
    return Collation(none, (), {}, agreement, mismatch=True)


def _in_order(
    differences: Sequence[Difference],
    readings: Sequence[Reading],
    setting: Setting,
    *,
    hand_set: bool,
) -> list[Difference]:
    """The differences with their likely causes, in order of the proof."""
    texts = {reading.line: reading.text for reading in readings}
    caused = [with_cause(d, texts.get(d.line, ""), hand_set=hand_set) for d in differences]
    return asked_once(sorted(caused, key=lambda d: (setting.place.get(d.line, -1), *_at(d))))


def _count_allowed(
    laying: Laying, readings: Sequence[Reading], copy: Copy, waived: Counter[str]
) -> None:
    """Count what was let pass without being told: letterspacing, and other spellings."""
    if laying.letterspaced:
        waived["letter-space"] += laying.letterspaced
    sources = [readings[k].text for k in laying.sequence]
    count_spellings(laying.alignment, laying.copy, (copy.text, sources), waived)


def _told_of_heads(
    heads: dict[int, int],
    spans: dict[int, Span],
    laid: tuple[Laying, Setting, Folios],
    copy: Copy,
    rules: Rules,
) -> list[Told]:
    """What is wrong in heads come again; each is put to the copy of the line it repeats."""
    laying, setting, folios = laid
    told: list[Told] = []
    for at, first in heads.items():
        if first in spans:
            spans[at] = spans[first]
            found = head_told(at, spans[first], copy.text, laying.lines, setting, rules)
            told += [one for one in found if not folios.is_outer(one.difference)]
    return told


def _heads(laying: Laying, folios: Folios, spans: dict[int, Span], copy: str) -> dict[int, int]:
    """Lines too many that are running heads come again, and the line each repeats."""
    placed = {k: span for k, span in spans.items() if k not in laying.order.doubled}
    found = {
        at: folios.repeats(at, placed, copy)
        for at in sorted((laying.foreign | laying.order.doubled.keys()) - laying.run_down)
    }
    return {at: first for at, first in found.items() if first is not None}


def _allowed(told: Told, copy: Copy, folios: Folios, rules: Rules) -> str | None:
    """Name of the rule that lets a difference pass for what it is or where it stands."""
    difference = told.difference
    in_capitals = difference.proof_text.upper() == difference.proof_text
    if difference.kind is Kind.CASE and in_capitals and rules.small_caps:
        asked = (e.span for e in copy.emphasis if e.style == "small-caps")
        start, end = difference.copy
        return "small-caps" if any(s.start <= start and end <= s.end for s in asked) else None
    if difference.kind is Kind.WORD_EXTRA and rules.folio:
        return "folio" if folios.is_joined(difference) else None
    return None


def _at(difference: Difference) -> tuple[int, int, int]:
    """Order within a line: as it stands; lines missing after it come last."""
    after = KINDS[difference.kind].cure is Cure.PUT_IN
    return difference.proof.start, int(after), difference.copy.start


def _agreement(laying: Laying, folios: Folios, rules: Rules) -> float:
    """Share of what is printed that the copy bears out; folios and run-down lines don't count."""
    sizes = {k: len(line.text.replace(" ", "")) for k, line in enumerate(laying.lines)}
    skip = laying.run_down | {k for k in laying.foreign if rules.folio and folios.is_folio(k)}
    total = sum(size for k, size in sizes.items() if k not in skip)
    shares = laying.alignment.borne_out()
    held = sum(share * sizes[k] for k, share in zip(laying.sequence, shares, strict=True))
    held += sum(sizes[k] for k in laying.order.doubled)
    return min(1.0, held / total) if total else 0.0


def _spans(laying: Laying, told: Sequence[Told], numbers: dict[int, int]) -> dict[int, Span]:
    """Each line's stretch of the copy's own text, with what is missing within it."""
    stream = laying.alignment.stream
    ends: dict[int, list[int]] = {}
    for row, k in enumerate(stream.order):
        held = laying.alignment.held_in(row)
        if len(held):
            ends[k] = [int(laying.copy.start[held.min()]), int(laying.copy.end[held.max()])]
    for one in told:
        span, line = one.difference.copy, numbers.get(one.difference.line)
        if line is not None and span.start < span.end and not _between_lines(one.difference):
            ends.setdefault(line, []).extend(span)
    out = {k: Span(min(at), max(at)) for k, at in ends.items()}
    for second, first in laying.order.doubled.items():
        if first in out:
            out[second] = out[first]
    return out


def _between_lines(difference: Difference) -> bool:
    """Whether what is missing belongs to no printed line."""
    if KINDS[difference.kind].cure is Cure.PUT_IN:
        return True
    # Words of a line that begins with the rest of a divided word.
    words = difference.kind is Kind.WORD_MISSING
    return words and not difference.copy_text.startswith(" ") and difference.proof.start > 0


def _within(told: list[Told], laying: Laying, readings: Sequence[Reading]) -> list[Told]:
    """Without what is missing before the first and after the last printed letter.

    One letter missing at either end is a fault all the same: no word is divided there. Where a
    part begins behind a word's own hyphen, the word's beginning stands on the line above.
    """
    held = laying.alignment.copy_at
    seen = held[held >= 0]
    if not len(seen):
        return told
    text, first, last = laying.copy.text, int(seen.min()), int(seen.max()) + 1
    if first - (text.rfind(" ", 0, first) + 1) == 1:
        first -= 1
    rest = text.find(" ", last)
    if (rest if rest >= 0 else len(text)) - last == 1:
        last += 1
    start, end = int(laying.copy.start[first]), int(laying.copy.end[last - 1])
    told = [one for one in told if not _divided_above(one.difference, readings[0])]
    return [
        one
        for one in told
        if one.difference.proof_text
        or (start <= one.difference.copy.start and one.difference.copy.end <= end)
    ]


def _divided_above(difference: Difference, first: Reading) -> bool:
    """Whether it is but the first part, with its hyphen, of a word that the proof begins within."""
    printed, wanted = difference.proof_text, difference.copy_text
    at_head = difference.line == first.line and difference.proof[0] == 0
    return at_head and bool(printed) and wanted.endswith(f"-{printed}")


def _asked_by_braces(differences: Sequence[Difference], setting: Setting) -> list[Difference]:
    """Words that change places with what stands between two rows, beside a brace, as queries.

    The copy names it in one of the rows, and the sheet in none.
    """
    place = setting.place
    return [
        replace(one, only_query=True)
        if one.kind is Kind.WORDS_TRANSPOSED
        and any(setting.is_between_rows(place[one.line], place[k]) for k in one.other_lines)
        else one
        for one in differences
    ]


def _swapped(differences: Sequence[Difference], setting: Setting) -> frozenset[int]:
    """Lines of a word each that are told to change places already."""
    return frozenset(
        d.line
        for d in differences
        if d.kind is Kind.WORDS_TRANSPOSED
        and d.other_lines
        and d.proof_text == setting.readings[setting.place[d.line]].text
    )


def _line_faults(
    laying: Laying,
    folios: Folios,
    spans: dict[int, Span],
    rules: Rules,
    waived: Counter[str],
    copy: Copy,
    heads: Mapping[int, int],
    swapped: frozenset[int],
) -> list[Difference]:
    """Foreign, run-down, doubled and misplaced lines."""
    setting = folios.setting
    foreign = []
    doubled = {k: first for k, first in laying.order.doubled.items() if k not in heads}
    for k in sorted((laying.foreign | laying.run_down | doubled.keys()) - heads.keys()):
        if rules.folio and k not in laying.run_down and folios.is_folio(k):
            waived["folio"] += 1
            doubled.pop(k, None)
        elif setting.readings[k].text and k not in doubled:
            foreign.append(k)
    gaps = _gaps([*foreign, *doubled], spans)
    out = foreign_lines(foreign, laying.run_down, setting, gaps)
    out += doubled_lines(doubled, setting, gaps)
    placed = [k for k in laying.sequence if k in spans and setting.readings[k].line not in swapped]
    return out + disorder(
        placed, setting, spans, copy.text, waived if rules.reading_order else None
    )


def _gaps(lines: Sequence[int], spans: dict[int, Span]) -> dict[int, int]:
    """Where in the copy each line too many stands: after the line before it that is placed."""
    asked = set(lines)
    out = {}
    end = 0
    for k in range(max(asked, default=-1) + 1):
        if k in asked:
            out[k] = end
        elif k in spans:
            end = spans[k].end
    return out
