"""A specimen of a face as it prints here: of each letter those that were kept, on one sheet A4."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.base.errors import OutputError
from proofcheck.base.visible import visible
from proofcheck.base.writing import check_free, write_whole
from proofcheck.marks.lettering import write
from proofcheck.marks.paths import extent, moved
from proofcheck.metal.face import LEVELS
from proofcheck.metal.patches import TALL, WIDE, letter_windows
from proofcheck.results.marked.paint_pdf import paint_pages
from proofcheck.results.marked.paint_png import paint_png
from proofcheck.results.marked.parts import FAINT, TYPE, Inked, Page

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Grey
    from proofcheck.metal.face import Face

__all__ = ["specimen_page", "write_specimen"]

_WIDTH_PX, _HEIGHT_PX, _DPI = 2480, 3508, 300.0  # A4
_MARGIN_PX, _TOP_PX, _FOOT_PX = 150, 430, 130
_COLUMNS, _LABEL_PX, _LARGER = 3, 120, 2
"""Kinds stand in columns; letters are drawn twice as large as they are kept."""
_SHOWN = 6
"""Letters of a kind."""


def write_specimen(face: Face, path: Path | str, *, overwrite: bool = False) -> Path:
    """Draw the specimen of a face, as PDF or PNG by the ending of the name.

    Raises:
        OutputError: another ending, a file that exists already, or one that can't be written.
    """
    path = Path(path)
    if path.suffix.lower() not in (".pdf", ".png"):
        msg = f"a specimen is drawn as .pdf or .png, not as {visible(path.name)!r}; name it so"
        raise OutputError(msg)
    check_free([path], overwrite=overwrite)
    page = specimen_page(face)
    pdf = path.suffix.lower() == ".pdf"
    data = paint_pages([page], f"Specimen of {face.called}") if pdf else paint_png(page)
    return write_whole(path, data, overwrite=overwrite)


def specimen_page(face: Face) -> Page:
    """The sheet laid out: small letters, capitals, figures and the rest, kind by kind."""
    kinds = sorted(set(face.letters.text.tolist()), key=_order)
    down = -(-len(kinds) // _COLUMNS)
    step = (_HEIGHT_PX - _TOP_PX - _FOOT_PX) / max(down, 1)
    step = min(step, TALL * _LARGER + 24.0)
    across = (_WIDTH_PX - 2 * _MARGIN_PX) // _COLUMNS
    picture = np.full((_HEIGHT_PX, _WIDTH_PX), 255, np.uint8)
    labels = _head(face)
    for place, kind in enumerate(kinds):
        column, row = divmod(place, down)
        x, y = _MARGIN_PX + column * across, round(_TOP_PX + row * step)
        mine = np.flatnonzero(face.letters.text == kind)
        labels.append(_words(f"{kind} {len(mine)}", x, y + step / 2 + 8, 17, FAINT, _LABEL_PX - 15))
        row_of_letters = _drawn(face, _chosen(face, mine), round(step))
        wide = min(row_of_letters.shape[1], across - _LABEL_PX)
        part = picture[y : y + row_of_letters.shape[0], x + _LABEL_PX : x + _LABEL_PX + wide]
        np.minimum(part, row_of_letters[: part.shape[0], :wide], out=part)
    return Page(0, _WIDTH_PX, _HEIGHT_PX, _DPI, picture, (0, 0), labels=tuple(labels))


def _order(kind: str) -> tuple[int, str]:
    group = 0 if kind.islower() else 1 if kind.isupper() else 2 if kind.isdigit() else 3
    return group, kind


def _chosen(face: Face, mine: NDArray[np.intp]) -> NDArray[np.intp]:
    """Some of a kind's letters, of as many proofs as there are."""
    order = np.argsort(face.proof[mine], kind="stable")
    step = max(len(mine) / _SHOWN, 1.0)
    return mine[order[(np.arange(min(_SHOWN, len(mine))) * step).astype(np.intp)]]


def _drawn(face: Face, who: NDArray[np.intp], tall: int) -> Grey:
    """Letters side by side, larger, no higher than is said."""
    held = face.letters
    ink = held.ink[who].astype(np.float32) / LEVELS * letter_windows(held.half[who])
    larger = min(_LARGER, tall / TALL)
    size = max(round(WIDE * larger), 1), max(round(TALL * larger), 1)
    grey = [cv2.resize(each, size, interpolation=cv2.INTER_CUBIC) for each in ink]
    return np.asarray(255 - np.round(255 * np.concatenate(grey, axis=1).clip(0, 1)), np.uint8)


def _head(face: Face) -> list[Inked]:
    held, proofs = face.letters, face.proofs
    size = f"x-height {held.x_height_mm:.2f} mm, body about {held.body_pt:.1f} points"
    jobs = ", ".join(dict.fromkeys(f"{each.job}/{each.proof}" for each in proofs))
    from_words = f"From {len(proofs)} {'proof' if len(proofs) == 1 else 'proofs'}: {jobs}"
    width = _WIDTH_PX - 2 * _MARGIN_PX
    title = face.called[0].upper() + face.called[1:]
    return [
        _words(visible(title), _MARGIN_PX, 200, 46, TYPE, width),
        _words(f"{size}; {len(held.text)} letters kept", _MARGIN_PX, 280, 22, TYPE, width),
        _words(visible(from_words), _MARGIN_PX, 345, 20, FAINT, width),
    ]


def _words(text: str, x: float, y: float, size: float, ink: str, width: float) -> Inked:
    """One line of lettering, made smaller where it would run over its width."""
    drawing = write(text, 0.0)
    size = min(size, width / max(extent(drawing).width, 1.0))
    return Inked(moved(drawing, by=(x, y), scale=size, flip=True), 0.1 * size, ink)
