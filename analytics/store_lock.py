"""One load at a time: a lock file that says who holds it and that the system lets go when its holder dies."""

import fcntl
import os
import socket
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from analytics.errors import StoreProblem

LOCK = "load.lock"
_LOOK_AGAIN_SECONDS = 0.1


@contextmanager
def loading_lock(
    folder: Path, wait_seconds: float, waiting: Callable[[], None] = lambda: None
) -> Iterator[None]:
    """Hold the right to write to the store in `folder`.

    Parameters
    ----------
    folder : Path
        The data folder; it must exist.
    wait_seconds : float
        How long to wait for another load to finish.
    waiting : callable
        Called once when there is something to wait for.

    Raises
    ------
    StoreProblem
        When another load still runs after that time; it names who.
    """
    path = folder / LOCK
    handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
    try:
        _acquire(handle, path, time.monotonic() + wait_seconds, waiting)
        os.ftruncate(handle, 0)
        who = f"process {os.getpid()} on {socket.gethostname()} since {datetime.now():%Y-%m-%d %H:%M:%S}"
        os.pwrite(handle, who.encode(), 0)
        yield
    finally:
        os.close(
            handle
        )  # lets the lock go; the file stays, because removing it would race with the next load


def _acquire(handle: int, path: Path, give_up_at: float, waiting: Callable[[], None]) -> None:
    told = False
    while True:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            return
        except BlockingIOError:
            if time.monotonic() >= give_up_at:
                who = path.read_text(encoding="utf-8", errors="replace").strip() or "another process"
                raise StoreProblem(
                    f"Another load into {path.parent} is running ({who}). Nothing was changed. Wait until it "
                    f"has finished and load again, or give a longer --wait."
                ) from None
            if not told:
                waiting()
                told = True
            time.sleep(_LOOK_AGAIN_SECONDS)
