"""Letters of a long proof kept off the memory: the same numbers as if they were in it."""

from __future__ import annotations

import numpy as np
import pytest

from proofcheck.base.errors import OutputError
from proofcheck.metal import patch_store
from proofcheck.metal.patch_store import BLOCK, Patches, blocks
from proofcheck.metal.patches import TALL, WIDE, Cut
from proofcheck.metal.slope import slopes, slopes_of

SHAPE = TALL, WIDE


def _filled(held: np.ndarray) -> Patches:
    made = Patches(len(held), SHAPE)
    for number, patch in enumerate(held):
        if number != 3:  # one never set is paper
            made.put(number, patch)
    return made


@pytest.mark.parametrize("most", [0, 10_000])
def test_patches_are_asked_for_as_those_of_an_array(
    monkeypatch: pytest.MonkeyPatch, most: int
) -> None:
    monkeypatch.setattr(patch_store, "MOST_IN_MEMORY", most)
    held = np.random.default_rng(3).random((40, *SHAPE), np.float32)
    held[3] = 0
    made = _filled(held)
    assert (made._file is None) == (most > 0)
    mask = np.arange(40) % 3 == 0
    for who in (5, -1, slice(2, 9), np.array([7, 7, 0]), mask, [3, 4], np.zeros(0, np.intp)):
        assert np.array_equal(made[who], held[who])
    assert len(made) == 40


def test_no_room_on_the_disk_is_one_clear_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(patch_store, "MOST_IN_MEMORY", 0)
    made = Patches(2, SHAPE)

    class Full:
        def seek(self, _place: int) -> None:
            raise OSError(28, "No space left on device")

    made._file = Full()  # type: ignore[assignment]
    with pytest.raises(OutputError, match="no room for the letters"):
        made.put(0, np.zeros(SHAPE, np.float32))


@pytest.mark.parametrize("count", [0, 1, 63, BLOCK, BLOCK + 1, int(BLOCK * 1.49), 3 * BLOCK + 1])
def test_blocks_hold_all_in_order_and_none_is_tiny(count: int) -> None:
    parts = list(blocks(np.arange(count)))
    assert np.array_equal(np.concatenate(parts) if parts else [], np.arange(count))
    assert all(len(part) <= 1.5 * BLOCK for part in parts)
    assert len(parts) < 2 or min(len(part) for part in parts) > BLOCK // 2


def test_slopes_in_blocks_are_those_of_all_at_once() -> None:
    rng = np.random.default_rng(5)
    count = 2 * BLOCK + 777
    held = (rng.random((count, *SHAPE), np.float32) > 0.7).astype(np.float32)
    half = rng.uniform(4, 14, count).astype(np.float32)
    cut = Cut(Patches.of(held), half, np.zeros((count, 2), np.float32))
    assert np.array_equal(slopes_of(cut), slopes(held, half))


def test_ink_of_all_letters_is_that_of_each_within_its_own_columns() -> None:
    rng = np.random.default_rng(6)
    count = 2 * BLOCK + 777
    held = rng.integers(0, 2, (count, *SHAPE)).astype(np.float32)
    half = rng.integers(3, 20, count).astype(np.float32)
    cut = Cut(Patches.of(held), half, np.zeros((count, 2), np.float32))
    for number in (0, BLOCK, count - 1):
        middle, reach = WIDE // 2, int(half[number]) + 1
        own = held[number][:, middle - reach : middle + reach]
        assert cut.ink_within(1)[number] == own.sum()
