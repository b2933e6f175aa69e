"""What the customer may be asked: would he allow another wording where the copy's takes slugs?"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.recast.change import Frame
    from proofcheck.recast.justify import Limits
    from proofcheck.recast.search import NewLine

__all__ = ["shorter_wording"]


def shorter_wording(frame: Frame, limits: Limits, run: Sequence[NewLine]) -> list[str]:
    """What other wording would save, which only the customer can allow: a query, or none."""
    matter = frame.matter
    start, end = matter.breaks[run[0].upper].next, matter.breaks[run[-1].lower].next
    spoilt = [
        old
        for old in frame.paragraph.old
        if not old.stands and start <= old.start and old.next <= end
    ]
    if len(spoilt) != 1:
        return []
    number = {place.next: k for k, place in enumerate(matter.breaks)}
    line = number.get(spoilt[0].start, -1), number.get(spoilt[0].next, -1)
    if min(line) < 0:
        return []
    room = frame.shape.room_pt(first=line[0] == 0)
    over = matter.length_pt(*line) + matter.spaces(*line) * limits.least_pt - room
    letter = matter.letters_pt[-1] / max(len(matter.text), 1)
    if over <= 0:
        return []
    said = (
        f"query to the customer: {len(run)} slugs for line {spoilt[0].number}, which is "
        f"{over:.0f} pt too long; wording about {over / letter + 0.5:.0f} letters shorter "
        "there would take one. The plan keeps to the copy"
    )
    return [said]
