"""The shop's book of faces as a file: read whole or not at all, written whole or not at all.

It is worked out of proofs that are on record, so it can be lost or forgotten and made anew: that is
why it lies beside the docket and not in its chain, which nothing may ever leave.
"""

from __future__ import annotations

import io
import json
import zipfile
import zlib
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from proofcheck.base.errors import ProofcheckError
from proofcheck.base.visible import visible
from proofcheck.base.writing import write_whole
from proofcheck.metal.face import LEVELS, Face, Lettering, Taught
from proofcheck.metal.patches import TALL, WIDE

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["MOST_FACES", "FaceBook", "FaceBookError", "load_faces", "save_faces"]

SCHEMA = 1
MOST_FACES = 24
"""Faces in a book: some 1 MB each, 2 MB at most. The one longest without a proof goes first."""
_MOST_BYTES = 100_000_000
_MOST_LETTERS = 10_000
"""Of one face: 64 of each of a hundred and fifty kinds."""
_MOST_FORGOTTEN = 1000
_ABOUT = "about.json"


class FaceBookError(ProofcheckError):
    """The book of faces can't be used: damaged, of another version, or none at all."""


@dataclass(frozen=True, slots=True)
class FaceBook:
    """Every face the shop's proofs have shown."""

    faces: tuple[Face, ...] = ()
    """In the order they were begun."""
    next_number: int = 1
    """Of the next face."""
    seen: int = 0
    """Number of the docket's entry up to which it was looked through for passed proofs."""
    forgotten: tuple[str, ...] = ()
    """Records (SHA-256) of proofs that were forgotten, not to be learnt again by itself."""

    def face(self, number: int) -> Face:
        """The face of that number. Raises FaceBookError for none."""
        for face in self.faces:
            if face.number == number:
                return face
        known = ", ".join(str(face.number) for face in self.faces) or "none yet"
        msg = f"there is no face {number} in the book of faces; there are: {known}"
        raise FaceBookError(msg)

    def knows(self, record: str) -> bool:
        """Whether a proof, by its record, was learnt from already, or forgotten."""
        taught = any(each.record == record for face in self.faces for each in face.proofs)
        return taught or record in self.forgotten

    def with_face(self, face: Face) -> FaceBook:
        """The book with a face begun or grown; one without letters goes.

        Of more than `MOST_FACES` the one that was longest without a proof goes.
        """
        others = [each for each in self.faces if each.number != face.number]
        held = sorted([*others, *([face] if len(face.letters.text) else [])], key=_by_number)
        if len(held) > MOST_FACES:
            held.remove(min(held, key=lambda each: each.proofs[-1].day))
        return replace(self, faces=tuple(held), next_number=max(self.next_number, face.number + 1))


def _by_number(face: Face) -> int:
    return face.number


def load_faces(path: Path) -> FaceBook:
    """The book in a file; an empty one where there is none yet.

    Raises:
        FaceBookError: it is damaged, or of a version that this program doesn't read.
    """
    try:
        size = path.stat().st_size
        data = path.read_bytes() if size <= _MOST_BYTES else b""
    except FileNotFoundError:
        return FaceBook()
    except OSError as error:
        raise FaceBookError(_trouble(path, f"can't be read ({error.strerror})")) from error
    try:
        schema, book = _read(data)
    except (
        zipfile.BadZipFile, zlib.error, EOFError, KeyError, TypeError, ValueError, IndexError,
        NotImplementedError, RuntimeError, RecursionError, MemoryError, AttributeError,
    ) as error:  # fmt: skip
        raise FaceBookError(_trouble(path, "is damaged, or no book of faces")) from error
    if schema != SCHEMA:
        why = f"is of version {visible(str(schema))[:20]}, and this program reads {SCHEMA}"
        raise FaceBookError(_trouble(path, why))
    return book


def _read(data: bytes) -> tuple[Any, FaceBook]:
    """Version and book; of another version an empty one. Raises what a damaged file brings."""
    with zipfile.ZipFile(io.BytesIO(data)) as held:
        if max(each.file_size for each in held.infolist()) > _MOST_BYTES:
            raise ValueError
        about = json.loads(held.read(_ABOUT))
        if about["schema"] != SCHEMA:
            return about["schema"], FaceBook()
        faces = tuple(_face(held, each) for each in about["faces"])
        forgotten = tuple(map(str, about["forgotten"]))
        return SCHEMA, FaceBook(faces, int(about["next"]), int(about["seen"]), forgotten)


def save_faces(path: Path, book: FaceBook) -> None:
    """Write the book over the one before. Raises OutputError where it can't be written."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as held:
        about = {
            "schema": SCHEMA,
            "next": book.next_number,
            "seen": book.seen,
            "forgotten": list(book.forgotten[-_MOST_FORGOTTEN:]),
            "faces": [_about(face) for face in book.faces],
        }
        held.writestr(_ABOUT, json.dumps(about, ensure_ascii=False))
        for face in book.faces:
            held.writestr(f"{face.number}.ink", face.letters.ink.tobytes())
    write_whole(path, out.getvalue(), overwrite=True)


def _trouble(path: Path, what: str) -> str:
    return (
        f"the book of faces {visible(str(path))} {what}; put a kept copy back, or take it away, "
        "and it is begun anew from proofs that are passed"
    )


def _about(face: Face) -> dict[str, Any]:
    letters = face.letters
    return {
        "number": face.number,
        "name": face.name,
        "x_height_mm": letters.x_height_mm,
        "body_pt": letters.body_pt,
        "slope": letters.slope,
        "proofs": [list(each) for each in face.proofs],
        "text": "".join(letters.text.tolist()),
        "half": [round(float(each), 2) for each in letters.half],
        "proof": face.proof.tolist(),
    }


def _face(held: zipfile.ZipFile, about: dict[str, Any]) -> Face:
    """One face from the file. Raises ValueError and others of its kind where it can't be."""
    text = np.array(list(about["text"]), "U1")
    count = len(text)
    ink = np.frombuffer(held.read(f"{int(about['number'])}.ink"), np.uint8)
    half = np.array(about["half"], np.float32)
    proof = np.array(about["proof"], np.intp)
    proofs = tuple(
        Taught(str(job), int(number), str(record), str(day), int(letters))
        for job, number, record, day, letters in about["proofs"]
    )
    sizes = [float(about[name]) for name in ("x_height_mm", "body_pt", "slope")]
    wrong = (
        not 0 < count <= _MOST_LETTERS
        or half.shape != (count,)
        or proof.shape != (count,)
        or not np.isfinite([*half, *sizes]).all()
        or int(ink.max(initial=0)) > LEVELS
        or int(proof.min()) < 0
        or int(proof.max()) >= len(proofs)
    )
    if wrong:
        raise ValueError
    letters = Lettering(text, ink.reshape(count, TALL, WIDE), half, *sizes)
    return Face(int(about["number"]), str(about["name"]), letters, proof, proofs)
