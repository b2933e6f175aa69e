"""What all views of the desk share."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from starlette.responses import Response

from proofcheck.base.visible import visible
from proofcheck.desk.drawn_papers import paper
from proofcheck.desk.news import News
from proofcheck.desk.open_proofs import OpenProofs
from proofcheck.desk.proof_queue import ProofQueue
from proofcheck.desk.reading_room import ReadingRoom
from proofcheck.desk.service import ServiceState
from proofcheck.docket.decided import as_decided
from proofcheck.docket.own_marks import stored_report
from proofcheck.docket.signoff import WORDS, how_signed
from proofcheck.results.castlists import report_hand_lists

if TYPE_CHECKING:
    from proofcheck.base.options import Options
    from proofcheck.docket.book import Docket
    from proofcheck.docket.facts import ProofPulled
    from proofcheck.docket.job import Job
    from proofcheck.docket.originals import Original
    from proofcheck.recast.plan import RecastPlan
    from proofcheck.results.castlists import HandLists

__all__ = ["Desk", "make_desk"]

_REMEMBERED = 10_000
_AT_HAND = 5


@dataclass(slots=True)
class Desk:
    """What the views share."""

    docket: Docket
    proofs: OpenProofs
    news: News
    room: ReadingRoom
    service: ServiceState
    by: str = ""
    """Initials put in where none are given."""
    saying: threading.Lock = field(default_factory=threading.Lock)
    """Held while something is recorded."""
    _said: OrderedDict[str, str] = field(default_factory=OrderedDict)
    _came_back: OrderedDict[str, Original] = field(default_factory=OrderedDict)
    _hands: OrderedDict[str, tuple[tuple[str, int], HandLists | None, RecastPlan | None]] = field(
        default_factory=OrderedDict
    )

    def said_before(self, name: str) -> bool:
        """Whether this very thing was said already: a page says it again where it heard nothing."""
        return bool(name) and name in self._said

    def note_said(self, name: str, made: str) -> None:
        """It was said, and is on the record; `made` is the name of what came of it."""
        self._said[name] = made
        while len(self._said) > _REMEMBERED:
            self._said.popitem(last=False)

    def named_before(self, name: str) -> str:
        """The name of what came of it."""
        return self._said.get(name, "")

    def keep(self, name: str, sheet: Original) -> None:
        """Keep a marked proof at hand that was shown, till it is recorded; the last few are."""
        self._came_back[name] = sheet
        while len(self._came_back) > _AT_HAND:
            self._came_back.popitem(last=False)

    def come_back(self, name: str) -> Original | None:
        """A marked proof that was shown; None where it is no longer at hand."""
        return self._came_back.get(name)

    def signed_words(self, job: Job) -> list[str]:
        """The customer's words on a job's proofs, a line each: who gave it, and who recorded it."""
        return [
            f"{WORDS[word.words]} of proof {word.proof}, {visible(word.by)}, {how_signed(word)}"
            + (f" (recorded by {visible(word.recorded_by)})" if word.recorded_by else "")
            for word in job.signoffs
        ]

    def hand_lists(
        self, job: Job, proof: ProofPulled
    ) -> tuple[HandLists | None, RecastPlan | None]:
        """What the decisions on a proof come to for machine and stone; kept till one is added."""
        last = max((e.number for e in job.entries if e.kind != "ticked"), default=0)
        key = (proof.report_sha256, last)
        held = self._hands.get(job.number)
        if held is None or held[0] != key:
            report = as_decided(stored_report(self.docket, proof), proof)
            lists = report_hand_lists(report, job.details.get("face", ""), proof.number)
            held = key, lists, report.plan
            self._hands[job.number] = held
            while len(self._hands) > _AT_HAND:
                self._hands.popitem(last=False)
        return held[1], held[2]

    def drawn(self, job: Job, proof: ProofPulled, name: str) -> Response:
        """One of a proof's papers."""
        made, kind, file = paper(self.docket, job, proof, name)
        shown = {"content-disposition": f'inline; filename="{file}"'}
        return Response(made, media_type=kind, headers=shown)


def make_desk(docket: Docket, options: Options, by: str = "") -> Desk:
    """What the desk works with.

    Args:
        docket: the shop's.
        options: how dropped proofs are read.
        by: initials put in where none are given.
    """
    news = News(docket)
    room = ReadingRoom(docket, options, news.wake)
    service = ServiceState(ProofQueue(), options)
    return Desk(docket, OpenProofs(docket), news, room, service, by)
