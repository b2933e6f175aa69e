"""How many threads the small products of matrices run on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from threadpoolctl import threadpool_limits

if TYPE_CHECKING:
    from contextlib import AbstractContextManager

__all__ = ["one_blas_thread"]


def one_blas_thread() -> AbstractContextManager[object]:
    """While this is held, the linear algebra of arrays runs on one thread.

    Its products here are small: more threads mostly wait for one another, at full load, and add
    up in another order, so that the last digits of a report hung on the number of cores.
    """
    limits: AbstractContextManager[object] = threadpool_limits(1, user_api="blas")
    return limits
