"""One paragraph put right: which of its lines are cast anew, and with what."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from statistics import median, quantiles
from typing import TYPE_CHECKING

from proofcheck.recast.bands import band_kind
from proofcheck.recast.breaks import Matter, lay_out_breaks, matter_of
from proofcheck.recast.justify import Limits, Shape, limits_of_bands, limits_of_case
from proofcheck.recast.matter import units_of
from proofcheck.recast.runon import run_on
from proofcheck.recast.search import Kept, NewLine, fewest_slugs

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from proofcheck.recast.galley import Galley, StandingLine
    from proofcheck.recast.settings import CastSettings
    from proofcheck.recast.stretch import Damage, OldLine, Paragraph
    from proofcheck.values import Copy, Reading

__all__ = ["Change", "NewSlug", "Resetter"]

_LEADERS = ("....", "……", ". . .")
_LEAST_LINES = 8
"""Full lines from which on the spaces of a proof say what its machine can do."""
_WORDS_SHOWN = 3


@dataclass(frozen=True, slots=True)
class NewSlug:
    """One slug to be cast (or line to be set)."""

    text: str
    """Full matter as it is to be keyed, a division with its hyphen."""
    measure_pt: float
    indent_pt: float
    space_pt: float
    """Width the word spaces come to; 0 where it is not known or the line is not spread."""
    body_pt: float
    number: int = 0
    """From 1 in galley order, to be checked off."""
    divided: bool = False
    spread: bool = True
    """Justified to the measure."""
    thin: bool = False
    """Thin spaces must stand beside the bands."""


@dataclass(frozen=True, slots=True)
class Change:
    """Slugs that go in together in the place of others."""

    lines: tuple[int, ...]
    """Printed lines they replace; none where only matter is put in."""
    after: int
    """Printed line they follow, 0 at the head."""
    slugs: tuple[NewSlug, ...]
    faults: tuple[str, ...]
    """Ids of the faults they cure."""
    first_words: str
    """First words of the first line taken out."""
    last_words: str
    """Last words of the last line taken out."""
    pitch_pt: float = 0.0
    """Depth of one line, body and lead."""

    @property
    def gained(self) -> int:
        """Lines more than before, less than 0 for fewer."""
        return len(self.slugs) - len(self.lines)

    @property
    def depth_pt(self) -> float:
        """Depth by which everything below moves down; less than 0 for up."""
        return self.gained * self.pitch_pt


class Resetter:
    """Puts paragraphs right one after another and keeps count."""

    def __init__(
        self,
        galley: Galley,
        copy: Copy,
        readings: Sequence[Reading],
        damage: Damage,
        settings: CastSettings,
    ) -> None:
        self._galley, self._copy, self._damage, self._settings = galley, copy, damage, settings
        self._texts = {reading.line: reading.text for reading in readings}
        self._changes: list[Change] = []
        self.notes: list[str] = []
        self.run_on_slugs = 0
        self._limits: dict[int, Limits] = {}

    def numbered(self) -> tuple[Change, ...]:
        """The changes in order of the proof, their slugs numbered from 1."""
        number = 0
        out = []
        for change in sorted(self._changes, key=lambda change: (change.after, change.lines)):
            slugs = []
            for slug in change.slugs:
                number += 1
                slugs.append(replace(slug, number=number))
            out.append(replace(change, slugs=tuple(slugs)))
        return tuple(out)

    def put_right(self, paragraph: Paragraph) -> None:
        """Plan one paragraph."""
        standing = [
            line
            for old in paragraph.old
            if (line := self._galley.lines.get(old.number)) is not None
        ]
        if self._line_by_line(paragraph, standing):
            self._alone(paragraph)
        else:
            self._whole(paragraph, standing)

    # ------------------------------------------------------------ lines that stand alone

    def _line_by_line(self, paragraph: Paragraph, standing: Sequence[StandingLine]) -> bool:
        """Heads, tables with leaders, single display lines: no matter goes over from them."""
        source = self._copy.text[paragraph.span.start : paragraph.span.end]
        texts = [self._texts.get(line.number, "") for line in standing]
        if "\t" in source or any(sign in text for text in texts for sign in _LEADERS):
            return True
        return len(paragraph.old) == 1 == len(standing) and not standing[0].full

    def _alone(self, paragraph: Paragraph) -> None:
        after = 0
        for old in paragraph.old:
            if not old.stands and old.number:
                self._cast_alone(paragraph, old)
            after = old.number or after
        if not any(old.number for old in paragraph.old):
            slug = self._plain_slug(paragraph.matter.text, self._near(paragraph))
            self._add(paragraph, [], [slug], (0, len(paragraph.matter.text)))

    def _cast_alone(self, paragraph: Paragraph, old: OldLine) -> None:
        line = self._galley.lines.get(old.number)
        text = _with_leaders(paragraph, old, self._copy, self._texts.get(old.number, ""))
        slug = self._plain_slug(text, line)
        if line is not None:
            widths = self._galley.widths[line.size]
            now, before = (
                sum(widths.of(unit).width_pt for unit in units_of(each) if unit != " ")
                for each in (text, self._texts.get(old.number, ""))
            )
            # Letterspacing and the size of display cancel out of the share.
            length = (line.right_pt - line.left_pt) * now / max(before, 1.0)
            if length > slug.measure_pt * 1.01 and "...." not in text:
                self.notes.append(
                    f"line {old.number} will be about {length:.0f} pt long put right, more than "
                    f"its measure of {slug.measure_pt:.0f} pt: a smaller size, or two lines"
                )
        self.run_on_slugs += 1
        self._add(paragraph, [old], [slug], (old.start, old.next))

    def _plain_slug(self, text: str, line: StandingLine | None) -> NewSlug:
        if line is None:
            return NewSlug(text, 0.0, 0.0, 0.0, 1.0, spread=False)
        measure = self._galley.measures[line.column].length_pt
        body = self._galley.bodies_pt[line.size]
        return NewSlug(text, measure, max(line.indent_pt, 0.0), 0.0, body, spread=False)

    # ------------------------------------------------------------ running matter

    def _whole(self, paragraph: Paragraph, standing: Sequence[StandingLine]) -> None:
        model = standing[0] if standing else self._near(paragraph)
        if model is None:
            self.notes.append(_unplanned(paragraph, "no printed line shows how it is set"))
            return
        size = Counter(line.size for line in standing or [model]).most_common(1)[0][0]
        matter, kept, ends = self._problem(paragraph, size)
        shape = self._shape(paragraph, standing or [model], size)
        limits = self._limits_of(size)
        found = fewest_slugs(matter, shape, limits, kept, ends)
        if found is None:
            limits = limits.with_thin()
            found = fewest_slugs(matter, shape, limits, kept, ends)
        if found is None:
            self.notes.append(
                _unplanned(paragraph, "no setting keeps its spaces within the bands; space by hand")
            )
            return
        simple = run_on(matter, shape, limits, kept)
        self.run_on_slugs += sum(line.kept is None for line in simple)
        frame = _Frame(paragraph, matter, shape, self._galley.bodies_pt[size])
        for run in _runs(found.lines):
            self._cast_run(frame, run)

    def _problem(self, paragraph: Paragraph, size: int) -> tuple[Matter, list[Kept], list[int]]:
        text, widths = paragraph.matter.text, self._galley.widths[size]
        edges = {old.start for old in paragraph.old} | {old.next for old in paragraph.old}
        breaks = lay_out_breaks(
            text,
            self._settings.language,
            also=edges - paragraph.never,
            never=paragraph.never,
        )
        emphasis = [e for e in self._copy.emphasis if e.span.start < paragraph.span.end]

        def style(at: int) -> str:
            place = paragraph.matter.at[at]
            return next((e.style for e in emphasis if e.span.start <= place < e.span.end), "")

        matter = matter_of(
            text,
            breaks,
            lambda unit: widths.of(unit).width_pt,
            styles=style if emphasis else _roman,
        )
        number = {place.next: k for k, place in enumerate(breaks)}
        kept = [
            Kept(number[old.start], number[old.next], old.number)
            for old in paragraph.old
            if old.stands and old.start in number and old.next in number
        ]
        ends = sorted(number[old.next] for old in paragraph.old if old.next in number)
        return matter, kept, ends

    def _shape(self, paragraph: Paragraph, standing: Sequence[StandingLine], size: int) -> Shape:
        measure = median(self._galley.measures[line.column].length_pt for line in standing)
        em = self._galley.bodies_pt[size]
        last = paragraph.old[-1] if paragraph.old else None
        inner = [line for line in standing if last is None or line.number != last.number]
        inner = inner or list(standing)
        justified = sum(line.full for line in inner) * 2 >= len(inner)
        if not justified:
            return Shape(measure, 0.0, 0.0, justified=False)
        first = paragraph.old[0].number if paragraph.old and paragraph.old[0].start == 0 else None
        rest = [line.indent_pt for line in standing if line.number != first and line.full]
        hang = median(rest) if rest else 0.0
        hang = hang if hang > 0.4 * em else 0.0
        own = next((line.indent_pt for line in standing if line.number == first), em)
        return Shape(measure, own if own > 0.4 * em else 0.0, hang)

    def _limits_of(self, size: int) -> Limits:
        if size not in self._limits:
            body = self._galley.bodies_pt[size]
            margin = 2 * self._galley.unsure_pt[size]
            if self._settings.hand_set:
                found = limits_of_case(body, margin_pt=margin)
            else:
                found = limits_of_bands(band_kind(self._settings.bands), body, margin_pt=margin)
            self._limits[size] = self._as_seen(found, size)
        return self._limits[size]

    def _as_seen(self, limits: Limits, size: int) -> Limits:
        """Limits widened to what the proof's own lines show its spaces to come to."""
        spaces = sorted(
            line.space_pt
            for line in self._galley.lines.values()
            if line.size == size and line.full and line.space_pt is not None
        )
        slack = 0.02 * limits.greatest_pt
        low, high = limits.least_pt - slack, limits.greatest_pt + slack
        outside = [space for space in spaces if not low <= space <= high]
        if len(spaces) < _LEAST_LINES or len(outside) * 10 < len(spaces):
            return limits
        cuts = quantiles(spaces, n=20)
        least, greatest = min(limits.least_pt, cuts[0]), max(limits.greatest_pt, cuts[-1])
        kind = "spaces of the case" if self._settings.hand_set else f"{self._settings.bands} bands"
        self.notes.append(
            f"{len(outside)} of {len(spaces)} full lines have spaces that {kind} don't give; "
            f"planned with what the proof shows, {least:.1f} to {greatest:.1f} pt "
            "(check the kind of bands and the resolution of the scan)"
        )
        usual = min(max(limits.usual_pt, least), greatest)
        return replace(limits, least_pt=least, greatest_pt=greatest, usual_pt=usual)

    def _near(self, paragraph: Paragraph) -> StandingLine | None:
        """A printed line beside a paragraph of which nothing is printed."""
        held = self._galley.lines
        beside = held.get(self._follows(paragraph))
        if beside is not None and beside.full:
            return beside
        sizes = Counter(line.size for line in held.values()).most_common(1)
        return next((line for line in held.values() if sizes and line.size == sizes[0][0]), None)

    def _follows(self, paragraph: Paragraph) -> int:
        """The printed line that a paragraph of which nothing is printed follows."""
        places = [at for at in self._damage.after if at <= paragraph.span.end]
        return self._damage.after[max(places)] if places else 0

    def _cast_run(self, frame: _Frame, run: Sequence[NewLine]) -> None:
        breaks = frame.matter.breaks
        start, end = breaks[run[0].upper].next, breaks[run[-1].lower].next
        old = [
            line
            for line in frame.paragraph.old
            if line.number and start <= line.start and line.next <= max(end, line.start)
        ]
        self._add(frame.paragraph, old, [frame.slug(line) for line in run], (start, end))

    # ------------------------------------------------------------ what they come to

    def _add(
        self,
        paragraph: Paragraph,
        old: Sequence[OldLine],
        slugs: list[NewSlug],
        stretch: tuple[int, int],
    ) -> None:
        numbers = tuple(line.number for line in old)
        at = paragraph.matter.at
        low = at[stretch[0]] if stretch[0] < len(at) else paragraph.span.end
        high = at[stretch[1]] if stretch[1] < len(at) else paragraph.span.end
        faults = [fault for line in numbers for fault in self._damage.recast.get(line, ())]
        faults += [
            fault for span, fault in self._damage.wanting if span.start < high and low < span.end
        ]
        before = [line.number for line in paragraph.old if line.number and line.next <= stretch[0]]
        after = before[-1] if before else self._before(paragraph, numbers)
        words = [self._texts.get(n, "").split(" ") for n in (numbers[:1] + numbers[-1:])]
        line = self._galley.lines.get(numbers[0] if numbers else after)
        pitch = self._galley.measures[line.column].pitch_pt if line else 0.0
        self._changes.append(
            Change(
                numbers,
                after,
                tuple(slugs),
                tuple(dict.fromkeys(faults)),
                " ".join(words[0][:_WORDS_SHOWN]) if words else "",
                " ".join(words[-1][-_WORDS_SHOWN:]) if words else "",
                pitch,
            )
        )

    def _before(self, paragraph: Paragraph, numbers: Sequence[int]) -> int:
        """The printed line before a change at the head of its paragraph."""
        if numbers:
            return numbers[0] - 1
        following = [line.number for line in paragraph.old if line.number]
        if following:
            return following[0] - 1
        return self._follows(paragraph)


@dataclass(frozen=True, slots=True)
class _Frame:
    """A paragraph with its room, for making slugs of its new lines."""

    paragraph: Paragraph
    matter: Matter
    shape: Shape
    body_pt: float

    def slug(self, line: NewLine) -> NewSlug:
        shape, fitted = self.shape, line.fitted
        indent = shape.first_indent_pt if line.upper == 0 else shape.indent_pt
        last = line.lower == len(self.matter.breaks) - 1
        return NewSlug(
            self.matter.line(line.upper, line.lower),
            shape.measure_pt,
            indent,
            fitted.space_pt if fitted else 0.0,
            self.body_pt,
            divided=self.matter.breaks[line.lower].hyphen,
            spread=shape.justified and not last,
            thin=bool(fitted and fitted.thin),
        )


def _runs(lines: Sequence[NewLine]) -> Iterator[list[NewLine]]:
    """Stretches of lines cast anew."""
    run: list[NewLine] = []
    for line in lines:
        if line.kept is None:
            run.append(line)
        elif run:
            yield run
            run = []
    if run:
        yield run


def _roman(_: int) -> str:
    return ""


def _with_leaders(paragraph: Paragraph, old: OldLine, copy: Copy, printed: str) -> str:
    """A line's matter, with leaders where the copy has a tab and print has leaders."""
    at = paragraph.matter.at
    start = at[old.start]
    end = at[old.next] if old.next < len(at) else paragraph.span.end
    source = copy.text[start:end]
    text = paragraph.matter.text[old.start : old.next].strip()
    if "\t" not in source or not any(sign in printed for sign in _LEADERS):
        return text
    split = paragraph.matter.index(start + source.index("\t")) - old.start
    whole = paragraph.matter.text[old.start : old.next]
    return f"{whole[:split].strip()} ..... {whole[split:].strip()}"


def _unplanned(paragraph: Paragraph, why: str) -> str:
    lines = [old.number for old in paragraph.old if old.number]
    place = f"lines {lines[0]} to {lines[-1]}" if lines else "a paragraph that is not printed"
    return f"no plan for {place}: {why}"
