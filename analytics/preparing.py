"""Answers ahead of the questions: worked out by a process of its own, and handed to the one that shows them.

So that whoever clicks does not wait for it, and the memory that it takes goes back to the system at its end.
The answers go through a pipe between the two; nothing that somebody else wrote is ever unpickled.
"""

import os
import pickle
import subprocess
import sys
import threading
from collections.abc import Hashable, Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from analytics.filters import Filters
from analytics.processes import python_path

LONGEST_S = 900.0
IN_CODES = "in-codes"
STEPS_BACK = 10
"""Of priority: pages come first."""

Told = tuple[int, Hashable, Any]


class PreparingFailed(RuntimeError):
    """The process that prepares answers ended before it was done."""


def answers_ahead(folder: Path, also: Sequence[Filters] = (), in_codes: bool = False) -> Iterator[Told]:
    """Have the answers of the current generation worked out, and return each as it comes.

    Parameters
    ----------
    folder : Path
        Of the store.
    also : sequence of Filters
        As `Fleet.prepare` takes them.
    in_codes : bool
        Whether they are asked of the newest coded copy, with codes in place of technicians.

    Yields
    ------
    tuple
        Generation, question and answer.

    Raises
    ------
    PreparingFailed
        When the process did not come to its end within `LONGEST_S`.
    """
    process = subprocess.Popen(
        [sys.executable, "-m", "analytics.preparing", str(folder), *([IN_CODES] if in_codes else [])],
        env=os.environ | {"PYTHONPATH": python_path(), "MALLOC_ARENA_MAX": "1"},  # less memory, no slower
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        start_new_session=True,
    )
    patience = threading.Timer(LONGEST_S, process.kill)
    patience.start()
    try:
        assert process.stdin
        assert process.stdout
        with suppress(BrokenPipeError):  # it ended already: its exit code tells
            pickle.dump(list(also), process.stdin)
            process.stdin.flush()
        answers = pickle.Unpickler(process.stdout)  # one for all: answers share what they stand on
        while True:
            try:
                yield answers.load()
            except (EOFError, pickle.UnpicklingError):
                break
        process.wait()
    finally:
        patience.cancel()
        process.kill()
        process.communicate()
    if process.returncode:
        raise PreparingFailed(f"Answers could not be prepared: the process ended with {process.returncode}.")


def prepare(folder: Path, also: Sequence[Filters], in_codes: bool) -> None:
    """Work out the answers, and write each to the standard output."""
    from analytics.coded_fleet import CodedFleet, CodedStore
    from analytics.fleet import Fleet
    from analytics.questions.reading import Kept
    from analytics.store import Store

    pipe, sys.stdout = sys.stdout.buffer, sys.stderr  # nothing but answers goes through the pipe
    out = pickle.Pickler(pipe, pickle.HIGHEST_PROTOCOL)
    lock = threading.Lock()

    def tell(generation: int, question: Hashable, answer: Any) -> None:
        with lock:
            out.dump((generation, question, answer))
            pipe.flush()

    store, kept = Store(folder), Kept(tell)
    (CodedFleet(CodedStore(store), kept) if in_codes else Fleet(store, kept)).prepare(also)


def _end_with_who_asked() -> None:
    os.read(sys.stdin.fileno(), 1)  # comes back when the other end is closed, however that came about
    os._exit(1)


if __name__ == "__main__":
    os.nice(STEPS_BACK)
    wanted = pickle.load(sys.stdin.buffer)  # from the process that started this one
    threading.Thread(target=_end_with_who_asked, daemon=True).start()
    prepare(Path(sys.argv[1]), wanted, IN_CODES in sys.argv[2:])
