"""The work on a file that was brought, in a process of its own: looking at it, trying it, keeping it."""

import contextlib
import logging
import os
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from typing import Any

from analytics.errors import BadQuestion, NeedsAnswer, ServiceCallError
from analytics.intake import looking, work_lock, workbooks
from analytics.intake.bringing_answers import Answers, begun, from_saved
from analytics.intake.loading import load_files
from analytics.intake.saved_mappings import SavedMappings
from analytics.intake.uploads import RECEIVED, Uploads
from analytics.processes import python_path
from analytics.store import Store

LOCK, SAMPLE, SHEET = "work.lock", "sample.csv", "sheet.csv"
WAIT_SECONDS = 60.0
_NOTED_EVERY_S = 0.3


@contextmanager
def held(uploads: Uploads, token: str) -> Iterator[int]:
    """Hold the right to work on a file; gives the handle, for a process started meanwhile to take over.

    Raises
    ------
    BadQuestion
        When work on it goes on.
    """
    handle = os.open(uploads.place(token) / LOCK, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        if not work_lock.take(handle, patience_s=1.0):
            raise BadQuestion("Work on this file goes on already. Wait until it has ended.")
        yield handle
    finally:
        os.close(handle)


def runs(uploads: Uploads, token: str) -> bool:
    """Say whether a process works on a file: it holds a lock that goes with it, however it ends."""
    return work_lock.is_held(uploads.place(token) / LOCK)


def start(store: Store, token: str, handle: int) -> None:
    """Start the work that was noted on a file in a process of its own, which takes over the lock."""
    process = subprocess.Popen(
        [sys.executable, "-m", "analytics.intake.bringing_work", str(store.folder), token],
        env=os.environ | {"PYTHONPATH": python_path()},
        pass_fds=(handle,),
        stdin=subprocess.DEVNULL,
        start_new_session=True,
    )
    (Uploads(store.folder).place(token) / "process").write_text(str(process.pid))
    threading.Thread(target=process.wait, daemon=True).start()


def stop(uploads: Uploads, token: str) -> None:
    """End the process that works on a file, if one does; the store stays as it was before."""
    if not runs(uploads, token):
        return
    with contextlib.suppress(FileNotFoundError, ProcessLookupError, ValueError):
        os.kill(int((uploads.place(token) / "process").read_text()), signal.SIGTERM)
    until = time.monotonic() + 10
    while runs(uploads, token):
        if time.monotonic() > until:
            raise BadQuestion("The work on this file does not end. Wait until it has, then drop the file.")
        time.sleep(0.05)


def work(store: Store, token: str) -> None:
    """Do the work that was noted on a file, and note how it ended."""
    uploads = Uploads(store.folder)
    noted = uploads.read(token, "work") or {}
    note = _noting(uploads, token, noted)
    try:
        {"look": _look, "try": _try, "keep": _keep}[noted["kind"]](store, uploads, token, noted, note)
    except NeedsAnswer as problem:
        noted |= {"problem": plain_words(str(problem)), "columns": list(problem.columns)}
    except ServiceCallError as problem:
        noted |= {"problem": plain_words(str(problem))}
    except Exception:
        logging.getLogger(__name__).exception("Work on a file that was brought failed")
        noted |= {"problem": "The program failed on this file; the log says how. Nothing was changed."}
    uploads.write(token, "work", noted | {"ended": True})


def plain_words(text: str) -> str:
    """Leave out of a message what is meant for the command line.

    >>> plain_words("Load it again with its extraction date (--extracted).")
    'Load it again with its extraction date.'
    """
    text = re.sub(r" \(--[a-z-]+\)|, or give a longer --wait", "", text)
    text = re.sub(r" Write in(?:to)? a mapping\n.*?load the file with --mapping\.", "", text, flags=re.DOTALL)
    return re.sub(r" `service-calls [^`]*` .*$", "", text, flags=re.DOTALL)


Note = Callable[[str, float], None]


def _look(store: Store, uploads: Uploads, token: str, noted: dict[str, Any], note: Note) -> None:
    """Look at the file; where a kept mapping knows its header, try it at once."""
    brought, place = uploads.about(token), uploads.place(token)
    for name in ("tried", "suggested", "answers", "known"):
        (place / f"{name}.json").unlink(missing_ok=True)
    path, sheets = place / RECEIVED, dict[str, Any]()
    if brought.is_workbook:
        names = workbooks.sheet_names(path, brought.name)
        chosen = noted["sheet"] if "sheet" in noted else workbooks.largest_sheet(path, brought.name)
        sheets = {"sheets": names, "sheet": chosen}
        uploads.write(token, "look", sheets)
        workbooks.write_csv(path, chosen, place / SHEET, brought.name, lambda share: note("unpacking", share))
        path = place / SHEET
    note("looking", 0.0)
    seen = looking.look(path, brought.name, place / SAMPLE) | sheets
    uploads.write(token, "look", seen)
    saved = None if noted.get("table") else SavedMappings(store.folder).recognise(seen["header"])
    if saved:
        uploads.write(token, "answers", from_saved(saved, seen["header"], brought.name).to_dict())
        known = {"name": saved.name, "version": saved.version, "made_at": saved.made_at}
        uploads.write(token, "known", known)
        noted["kind"] = "try"
        _try(store, uploads, token, noted, note)
        return
    note("looking", 0.5)
    suggested = looking.suggest(place / SAMPLE, seen["sign"], noted.get("table") or None)
    uploads.write(token, "suggested", suggested)
    uploads.write(token, "answers", begun(suggested, brought.name).to_dict())


def _try(store: Store, uploads: Uploads, token: str, noted: dict[str, Any], note: Note) -> None:
    uploads.write(token, "tried", _load(store, uploads, token, note, None))


def _keep(store: Store, uploads: Uploads, token: str, noted: dict[str, Any], note: Note) -> None:
    report = _load(store, uploads, token, note, noted.get("who", ""))
    answers = Answers(**(uploads.read(token, "answers") or {}))
    header = (uploads.read(token, "look") or {})["header"]
    name = answers.name or uploads.about(token).name
    saved = SavedMappings(store.folder).save(header, name, answers.to_mapping(header))
    uploads.write(token, "kept", report | {"mapping": saved.name, "version": saved.version})
    uploads.forget_bytes(token)


def _load(store: Store, uploads: Uploads, token: str, note: Note, who: str | None) -> dict[str, Any]:
    """Load the file as `who` wants it, who stands in the audit; a trial, kept by nobody, for None."""
    answers = Answers(**(uploads.read(token, "answers") or {}))
    look, brought = uploads.read(token, "look") or {}, uploads.about(token)
    report = load_files(
        store,
        [uploads.place(token) / (SHEET if brought.is_workbook else RECEIVED)],
        mapping=answers.to_mapping(look["header"]),
        table=answers.table,
        extracted=date.fromisoformat(answers.extracted) if answers.extracted else None,
        full_extract=answers.full_extract,
        progress=note,
        called=_called(brought.name, look),
        trial=who is None,
        wait_seconds=WAIT_SECONDS,
        who=who or "",
    )
    return report.to_dict()


def _called(name: str, look: dict[str, Any]) -> str:
    """Name of the file as the records keep it; of a workbook with several sheets also the sheet."""
    sheets = look.get("sheets", ())
    return f"{name}, {sheets[look['sheet']]}" if len(sheets) > 1 else name


def _noting(uploads: Uploads, token: str, noted: dict[str, Any]) -> Note:
    last = 0.0

    def note(stage: str, share: float) -> None:
        nonlocal last
        now = time.monotonic()
        if stage != noted.get("stage") or now - last > _NOTED_EVERY_S:
            noted.update(stage=stage, share=round(share, 3))
            uploads.write(token, "work", noted)
            last = now

    return note


if __name__ == "__main__":
    os.nice(5)  # pages come first
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))  # as an exception, so that a draft is taken away
    work(Store(sys.argv[1]), sys.argv[2])
