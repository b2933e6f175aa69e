"""How much memory a worker has had, how much it may have, and how many cores there are."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

try:
    import resource
except ImportError:  # Windows: neither bounds nor figures
    resource = None  # type: ignore[assignment]

__all__ = ["bound_memory", "cores", "peak_mib", "share_mib"]

_LEAST_MIB = 1024
"""Less than this would refuse proofs that any machine can read."""
_SHARE = 0.8


def peak_mib() -> int:
    """The most memory this process has had, with that of the largest program it ran (MiB)."""
    if resource is None:
        return 0
    children = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    with contextlib.suppress(OSError, ValueError):
        # A new program's own figure begins with that of the one which started it; this does not.
        for line in Path("/proc/self/status").read_text(encoding="ascii").splitlines():
            if line.startswith("VmHWM:"):
                return (int(line.split()[1]) + children) // 1024
    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss + children
    return int(used) // 2 ** (20 if os.uname().sysname == "Darwin" else 10)


def bound_memory(most_mib: int) -> None:
    """Let this process and each program it runs have no more data than this in memory."""
    if resource is None or most_mib <= 0:
        return
    with contextlib.suppress(ValueError, OSError):
        hard = resource.getrlimit(resource.RLIMIT_DATA)[1]
        most = most_mib * 2**20
        most = most if hard == resource.RLIM_INFINITY else min(most, hard)
        resource.setrlimit(resource.RLIMIT_DATA, (most, hard))


def share_mib(workers: int) -> int:
    """What each of so many workers may have of this machine's memory; 0 where it is unknown."""
    held = [size for size in (_machine_bytes(), *_group_bytes()) if size > 0]
    if not held:
        return 0
    return max(int(min(held) * _SHARE / max(workers, 1) / 2**20), _LEAST_MIB)


def cores() -> int:
    """How many cores this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        return os.cpu_count() or 1


def _machine_bytes() -> int:
    with contextlib.suppress(AttributeError, ValueError, OSError):
        return os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")
    return 0


def _group_bytes() -> list[int]:
    """What the control groups of a container allow (Linux, cgroup v2 and v1)."""
    found = []
    for name in ("memory.max", "memory/memory.limit_in_bytes"):
        with contextlib.suppress(OSError, ValueError):
            found.append(int((Path("/sys/fs/cgroup") / name).read_text(encoding="ascii")))
    return found
