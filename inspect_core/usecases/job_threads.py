"""Does jobs in a thread of this very program: for a store that one program serves."""

from __future__ import annotations

import logging
import queue
import threading
from collections.abc import Callable

_log = logging.getLogger("bartack")


class JobThread:
    """Fulfils JobRunner: one job after another. The thread begins with the first job and ends with the program; a job
    that is cut off so is taken up when somebody looks at it again."""

    def __init__(self) -> None:
        self._waiting: queue.SimpleQueue[tuple[str, Callable[[], object]] | None] = queue.SimpleQueue()
        self._known: set[str] = set()
        self._lock = threading.Lock()
        self._thread: threading.Thread | None = None
        self._closing = threading.Event()

    def wake(self, job_id: str, do: Callable[[], object]) -> None:
        with self._lock:
            if job_id in self._known:
                return
            self._known.add(job_id)
            self._waiting.put((job_id, do))
            if self._thread is None:
                self._thread = threading.Thread(target=self._run, name="jobs", daemon=True)
                self._thread.start()

    def closing(self) -> bool:
        return self._closing.is_set()

    def close(self) -> None:
        self._closing.set()
        with self._lock:
            thread, self._thread = self._thread, None
        if thread is not None:
            self._waiting.put(None)
            thread.join(timeout=5)

    def _run(self) -> None:
        while (given := self._waiting.get()) is not None and not self._closing.is_set():
            job_id, do = given
            try:
                do()
            except Exception:
                _log.exception("a job could not be kept")
            finally:
                with self._lock:
                    self._known.discard(job_id)
