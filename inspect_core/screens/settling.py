"""Keeping a page server quick: what was loaded once stays out of the search for garbage."""

from __future__ import annotations

import gc
import sys
import threading

_lock = threading.Lock()
_seen = 0


def settle() -> bool:
    """Sets everything that lives now aside, once whatever was being loaded is loaded; whether it did.

    Streamlit looks through every object of the process after each rerun. With the program's libraries among them that
    is most of a rerun's cost, although they never become garbage. Screens are loaded when they are first opened, so
    it is done again whenever more modules are there than the last time: some dozen times in a process's life. What
    happens to become garbage later and was set aside with them is never freed where it holds itself, which is why it
    is not done oftener.
    """
    global _seen
    if len(sys.modules) == _seen or not _lock.acquire(blocking=False):
        return False
    try:
        _seen = len(sys.modules)
        gc.collect()
        gc.freeze()
    finally:
        _lock.release()
    return True
