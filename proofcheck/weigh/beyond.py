"""Letters of the copy that the reader has no character for.

The reading can't bear them out, and the scores of the reader say nothing of them. What can be
known is judged: a letter that looks just as the page's own plain r, where the copy has ř, is an r.
Anything else is a question to a person, once for a word or a run of words; and once only for
letters that look the same and stand for the same letter of the copy.

So is a capital read without the accent that the copy has over it: where capitals are tall beside
the small letters, the accent stands above what the reader is shown of a line.
"""

from __future__ import annotations

import unicodedata
from collections import defaultdict
from functools import lru_cache
from typing import TYPE_CHECKING

from proofcheck.base.values import Box
from proofcheck.sheet.ink import line_ink
from proofcheck.sheet.pieces import ink_mask
from proofcheck.weigh.fellows import AS_USUAL, PLAINLY_NEARER
from proofcheck.weigh.unlikeness import nearest

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from proofcheck.base.found import Difference
    from proofcheck.weigh.crowns import Crowns
    from proofcheck.weigh.evidence import Dispute, Evidence
    from proofcheck.weigh.fellows import Fellows, Patch

__all__ = ["AS_THE_FIRST", "SECOND_READER", "Beyond", "base_of"]

PLAIN, UNKNOWN = 0.9, 0.1
"""Certainty of a letter that looks just as another of the page's own, and of one that nothing is
known of."""
SHARPEST = 0.04
"""Letters more unlike among themselves than this are printed or scanned too badly to tell whether
one of them wants its accent."""
AS_THE_FIRST = "it looks as the same letter does at the place that is put as a query"
SECOND_READER = "the second reader knows the letter and has it as the copy has"
SEEN_ABOVE = "its accent is seen above the line"


_ACCENT, _LEAST_ACCENT = 0.7, 0.02
"""How far over a capital its accent reaches, and the least ink of one, in x-heights."""
_OVER = 230
"""Unicode's class of the marks that stand above a letter."""


@lru_cache(maxsize=1024)
def base_of(char: str) -> str:
    """The plain letter in an accented or crossed one, in lower case; itself if there is none."""
    plain = unicodedata.normalize("NFD", char)[:1]
    name = unicodedata.name(plain, "")
    if " WITH " in name:
        try:
            plain = unicodedata.lookup(name.split(" WITH ")[0])
        except KeyError:
            return char.casefold()
    return {"ı": "i", "ȷ": "j"}.get(plain, plain).casefold()


class Beyond:
    """Judges the places where the copy has a letter that the reader hasn't.

    Args:
        unknown: those letters.
        fellows: the page's own letters, if they can be had.
        crowns: looks once more at capitals with ink over them, if it can be had.
    """

    def __init__(
        self,
        unknown: Collection[str] = (),
        fellows: Fellows | None = None,
        crowns: Crowns | None = None,
    ) -> None:
        self.unknown = frozenset(unknown)
        self.fellows = fellows
        self._crowns = crowns
        self._seen: dict[str, list[Patch]] = defaultdict(list)

    def concerns(self, difference: Difference) -> bool:
        """Whether the copy has a letter there that the reader hasn't, or hasn't seen whole."""
        read, wanted = difference.proof_text, difference.copy_text
        if not self.unknown.isdisjoint(wanted):
            return True
        pairs = [(r, w) for r, w in zip(read, wanted, strict=False) if r != w]
        return len(read) == len(wanted) and bool(pairs) and all(_topped(r, w) for r, w in pairs)

    def judge(self, dispute: Dispute, evidence: Evidence) -> tuple[float, str]:
        """Certainty that it is a fault; and, where it is none, why not ("" else)."""
        difference = dispute.difference
        start, end = difference.proof
        read, wanted = difference.proof_text, difference.copy_text
        if not len(read) == len(wanted) == end - start:
            return UNKNOWN, ""
        letters = dispute.reading.letters[start:end]
        if self._is_crowned_so(dispute):
            return UNKNOWN, SEEN_ABOVE
        boxes = _with_accents(dispute, [letter.box for letter in letters])
        found = [
            (UNKNOWN, "")
            if _topped(r, w) and _is_crowned(dispute, letters[at].box)
            else self._one(dispute.line.number, boxes[at], r, w)
            for at, (r, w) in enumerate(zip(read, wanted, strict=True))
            if r != w
        ]
        certainty = max((certainty for certainty, _ in found), default=UNKNOWN)
        if certainty >= PLAIN:
            return certainty, ""
        if evidence.second_look == -1.0:
            return certainty, SECOND_READER
        known = all(reason for _, reason in found)
        return certainty, found[0][1] if found and known else ""

    def _is_crowned_so(self, dispute: Dispute) -> bool:
        """Whether all that parts reading and copy are accents, and they are seen with more room."""
        told = dispute.difference
        pairs = [(r, w) for r, w in zip(told.proof_text, told.copy_text, strict=True) if r != w]
        topped = all(_topped(r, w) for r, w in pairs)
        return topped and self._crowns is not None and self._crowns.bears_out(dispute)

    def _one(self, line: int, box: Box, read: str, wanted: str) -> tuple[float, str]:
        """One letter read for one that can't be."""
        if self.fellows is None or not (wanted in self.unknown or _topped(read, wanted)):
            return UNKNOWN, ""
        stock = self.fellows.stock(read)
        patch = self.fellows.patch(line, box)
        if stock.usual is None or stock.usual > SHARPEST:
            return UNKNOWN, ""
        from_plain = nearest(patch, stock.patches)
        if stock.holds(from_plain):
            return PLAIN, ""
        if base_of(read) != base_of(wanted):
            return UNKNOWN, ""
        before = self._seen[wanted]
        from_first = nearest(patch, before)
        if from_first <= AS_USUAL * stock.usual and from_first < PLAINLY_NEARER * from_plain:
            return UNKNOWN, AS_THE_FIRST
        before.append(patch)
        return UNKNOWN, ""


def _topped(read: str, wanted: str) -> bool:
    """Whether a capital was read and the copy has the same with an accent over it."""
    parts = unicodedata.normalize("NFD", wanted)
    over = len(parts) > 1 and all(unicodedata.combining(mark) == _OVER for mark in parts[1:])
    return over and wanted.isupper() and read == parts[0]


def _is_crowned(dispute: Dispute, box: Box) -> bool:
    """Whether ink stands over a letter, above what is taken for its line."""
    size = dispute.line.x_height_px
    top = max(round(box.y - _ACCENT * size), 0)
    above = dispute.sheet.image[top : box.y, box.x : box.right]
    return bool(above.size and ink_mask(above).sum() >= _LEAST_ACCENT * size * size)


def _with_accents(dispute: Dispute, boxes: Sequence[Box]) -> list[Box]:
    """Boxes with what stands over and under them: an accent the reader does not know of."""
    found = line_ink(dispute.sheet, dispute.line).pieces
    out = []
    for box in boxes:
        over = (found.middle >= box.x - 1) & (found.middle <= box.right + 1)
        pieces = zip(
            found.x[over], found.y[over], found.width[over], found.height[over], strict=True
        )
        out.append(Box.around([box, *(Box(*map(int, piece)) for piece in pieces)]))
    return out
