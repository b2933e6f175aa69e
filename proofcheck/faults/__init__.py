"""A fault is made here: what was found of the text and of the type, joined."""

from proofcheck.faults.joining import merge_metal
from proofcheck.faults.making import make_faults
from proofcheck.faults.shadowed_places import leave_shadowed
from proofcheck.faults.unfollowed_lines import leave_unfollowed
from proofcheck.faults.unread_initials import leave_initials

__all__ = ["leave_initials", "leave_shadowed", "leave_unfollowed", "make_faults", "merge_metal"]
