"""Pages made up for the comparer to learn from: their letters are those of the face, as it prints.

The face is an open one, drawn by Pillow; what a letter of it looks like is what the font file says.
"""

from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("fontTools", reason="drawing an atlas needs the train extra")

from tests.lab import atlas
from tests.lab.madeup import make_pages
from tests.lab.page_cut import PageCut, book_of
from tests.lab.strange import alone_in

FACES = Path(__file__).parent / "faces"


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    folder = tmp_path_factory.mktemp("made")
    listed = [
        atlas.Face("schola", "roman", "-", "texgyreschola-regular.otf", "train", 1.0),
        atlas.Face("schola", "italic", "-", "texgyreschola-italic.otf", "train", 1.0),
    ]
    atlas.save(atlas.build(FACES, listed), folder / "atlas.npz")
    assert make_pages([0, 1], folder, folder / "atlas.npz", seed=3) == 4
    return {path.name: PageCut.load(path) for path in sorted(folder.glob("*.cut.npz"))}


def alone(page: PageCut, kind: str) -> np.ndarray:
    """Letters of a kind (n, pixels) with nothing beside them."""
    mine = np.flatnonzero(page.text == kind)
    return np.array(
        [alone_in(page.ink[n] / np.float32(255), page.half_width[n]).ravel() for n in mine]
    )


def test_a_page_is_named_for_its_face(pages):
    assert {book_of(name) for name in pages} == {"madescholaroman", "madescholaitalic"}


def test_every_letter_is_like_others_of_its_kind_and_unlike_those_of_another(pages):
    for page in pages.values():
        e, n = alone(page, "e"), alone(page, "n")
        mean = e.mean(axis=0)
        like = [np.corrcoef(each, mean)[0, 1] for each in e]
        unlike = [np.corrcoef(each, mean)[0, 1] for each in n]
        assert np.median(like) > 0.85
        assert np.min(like) > np.max(unlike)


def test_no_two_letters_are_printed_the_same(pages):
    for page in pages.values():
        e = alone(page, "e")
        assert len(np.unique(e, axis=0)) == len(e)


def test_most_letters_are_small_and_neighbours_show(pages):
    for page in pages.values():
        small = np.mean([letter.islower() for letter in page.text.tolist()])
        assert 0.65 < small < 0.95
        beside = page.ink.sum() - sum(
            255 * alone_in(ink / np.float32(255), half).sum()
            for ink, half in zip(page.ink, page.half_width, strict=True)
        )
        assert beside > 0.1 * page.ink.sum()
