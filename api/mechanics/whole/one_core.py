"""Linear algebra on one core."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from threadpoolctl import threadpool_limits


@contextmanager
def one_core() -> Iterator[None]:
    """Within it, numpy and scipy use one thread for their linear algebra.

    The matrices here have a few hundred rows: sharing one among cores costs more than it saves, and
    on a busy machine threads that wait for each other made a computation 6 times slower. Holds for
    the whole process while it lasts.
    """
    with threadpool_limits(limits=1, user_api="blas"):
        yield
