"""One generation, read through one cursor: what questions that belong together are answered from."""

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future
from pathlib import Path
from typing import Any, Protocol, TypeVar
from weakref import WeakValueDictionary

import duckdb

from analytics.filters import Filters
from analytics.questions.selecting import Selection, ground, selection
from analytics.store_files import Generation

Answer = TypeVar("Answer")
Subject = TypeVar("Subject")

MOST_KEPT = 4000
"""Answers kept. A page needs about four; the largest is a table of months, so that is some 20 MB in all.

Beside them a few things that depend on no choice are kept once; the largest is what checks stand on, some
160 MB for 1,000,000 calls with 2,700,000 checks.
"""


class Readable(Protocol):
    """Where cursors come from: the reader of a `Store`, or anything like it."""

    def now(self) -> tuple[duckdb.DuckDBPyConnection, Generation | None]:
        """Return a cursor on the current generation, and which that is."""


class HasReader(Protocol):
    """A store, as far as the facade needs one."""

    @property
    def folder(self) -> Path:
        """The folder in which decisions are kept beside the generations."""

    def reader(self) -> Readable:
        """Return where cursors come from."""

    def current(self) -> Any:
        """Return the current generation (number, made_at, path), or None before the first load."""

    def generations(self) -> list[Generation]:
        """Return the generations that are kept, newest first."""


def in_a_thread(ask: Callable[[Subject], Answer], subject: Subject) -> Callable[[], Answer]:
    """Begin to ask in a thread; the function returned waits, and returns the answer or raises its problem."""
    found: Future[Answer] = Future()

    def run() -> None:
        try:
            found.set_result(ask(subject))
        except BaseException as problem:
            found.set_exception(problem)

    threading.Thread(target=run, name="meanwhile", daemon=True).start()
    return found.result


class Kept:
    """Answers from one generation, the least used forgotten first; safe to share between threads."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._generation: int | None = None
        self._answers: OrderedDict[Hashable, Any] = OrderedDict()
        self._asked: WeakValueDictionary[Hashable, threading.RLock] = WeakValueDictionary()

    def get(self, generation: int, question: Hashable) -> Any:
        """Return the answer kept, or None."""
        with self._lock:
            if generation != self._generation or question not in self._answers:
                return None
            self._answers.move_to_end(question)
            return self._answers[question]

    def asking(self, generation: int, question: Hashable) -> threading.RLock:
        """Return what to hold while a question is being answered, so that two who ask answer it once."""
        with self._lock:
            return self._asked.setdefault((generation, question), threading.RLock())

    def keep(self, generation: int, question: Hashable, answer: Any) -> None:
        """Keep an answer; those from another generation are forgotten."""
        with self._lock:
            if generation != self._generation:
                self._generation, self._answers = generation, OrderedDict()
            self._answers[question] = answer
            if len(self._answers) > MOST_KEPT:
                self._answers.popitem(last=False)


class Reading:
    """One generation, read through one cursor; for one thread.

    Parameters
    ----------
    cursor : duckdb.DuckDBPyConnection
        On that generation.
    generation : Generation or None
        None for data in memory, of which nothing is kept from one reading to the next.
    kept : Kept
        Answers that readings share.
    """

    def __init__(self, cursor: duckdb.DuckDBPyConnection, generation: Generation | None, kept: Kept) -> None:
        self.cursor = cursor
        self.generation = generation
        self._number = generation.number if generation else 0
        self._kept = kept if generation else Kept()

    def once(self, question: Hashable, ask: Callable[[], Answer]) -> Answer:
        """Answer a question once a generation; the answer is shared: leave it unchanged."""
        kept: Answer | None = self._kept.get(self._number, question)
        if kept is None:
            with self._kept.asking(self._number, question):
                kept = self._kept.get(self._number, question)
                if kept is None:
                    kept = ask()
                    self._kept.keep(self._number, question, kept)
        return kept

    def beside(self) -> "Reading":
        """Return another reading of the same generation, for another thread."""
        return Reading(self.cursor.cursor(), self.generation, self._kept)

    def meanwhile(self, ask: Callable[["Reading"], Answer]) -> Callable[[], Answer]:
        """Have a question answered in a thread of its own; the result waits for the answer.

        A single question keeps one core busy and the other half busy; two at a time use both.
        """
        return in_a_thread(ask, self.beside())

    def chosen(self, filters: Filters) -> Selection:
        """Return what statements bind for these filters."""
        stands_on = self.once("ground", lambda: ground(self.cursor))
        return self.once(("chosen", filters), lambda: selection(self.cursor, stands_on, filters))
