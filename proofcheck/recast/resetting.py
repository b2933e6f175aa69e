"""One paragraph put right: which of its lines are cast anew, and with what."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from proofcheck.recast.breaks import Matter, lay_out_breaks, matter_of
from proofcheck.recast.change import Change, Frame, NewSlug
from proofcheck.recast.keyed import units_of
from proofcheck.recast.room import LEADERS, limits_on, shape_of, with_leaders
from proofcheck.recast.runon import run_on
from proofcheck.recast.search import Kept, NewLine, fewest_slugs
from proofcheck.recast.stretch import OldLine
from proofcheck.recast.wording_query import shorter_wording

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from proofcheck.base.values import Copy, Reading
    from proofcheck.recast.galley import Galley, StandingLine
    from proofcheck.recast.justify import Limits
    from proofcheck.recast.settings import CastSettings
    from proofcheck.recast.stretch import Damage, Paragraph

__all__ = ["Resetter"]

_WORDS_SHOWN = 3
_MANY_SLUGS = 3


MOST_MATTER = 12_000
"""Characters of the longest paragraph that is planned; a long one of a novel has 4,000."""


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
        self.queries: list[str] = []
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
        if "\t" in source or any(sign in text for text in texts for sign in LEADERS):
            return True
        return len(paragraph.old) == 1 == len(standing) and not standing[0].full

    def _alone(self, paragraph: Paragraph) -> None:
        after = 0
        for old in paragraph.old:
            if not old.stands and old.number:
                self._cast_alone(paragraph, old)
            after = old.number or after
        if not any(old.number for old in paragraph.old):
            whole = OldLine(0, 0, len(paragraph.matter.text), stands=False)
            # Nothing of it is printed: the rows beside it show whether leaders are used.
            like = next((t for t in self._texts.values() if any(s in t for s in LEADERS)), "")
            text = with_leaders(paragraph, whole, self._copy, like)
            slug = self._plain_slug(text, self._near(paragraph))
            self._add(paragraph, [], [slug], (0, len(paragraph.matter.text)))

    def _cast_alone(self, paragraph: Paragraph, old: OldLine) -> None:
        line = self._galley.lines.get(old.number)
        text = with_leaders(paragraph, old, self._copy, self._texts.get(old.number, ""))
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
        if len(paragraph.matter.text) > MOST_MATTER:
            self.notes.append(_unplanned(paragraph, "it is longer than is planned at one time"))
            return
        size = Counter(line.size for line in standing or [model]).most_common(1)[0][0]
        matter, kept, ends = self._problem(paragraph, size)
        shape = shape_of(paragraph, standing or [model], self._galley, size)
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
        frame = Frame(paragraph, matter, shape, self._galley.bodies_pt[size])
        for run in _runs(found.lines):
            self._cast_run(frame, run)
            if len(run) >= _MANY_SLUGS:
                self.queries += shorter_wording(frame, limits, run)

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

    def _limits_of(self, size: int) -> Limits:
        if size not in self._limits:
            self._limits[size], notes = limits_on(self._galley, size, self._settings)
            self.notes += notes
        return self._limits[size]

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

    def _cast_run(self, frame: Frame, run: Sequence[NewLine]) -> None:
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
        line = self._galley.lines.get(numbers[0] if numbers else max(after, 1))
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


def _unplanned(paragraph: Paragraph, why: str) -> str:
    lines = [old.number for old in paragraph.old if old.number]
    place = f"lines {lines[0]} to {lines[-1]}" if lines else "a paragraph that is not printed"
    return f"no plan for {place}: {why}"
