"""The process that makes the changes asked for in the browser, until none is left."""

import logging
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from typing import Any

from analytics.errors import ServiceCallError
from analytics.intake.bringing_work import WAIT_SECONDS, plain_words
from analytics.intake.changing import MEND, MOST_DONE, SETTLE, TAKE_BACK, TRY, Changing
from analytics.intake.mending import mend
from analytics.intake.settling_phrases import Settled, settle
from analytics.intake.taking_back import take_back
from analytics.processes import python_path
from analytics.store import Store

Note = Callable[[str, float], None]
Asked = Sequence[dict[str, Any]]


def start(store: Store) -> None:
    """Start the process; where one is at work already, the new one ends at once."""
    process = subprocess.Popen(
        [sys.executable, "-m", "analytics.intake.changing_work", str(store.folder)],
        env=os.environ | {"PYTHONPATH": python_path()},
        stdin=subprocess.DEVNULL,
        start_new_session=True,
    )
    threading.Thread(target=process.wait, daemon=True).start()


def work(store: Store) -> None:
    """Make all changes that wait, each a generation of its own; settlements that wait together make one."""
    changing = Changing(store, start)
    while changing.first():
        with changing.working() as mine:
            if not mine:
                return  # the process that is at work finds what was asked meanwhile
            while found := changing.first():
                _make(store, changing, [asked for _, asked in found])
                for path, _ in found:
                    path.unlink(missing_ok=True)


def _make(store: Store, changing: Changing, asked: Asked) -> None:
    kind = asked[0]["kind"]
    said: Any = ""
    problem = ""

    def note(stage: str, share: float) -> None:
        changing.write("now", {"stage": stage, "share": round(share, 3)})

    try:
        said = _DO[kind](store, [each["values"] for each in asked], note)
    except ServiceCallError as error:
        problem = plain_words(str(error))
    except Exception:
        logging.getLogger(__name__).exception("A change asked for in the browser failed")
        problem = "The program failed on this; the log says how. Nothing was changed."
    at = datetime.now(UTC).isoformat(timespec="seconds")
    ended = [
        {"kind": kind, "values": each["values"], "said": said, "problem": problem, "at": at} for each in asked
    ]
    changing.write("done", [*reversed(ended), *(changing.read("done") or [])][:MOST_DONE])
    changing.write("now", {})


def _settle(store: Store, asked: Asked, note: Note) -> bool:
    said = [
        Settled(each["field"], each["text"], None if each["codes"] is None else tuple(each["codes"]))
        for each in asked
    ]
    return settle(store, said, progress=note, wait_seconds=WAIT_SECONDS)


def _mend(store: Store, asked: Asked, note: Note) -> dict[str, int]:
    rows = {(file_id, line): fields for file_id, line, fields in asked[0]["rows"]}
    reports = mend(store, rows, order=asked[0]["order"], progress=note, wait_seconds=WAIT_SECONDS)
    files = [each for report in reports for each in report.files]
    return {
        "rows": sum(each.rows for each in files),
        "loaded": sum(each.loaded + each.updated + each.repeated for each in files),
        "set_aside": sum(each.set_aside for each in files),
    }


def _take_back(trial: bool) -> Callable[[Store, Asked, Note], dict[str, Any]]:
    def do(store: Store, asked: Asked, note: Note) -> dict[str, Any]:
        values = asked[0]
        made = store.current()
        taken = take_back(
            store,
            values["files"],
            load_id=values["load"],
            with_later=values["with_later"],
            trial=trial,
            progress=note,
            wait_seconds=WAIT_SECONDS,
        )
        return taken.to_dict() | {"generation": made.number if made else 0}

    return do


_DO: dict[str, Callable[[Store, Asked, Note], Any]] = {
    SETTLE: _settle,
    MEND: _mend,
    TRY: _take_back(trial=True),
    TAKE_BACK: _take_back(trial=False),
}


if __name__ == "__main__":
    os.nice(5)  # pages come first
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))  # as an exception, so that a draft is taken away
    work(Store(sys.argv[1]))
