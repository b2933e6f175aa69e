"""The plan told to those who carry it out: the list for the machine, the list for the stone.

The machine's is in galley order with the full matter of each new slug; the stone's says what comes
out and what goes in where. The numbers of the new slugs are the same on both, to be checked off.
"""

from proofcheck.results.castlists.list_pages import lists_pdf
from proofcheck.results.castlists.list_words import (
    SAFETY,
    machine_entries,
    short_list,
    stone_entries,
)

__all__ = ["SAFETY", "lists_pdf", "machine_entries", "short_list", "stone_entries"]
