"""The shop's book of faces for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.record_words import counted
from proofcheck.docket.show import table

if TYPE_CHECKING:
    from proofcheck.metal.face import Face
    from proofcheck.metal.face_book import FaceBook

__all__ = ["faces_text"]

_SLANTS = 0.1
"""Lean from which a face is told as slanting: italics lean by 0.1 to 0.3 more than romans."""
_JOBS = 5


def faces_text(book: FaceBook) -> str:
    """A line a face: number, name, body, x-height, letters kept, and of which proofs."""
    if not book.faces:
        return "no face yet: faces are learnt from proofs that have the customer's O.K.\n"
    return "".join(f"{line}\n" for line in table([_row(face) for face in book.faces]))


def _row(face: Face) -> tuple[str, ...]:
    held = face.letters
    jobs = [visible(f"{each.job}/{each.proof}") for each in face.proofs]
    more = f" and {len(jobs) - _JOBS} before" if len(jobs) > _JOBS else ""
    return (
        str(face.number),
        visible(face.name) or "no name",
        f"{held.body_pt:.1f} pt",
        f"x {held.x_height_mm:.2f} mm" + (", slanting" if held.slope > _SLANTS else ""),
        counted(len(held.text), "letter"),
        f"{counted(len(jobs), 'proof')}: {', '.join(jobs[-_JOBS:])}{more}",
    )
