"""Changes that people ask for in the browser: queued on the disk, made one by one by a process."""

import json
import os
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from analytics.errors import BadQuestion
from analytics.intake import work_lock
from analytics.store import Store
from analytics.store_files import write_beside

FOLDER, LOCK = "changes", "work.lock"
SETTLE, MEND, TRY, TAKE_BACK = "settle", "mend", "try", "take_back"
KINDS = (SETTLE, MEND, TRY, TAKE_BACK)
MOST_QUEUED, MOST_DONE = 200, 30
STARTS_WITHIN_S = 20.0
"""A process that was started takes this long, at most, until it holds the lock."""


@dataclass(frozen=True)
class State:
    """What is being changed.

    Parameters
    ----------
    goes_on : bool
        A process is at it, or about to start.
    queued : list of dict
        What is asked for and not done, first come first; each with kind and values.
    stage, share : str, float
        How far the first of them is.
    done : list of dict
        What ended lately, latest first: kind, values, said (what became of it), problem, at (UTC).
    """

    goes_on: bool
    queued: list[dict[str, Any]] = field(default_factory=list)
    stage: str = ""
    share: float = 0.0
    done: list[dict[str, Any]] = field(default_factory=list)

    @property
    def cut_off(self) -> bool:
        """Whether something is asked for and nobody is at it."""
        return bool(self.queued) and not self.goes_on


class Changing:
    """The changes asked for in one store.

    Parameters
    ----------
    store : Store
    start : callable
        Starts a process that makes the changes, given the store.
    """

    def __init__(self, store: Store, start: Callable[[Store], None]) -> None:
        self.store, self._start = store, start
        self.folder = store.folder / FOLDER

    def ask(self, kind: str, values: Mapping[str, Any]) -> None:
        """Queue a change, and have it made.

        Raises
        ------
        BadQuestion
            When there is no such kind, or too many are waiting.
        """
        if kind not in KINDS:
            raise BadQuestion(f"'{kind}' is no change. It can be {', '.join(KINDS)}.")
        self.folder.mkdir(parents=True, exist_ok=True)
        if len(self._waiting()) >= MOST_QUEUED:
            raise BadQuestion(f"{MOST_QUEUED} changes are waiting already. Wait until they are made.")
        path = self.folder / f"{time.time_ns():020d}.asked"
        os.replace(write_beside(path, json.dumps({"kind": kind, "values": dict(values)})), path)
        self._start(self.store)

    def go_on(self) -> None:
        """Start again on what was cut off."""
        if self._waiting():
            for path in self._waiting():
                os.utime(path)
            self._start(self.store)

    def drop(self) -> None:
        """Forget what is asked for and was not begun."""
        for path in self._waiting():
            path.unlink(missing_ok=True)

    def forget(self) -> None:
        """Leave nothing of what was asked for, made or waiting: it may hold the fields of rows."""
        self.drop()
        for name in ("done", "now"):
            (self.folder / f"{name}.json").unlink(missing_ok=True)

    def state(self) -> State:
        """Say what is being changed and what became of the last changes."""
        waiting = self._waiting()
        now = time.time()
        young = any(now - path.stat().st_mtime < STARTS_WITHIN_S for path in waiting if path.exists())
        noted = self.read("now") or {}
        return State(
            goes_on=work_lock.is_held(self.folder / LOCK) or young,
            queued=[asked for path in waiting if (asked := _read(path))],
            stage=noted.get("stage", ""),
            share=noted.get("share", 0.0),
            done=self.read("done") or [],
        )

    @contextmanager
    def working(self) -> Iterator[bool]:
        """Hold the right to make changes; gives False where another process does."""
        self.folder.mkdir(parents=True, exist_ok=True)
        handle = os.open(self.folder / LOCK, os.O_RDWR | os.O_CREAT, 0o600)
        try:
            yield work_lock.take(handle, patience_s=3.0)
        finally:
            os.close(handle)

    def first(self) -> list[tuple[Path, dict[str, Any]]]:
        """Return what is to be done next: one change, or all settlements up to the next other change."""
        found: list[tuple[Path, dict[str, Any]]] = []
        for path in self._waiting():
            asked = _read(path)
            if asked is None:
                path.unlink(missing_ok=True)
            elif found and not asked["kind"] == found[0][1]["kind"] == SETTLE:
                break
            else:
                found.append((path, asked))
        return found

    def read(self, name: str) -> Any:
        """Return what was noted under a name; None where nothing was."""
        return _read(self.folder / f"{name}.json")

    def write(self, name: str, facts: Any) -> None:
        """Note something, whole or not at all."""
        path = self.folder / f"{name}.json"
        os.replace(write_beside(path, json.dumps(facts, ensure_ascii=False)), path)

    def _waiting(self) -> list[Path]:
        return sorted(self.folder.glob("*.asked"))


def _read(path: Path) -> Any:
    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except (FileNotFoundError, ValueError):
        return None
