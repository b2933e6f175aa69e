"""The plan told to those who carry it out: the list for the machine, the list for the stone.

The machine's is in galley order with the full matter of each new slug; the stone's says what comes
out and what goes in where. The numbers of the new slugs are the same on both, to be checked off.
"""

from proofcheck.results.castlists.hand_rows import (
    HandLists,
    hand_lists,
    report_hand_lists,
    stone_entries,
)
from proofcheck.results.castlists.list_words import (
    SAFETY,
    machine_entries,
    short_list,
)

__all__ = [
    "SAFETY",
    "HandLists",
    "hand_lists",
    "machine_entries",
    "report_hand_lists",
    "short_list",
    "stone_entries",
]
