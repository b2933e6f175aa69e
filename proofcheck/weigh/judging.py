"""How certain each difference is, and why one is let go."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from proofcheck.base.kinds import Kind
from proofcheck.reading.alphabet import DASHES, NO_LETTER, in_classes
from proofcheck.weigh.beyond import AS_THE_FIRST
from proofcheck.weigh.calibration import features_of
from proofcheck.weigh.fellows import Says
from proofcheck.weigh.quote_ways import QUOTES
from proofcheck.weigh.telling import differing, never_silent

if TYPE_CHECKING:
    from proofcheck.base.found import Difference
    from proofcheck.weigh.beyond import Beyond
    from proofcheck.weigh.calibration import Calibration
    from proofcheck.weigh.evidence import Dispute, Evidence
    from proofcheck.weigh.page_letters import PageLetters
    from proofcheck.weigh.page_says import PageSays
    from proofcheck.weigh.places import Places
    from proofcheck.weigh.word_widths import WordWidths

__all__ = ["QUERY_LINE", "Judge", "Judged"]

QUERY_LINE = 0.02
"""Below this the image bears out the copy: a slip of the reading, counted but not shown."""
RULE_CERTAINTY = 0.95
"""Of a difference that whole lines bear witness to: many letters, all agreeing."""
FOREIGN_CERTAINTY = 0.6
"""A line not in the copy whose letters were read with less than this is a query: it may be an
ornament or a stain."""
_NO_MATTER = DASHES | {NO_LETTER, " "}
"""What ornaments and rules are read as."""
OWN_LETTERS = 0.9
"""Of a difference that the page's own letters plainly bear out."""
OVERLOOKED = 0.3
"""Of what the page's own letters say against reader and copy together."""
MOSTLY = 0.5
"""A missing line of which this share of the letters can't be read may be there all the same."""

BORNE_OUT = "the picture bears out the copy"
PAGE_BEARS_OUT = "the page's own letters bear out the copy"
WIDTH_BEARS_OUT = "the width of the word bears out the copy"
ONE_CHARACTER = "the reader has one character for both"
BELOW_THE_LINE = "it is below the certainty asked for"
"""Reasons for letting a difference go; with `can't be told apart` those that are counted."""


@dataclass(frozen=True, slots=True)
class Judged:
    """A difference with its certainty."""

    at: int
    """Its place in the collation."""
    difference: Difference
    certainty: float
    reason: str = ""
    """Why it is let go; "" where it is not."""
    alike: str = ""
    """The two characters that can't be told apart, where that is the reason."""


@dataclass(frozen=True, slots=True)
class Judge:
    """Judges one difference at a time, in the order of the proof."""

    calibration: Calibration
    places: Places
    page: PageSays | None
    beyond: Beyond
    letters: PageLetters | None = None
    widths: WordWidths | None = None
    paler: frozenset[int] = frozenset()
    """Foreign lines in paler ink than the type's."""
    causes: Counter[str] = field(default_factory=Counter)
    """Letters of the copy that the reader takes for another all over the proof: how many of each.
    Filled as places are judged."""

    def of(
        self, at: int, difference: Difference, dispute: Dispute | None, evidence: Evidence | None
    ) -> Judged:
        """The difference with its certainty; with a reason where it is no fault."""
        if dispute is None or evidence is None:
            return Judged(at, difference, self._by_rule(difference))
        if _was_overlooked(dispute):
            return Judged(at, difference, OVERLOOKED)
        if self.beyond.concerns(difference):
            return Judged(at, difference, *self.beyond.judge(dispute, evidence))
        certainty = self._certainty(dispute, evidence)
        if in_classes(dispute.as_read) == in_classes(dispute.as_copy):
            return Judged(at, difference, certainty, ONE_CHARACTER)
        settled = self._by_letters(at, dispute, certainty)
        if settled is None:
            settled = self._by_width(at, dispute, certainty)
        if settled is None and never_silent(dispute):
            settled = self._told(at, dispute, certainty)
        if settled is None and self._doubted(dispute):
            certainty = max(certainty, QUERY_LINE)
        reason = BORNE_OUT if certainty < QUERY_LINE else ""
        return settled or Judged(at, difference, certainty, reason)

    def _doubted(self, dispute: Dispute) -> bool:
        """Whether the proof's own letters are plainly against the copy, if they settle nothing."""
        return self.letters is not None and self.letters.doubts(dispute)

    def _by_letters(self, at: int, dispute: Dispute, certainty: float) -> Judged | None:
        """What the proof's own letters settle; of many with one cause the first is asked about."""
        says, cause = self.letters.of(dispute) if self.letters else (Says.NOTHING, "")
        difference = dispute.difference
        # What was made of a letter takes in its neighbours: figures about a figure, the space that
        # a capital follows. Where those may speak its ink alone is laid on its fellows as well.
        alone = self.page.of(dispute) if self.page and never_silent(dispute) else Says.NOTHING
        if says is Says.READING and alone not in (Says.COPY, Says.ALIKE):
            return Judged(at, difference, max(certainty, OWN_LETTERS))
        if says is Says.RATHER:
            return Judged(at, difference, max(certainty, OVERLOOKED))
        if says is not Says.COPY or never_silent(dispute):
            return None
        if not cause:
            return Judged(at, difference, min(certainty, QUERY_LINE), PAGE_BEARS_OUT)
        self.causes[cause] += 1
        if self.causes[cause] > 1:
            return Judged(at, difference, min(certainty, QUERY_LINE), AS_THE_FIRST)
        return Judged(at, replace(difference, only_query=True), max(certainty, OVERLOOKED))

    def _by_width(self, at: int, dispute: Dispute, certainty: float) -> Judged | None:
        """A letter too many or too few, by the room its word takes: never let go against that.

        Where the room is the copy's it is asked about at most; a letter that is dropped may have
        been another, so that by this alone none is let go that is not borne out besides.
        """
        says = self.widths.says(dispute) if self.widths else Says.NOTHING
        difference = dispute.difference
        if says is Says.READING:
            return Judged(at, difference, max(certainty, OVERLOOKED))
        if says is not Says.COPY:
            return None
        if certainty >= QUERY_LINE:
            return Judged(at, difference, min(certainty, OVERLOOKED))
        told = (difference.proof_text + difference.copy_text).isalpha()
        return Judged(at, difference, certainty, WIDTH_BEARS_OUT) if told else None

    def _certainty(self, dispute: Dispute, evidence: Evidence) -> float:
        """By the witnesses; the engine, which guesses words, lets no letter go."""
        difference = dispute.difference
        certainty = self.calibration.certainty(features_of(difference, evidence))
        if not _of_letters(difference) or (evidence.second_look or 0.0) >= 0:
            return certainty
        without = features_of(difference, replace(evidence, second_look=None))
        return max(certainty, min(self.calibration.certainty(without), QUERY_LINE))

    def _told(self, at: int, dispute: Dispute, certainty: float) -> Judged:
        """What must not pass in silence: a query at least, but for what the page itself says."""
        difference = dispute.difference
        says = self.page.of(dispute) if self.page else Says.NOTHING
        if says is Says.SEEN:
            return Judged(at, difference, min(certainty, QUERY_LINE / 2), PAGE_BEARS_OUT)
        if says is Says.READING:
            return Judged(at, difference, max(certainty, OWN_LETTERS))
        if certainty >= QUERY_LINE or says is Says.NOTHING or self._doubted(dispute):
            return Judged(at, difference, max(certainty, QUERY_LINE))
        if says is Says.COPY:
            return Judged(at, difference, certainty, PAGE_BEARS_OUT)
        pair = " and ".join(differing(difference.proof_text, difference.copy_text))
        alike = f"{pair} can't be told apart in this face"
        return Judged(at, difference, certainty, alike, alike)

    def _by_rule(self, difference: Difference) -> float:
        """Certainty of what whole lines or a rule of the trade bear witness to."""
        if difference.kind in (Kind.LINE_MISSING, Kind.MATTER_MISSING):
            letters = [char for char in difference.copy_text if not char.isspace()]
            beyond = sum(char in self.beyond.unknown for char in letters)
            unread = beyond > 0 and beyond >= MOSTLY * len(letters)
            return RULE_CERTAINTY / 2 if unread else RULE_CERTAINTY
        reading = self.places.readings.get(difference.line)
        if difference.kind is not Kind.LINE_FOREIGN or reading is None or not reading.letters:
            return RULE_CERTAINTY
        if self._is_ornament(difference) or difference.line in self.paler:
            return RULE_CERTAINTY / 2
        sure = [letter.certainty for letter in reading.letters if not letter.text.isspace()]
        read = sum(sure) / len(sure)
        return RULE_CERTAINTY if read >= FOREIGN_CERTAINTY else RULE_CERTAINTY * read / 2

    def _is_ornament(self, difference: Difference) -> bool:
        """Whether foreign lines are all ornament or rule: copy lists none; a person must say."""
        lines = (difference.line, *difference.other_lines)
        readings = [self.places.readings.get(line) for line in lines]
        return all(held is not None and set(held.text) <= _NO_MATTER for held in readings)


def _was_overlooked(dispute: Dispute) -> bool:
    """Whether reading and copy agree there, and the page says otherwise."""
    difference = dispute.difference
    start, end = difference.proof
    as_told = dispute.as_read[start:end] == difference.proof_text
    return not as_told and dispute.as_read == dispute.as_copy.translate(QUOTES)


def _of_letters(difference: Difference) -> bool:
    """Whether it is letters for letters, nothing else."""
    read, wanted = differing(difference.proof_text, difference.copy_text)
    return bool(read and wanted) and (read + wanted).isalpha()
