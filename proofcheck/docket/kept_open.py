"""The docket's file kept open over a run of decisions, and let go when the reader pauses.

SQLite writes its log into the file, and takes the log away, whenever the last one who has the
file open closes it. Done after each of many decisions, that is waiting for the disk several times
over; done once they pause, it leaves the file whole by itself for whoever copies it.
"""

from __future__ import annotations

import threading
import time
from typing import TYPE_CHECKING

import sqlalchemy as sa

from proofcheck.docket.schema import head

if TYPE_CHECKING:
    from proofcheck.docket.database import Store

__all__ = ["KeptOpen"]


class KeptOpen:
    """Keeps a docket's file open while it is in use; safe to be asked by several threads."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._lock = threading.Lock()
        self._held: sa.Connection | None = None
        self._used_at = 0.0

    def use(self) -> None:
        """It is in use now."""
        if not self._store.is_file:
            return
        with self._lock:
            self._used_at = time.monotonic()
            if self._held is None:
                made = self._store.engine.connect()
                try:
                    # SQLite opens the file with the first question put to it.
                    made.execute(sa.select(head.c.only)).all()
                    made.rollback()
                except sa.exc.SQLAlchemyError:
                    made.close()  # It only would have been quicker.
                    return
                self._held = made

    def quiet(self, for_s: float) -> bool:
        """Whether it is kept open and was not used for so many seconds."""
        with self._lock:
            return self._held is not None and time.monotonic() - self._used_at > for_s

    def let_go(self) -> None:
        """Let it be closed."""
        with self._lock:
            if self._held is not None:
                self._held.close()
                self._held = None
