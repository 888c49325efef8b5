"""Run as a process of its own by the store tests: add rows to a store, and stop for the killer at a stage.

Arguments: folder, first row, number of rows, stage, share, kind of store. "AT <stage> <share>" on standard
output says that the stage was reached; the process then sleeps until it is killed (stage "none": it never
stops, and says "DONE"; stage "race": it says "AT race 0.0" at the checkpoint and carries on).
"""

import os
import sys
import time
from pathlib import Path

from analytics import store as store_module
from analytics.store import Store
from analytics.store_files import generation_path
from analytics.store_pointer import POINTER, pointer_text, replace_pointer

INSERT = (
    "insert into records.technicians select 't' || i, null, null, 's', 1, i, i, null from range($a, $b) t(i)"
)


def stop(stage: str, share: float) -> None:
    print(f"AT {stage} {share}", flush=True)
    time.sleep(600)


def break_store(kind: str, folder: Path) -> None:
    """Swap one step for a version that is not atomic: the twins that the kill tests must catch."""
    if kind == "data in place":
        store_module.copy = os.link
    if kind == "pointer first":
        copy = store_module.copy

        def copy_and_point(source: Path, target: Path) -> None:
            copy(source, target)
            replace_pointer(folder, target, store_module.SCHEMA_VERSION)

        store_module.copy = copy_and_point
    if kind == "pointer in place":

        def write_slowly(folder: Path, path: Path, version: int, before: object = None) -> None:
            text = pointer_text(folder, path, version)
            with (folder / POINTER).open("w") as out:
                out.write(text[: len(text) // 2])
                out.flush()
                before()
                out.write(text[len(text) // 2 :])

        store_module.replace_pointer = write_slowly


def main(folder: str, first: str, rows: str, stage: str, share: str, kind: str) -> None:
    break_store(kind, Path(folder))

    def progress(reached: str, done: float) -> None:
        if stage == "race" and reached == "checkpoint":
            print("AT race 0.0", flush=True)
        if (reached, done) == (stage, float(share)):
            stop(reached, done)

    begin, middle, end = int(first), int(first) + int(rows) // 2, int(first) + int(rows)
    with Store(folder).writing(progress=progress) as draft:
        draft.connection.execute(INSERT, {"a": begin, "b": middle})
        draft.connection.execute("checkpoint")
        progress("writing", 0.5)
        draft.connection.execute(INSERT, {"a": middle, "b": end})
        assert generation_path(Path(folder), draft.generation).exists()
    print("DONE", flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
