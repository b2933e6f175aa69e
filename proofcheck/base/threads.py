"""How many threads the libraries under this program may use, in this process."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from contextlib import AbstractContextManager

__all__ = ["network_threads", "one_blas_thread", "use_threads"]

_asked: list[int] = []


def one_blas_thread() -> AbstractContextManager[object]:
    """While this is held, the linear algebra of arrays runs on one thread.

    Its products here are small: more threads mostly wait for one another, at full load, and add
    up in another order, so that the last digits of a report hung on the number of cores.
    """
    import threadpoolctl

    limits: AbstractContextManager[object] = threadpoolctl.threadpool_limits(1, user_api="blas")
    return limits


def use_threads(count: int) -> None:
    """Let OpenCV, the linear algebra and the networks opened from here on use so many threads.

    By the libraries' own calls: the environment is its owner's. Where several processes share a
    machine, one thread each is quickest: more of them only wait for each other.
    """
    import cv2
    import numpy as np  # noqa: F401 - what is to be limited has to be loaded
    import threadpoolctl

    cv2.setNumThreads(count)
    threadpoolctl.threadpool_limits(limits=count)
    _asked[:] = [count]


def network_threads() -> int:
    """Threads for one batch of a network; 2 where nothing else was asked for."""
    return _asked[0] if _asked else 2
