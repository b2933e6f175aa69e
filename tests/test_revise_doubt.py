"""Where it is not plain whether a letter was changed, it is not called made.

That a correction is checked off only when it is seen to have been made, and any other is marked
again, is how a revise is read: `common practice`.
"""

from __future__ import annotations

import pytest

from proofcheck.revise.letter_there import Accounts


def accounts(share, as_was=0.9, as_wanted=0.9):
    """As like what stood there as what is wanted, but for the share and the fits given."""
    return Accounts(
        0.85, (0.9, 0.02), (0.8, 0.02), share, (as_was, as_wanted, 0.8), (0.0, 0.0)
    )  # fmt: skip


@pytest.mark.parametrize("share", [1.0, 0.7, 0.5, 0.4, 0.25])
def test_what_is_as_like_the_one_as_the_other_is_not_called_changed(share):
    held = accounts(share)
    assert held.odds > -1.5
    assert not held.changed


def test_what_is_plainly_the_letter_wanted_is():
    held = accounts(0.0, as_was=0.8, as_wanted=0.95)
    assert held.odds < -1.5
    assert held.changed


def test_the_more_of_it_is_there_still_the_likelier_it_is_the_same():
    odds = [accounts(share).odds for share in (0.0, 0.25, 0.5, 0.75, 1.0)]
    assert odds == sorted(odds)
    assert odds[2] == pytest.approx(0.0), "even on every count"
