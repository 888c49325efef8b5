"""What takes long is done once: built for all workers of a run, or parsed for all small fleets of one."""

import fcntl
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

import duckdb
import pytest

_parsed = cache(duckdb.extract_statements)


@contextmanager
def parsed_once() -> Iterator[None]:
    """Parse each text of statements once: small fleets are built by the same ones hundreds of times."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(duckdb, "extract_statements", _parsed)
        yield


def built_once(factory: pytest.TempPathFactory, name: str, build: Callable[[Path], object]) -> Path:
    """Return a folder that one worker builds while others wait; nobody may write into it afterwards.

    Parameters
    ----------
    factory : pytest.TempPathFactory
    name : str
        The same name for the same content.
    build : callable
        Takes the folder, which is there and empty.
    """
    base = factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:  # each worker has a folder of its own in that of the run
        base = base.parent
    folder, done = base / f"shared_{name}", base / f"shared_{name}.done"
    with (base / f"shared_{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not done.exists():
            folder.mkdir()
            build(folder)
            done.touch()
    return folder
