"""A marked proof answered as a PDF viewer answers it: annotations written by pikepdf.

Replies and states after ISO 32000-1, 12.5.6.2 and 12.5.6.3, from memory: a reply is an annotation
with `/IRT`; a state is a text annotation in reply, with `/StateModel` and `/State`; one person's
later state answers his earlier one.
"""

from __future__ import annotations

import io

import pikepdf
from pikepdf import Array, Dictionary, Name, String

from proofcheck.results.paper_names import named_mark


class Viewer:
    """One who opens a marked proof, answers it and saves it."""

    def __init__(self, data, who="C.D."):
        self.pdf = pikepdf.open(io.BytesIO(data))
        self.who, self.clock = who, 0

    def marks(self):
        """The tool's own marks, by their faults."""
        held = (note for page in self.pdf.pages for note in page.Annots)
        named = ((named_mark(str(note.get("/NM", ""))), note) for note in held)
        return {found[1]: note for found, note in named if found}

    def put(self, subtype, rect, words="", page=0, **more):
        """A new annotation; figures of `rect` in points."""
        self.clock += 1
        held = Dictionary(
            Type=Name.Annot, Subtype=Name(f"/{subtype}"), Rect=Array(rect), F=4,
            NM=String(f"viewer-{self.clock}-{id(self)}"), Contents=String(words),
            M=String(f"D:20261129{self.clock // 60:02d}{self.clock % 60:02d}00+01'00'"),
        )  # fmt: skip
        if self.who and "T" not in more:
            held.T = String(self.who)
        for key, value in more.items():
            held[f"/{key}"] = value
        made = self.pdf.make_indirect(held)
        self.pdf.pages[page].Annots.append(made)
        return made

    def reply(self, to, words="", state="", **more):
        """A reply to a mark (by its fault) or to another annotation."""
        above = self.marks()[to] if isinstance(to, str) else to
        if state:
            more |= {"State": String(state), "StateModel": String("Review")}
        return self.put("Text", [0, 0, 20, 20], words, IRT=above, **more)

    def saved(self):
        """The file as it comes back."""
        out = io.BytesIO()
        self.pdf.save(out)
        return out.getvalue()


def on_page(report, line, start, end, *, page):
    """Where letters stand on a page of the PDF, in points (left, low, right, high)."""
    private = page.PieceInfo.Proofcheck.Private
    scale, height = float(private.Scale), float(private.Height)
    dx, dy = (int(value) for value in private.At)
    letters = report.reading(line).letters
    box = report.line(line).box
    left = letters[start].box.x if start < len(letters) else letters[-1].box.right
    right = letters[end - 1].box.right if end > start else left
    low, high = height - (box.bottom + dy) * scale, height - (box.y + dy) * scale
    return [(left + dx) * scale, low, (right + dx) * scale, high]


def quad(rect):
    """The corners of a rectangle in the order most viewers write them (upper ones first)."""
    left, low, right, high = rect
    return Array([left, high, right, high, left, low, right, low])
