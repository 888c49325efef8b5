"""One generation, read through one cursor: what questions that belong together are answered from."""

import pickle
import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future
from contextlib import nullcontext
from pathlib import Path
from typing import Any, Protocol, TypeVar
from weakref import WeakValueDictionary

import duckdb

from analytics.filters import Filters
from analytics.questions.selecting import Selection, ground, selection
from analytics.store_files import Generation

Answer = TypeVar("Answer")
Subject = TypeVar("Subject")

MOST_KEPT_BYTES = 64 * 2**20
"""Of answers about chosen filters, as `pickle` writes them; those least used are forgotten.

What depends on no choice, and what was worked out ahead, stays as long as its generation is shown: some
500 MB for 1,000,000 calls with 2,700,000 checks.
"""

MOST_GENERATIONS = 3
"""The one that is shown, the one that is made ready to be shown next, and the newest."""


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


class _Counter:
    """A file that keeps nothing but how much was written to it."""

    size_bytes = 0

    def write(self, piece: bytes | pickle.PickleBuffer) -> int:
        size = memoryview(piece).nbytes
        self.size_bytes += size
        return size


def size_bytes(answer: object) -> int:
    """Return how large an answer is, as `pickle` would write it."""
    counter = _Counter()
    pickle.Pickler(counter, pickle.HIGHEST_PROTOCOL).dump(answer)
    return counter.size_bytes


def _is_chosen(question: Hashable) -> bool:
    return isinstance(question, tuple) and any(isinstance(part, Filters) for part in question)


_one_at_a_time = threading.Lock()
"""Held by whoever works out what takes much memory; so there is never twice as much of it."""

Tell = Callable[[int, Hashable, Any], None]


class Kept:
    """Answers of the last generations asked, the least used forgotten first; safe to share between threads.

    Parameters
    ----------
    tell : callable, optional
        Called with generation, question and answer whenever one is kept.
    """

    def __init__(self, tell: Tell | None = None) -> None:
        self._lock = threading.Lock()
        self._tell = tell
        self._generations: list[int] = []
        self._shown: int | None = None
        self._for_good: dict[tuple[int, Hashable], Any] = {}
        self._answers: OrderedDict[tuple[int, Hashable], tuple[Any, int]] = OrderedDict()
        self._bytes = 0
        self._asked: WeakValueDictionary[Hashable, threading.RLock] = WeakValueDictionary()

    def get(self, generation: int, question: Hashable) -> Any:
        """Return the answer kept, or None."""
        key = (generation, question)
        with self._lock:
            if key in self._answers:
                self._answers.move_to_end(key)
                return self._answers[key][0]
            return self._for_good.get(key)

    def asking(self, generation: int, question: Hashable) -> threading.RLock:
        """Return what to hold while a question is being answered, so that two who ask answer it once."""
        with self._lock:
            return self._asked.setdefault((generation, question), threading.RLock())

    def keep(self, generation: int, question: Hashable, answer: Any, for_good: bool = False) -> None:
        """Keep an answer as long as there is room, or as its generation is shown: for good.

        Parameters
        ----------
        generation : int
        question : hashable
            What names no `Filters` depends on no choice, and its answer is kept for good.
        answer : object
            To be shared, and left unchanged.
        for_good : bool
            Whether it is kept for good whatever it depends on.
        """
        for_good = for_good or not _is_chosen(question)
        size = 0 if for_good else size_bytes(answer)
        with self._lock:
            self._make_room(generation)
            self._forget((generation, question))
            if for_good:
                self._for_good[generation, question] = answer
            else:
                self._answers[generation, question] = answer, size
                self._bytes += size
            while self._bytes > MOST_KEPT_BYTES and len(self._answers) > 1:
                self._forget(next(iter(self._answers)))
        if self._tell:
            self._tell(generation, question, answer)

    def chosen(self, generation: int, about: str) -> list[Filters]:
        """Return for which filters an answer of this name is kept, those used last first."""
        with self._lock:
            questions = [*reversed(self._answers), *self._for_good]
        found = [
            part
            for kept_of, question in questions
            if kept_of == generation and isinstance(question, tuple) and question[0] == about
            for part in question
            if isinstance(part, Filters)
        ]
        return list(dict.fromkeys(found))

    def show(self, generation: int) -> None:
        """Take a generation for the one that is shown: answers of those before it are forgotten."""
        with self._lock:
            self._shown = generation
            for earlier in [each for each in self._generations if each < generation]:
                self._drop(earlier)

    def _make_room(self, generation: int) -> None:
        if generation not in self._generations:
            self._generations.append(generation)
            if len(self._generations) > MOST_GENERATIONS:
                self._drop(next(each for each in self._generations if each != self._shown))

    def _drop(self, generation: int) -> None:
        self._generations.remove(generation)
        self._for_good = {key: answer for key, answer in self._for_good.items() if key[0] != generation}
        for key in [key for key in self._answers if key[0] == generation]:
            self._forget(key)

    def _forget(self, key: tuple[int, Hashable]) -> None:
        if key in self._answers:
            self._bytes -= self._answers.pop(key)[1]


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

    def once(self, question: Hashable, ask: Callable[[], Answer], alone: bool = False) -> Answer:
        """Answer a question once a generation; the answer is shared: leave it unchanged.

        Parameters
        ----------
        question : hashable
            What names no `Filters` depends on no choice.
        ask : callable
            Works the answer out.
        alone : bool
            Whether it takes so much memory that no other such question is to be worked out meanwhile; it may
            not ask another one that does.
        """
        kept: Answer | None = self._kept.get(self._number, question)
        if kept is None:
            with self._kept.asking(self._number, question):
                kept = self._kept.get(self._number, question)
                if kept is None:
                    with _one_at_a_time if alone else nullcontext():
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
