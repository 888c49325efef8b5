"""The right to work on something, held as a lock on a file: it goes with its process, however that ends."""

import fcntl
import os
import time
from pathlib import Path


def take(handle: int, patience_s: float, how: int = fcntl.LOCK_EX) -> bool:
    """Take the lock on an open file; say whether it was had in time.

    Parameters
    ----------
    handle : int
    patience_s : float
        Seconds to wait for another process to let go.
    how : int
        fcntl.LOCK_EX to work, fcntl.LOCK_SH to look.
    """
    until = time.monotonic() + patience_s
    while True:
        try:
            fcntl.flock(handle, how | fcntl.LOCK_NB)
            return True
        except BlockingIOError:
            if time.monotonic() >= until:
                return False
            time.sleep(0.02)


def is_held(path: Path) -> bool:
    """Say whether a process holds the lock on a file, which need not be there."""
    try:
        handle = os.open(path, os.O_RDWR)
    except FileNotFoundError:
        return False
    try:
        return not take(handle, patience_s=0.0, how=fcntl.LOCK_SH)
    finally:
        os.close(handle)
