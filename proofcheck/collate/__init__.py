"""Lay the printed lines on the copy and tell every difference.

The lines are placed first, whatever order they stand in (`order`, `place`); then the proof, in
the copy's order, is aligned word by word and letter by letter (`aligning`, `words`, `letters`);
then what differs is told in the trade's kinds, each tied to its line (`tell`, `stray`, `divide`).
"""

from proofcheck.collate.run import collate

__all__ = ["collate"]
