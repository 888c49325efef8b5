"""Coded copies: a second file of a generation in which codes stand for technicians, and no name is left.

Whoever may not see names is answered from it by the same statements as everybody else: what a file does not
hold can not be shown by mistake.
"""

import json
import os
import shutil
from pathlib import Path

import duckdb

from analytics import queries
from analytics.coded_files import coded_path
from analytics.decisions import Decisions
from analytics.errors import StoreProblem
from analytics.store_files import Generation, generation_path, remove, sync
from analytics.store_opening import Settings, check_version, is_whole, open_for_reading
from analytics.store_problems import store_problem
from analytics.technician_codes import TechnicianCodes, mention, within_texts


def make_coded_copy(folder: Path, generation: Generation) -> Path:
    """Write the coded copy of a generation, unless it is there.

    Parameters
    ----------
    folder : Path
        The folder of the store.
    generation : Generation
        Stays as it is.

    Returns
    -------
    Path
        The copy: whole, or not there at all.

    Raises
    ------
    StoreProblem
        When there is no room, the folder can not be written, or the generation was removed meanwhile.
    """
    path = coded_path(folder, generation.number)
    if path.exists():
        return path
    try:
        return _made(folder, generation, path)
    except (OSError, duckdb.Error) as error:
        if problem := store_problem(error, folder):
            raise problem from error
        raise


def _made(folder: Path, generation: Generation, path: Path) -> Path:
    check_version(generation)
    free = shutil.disk_usage(folder).free
    if free < generation.path.stat().st_size:
        raise StoreProblem(
            f"The copy of the data in which codes stand for technicians needs as much room in {folder} as "
            f"the data; {free // 1_000_000:,} MB are free. Make room, or show names: "
            f"service-calls users names look"
        )
    codes = TechnicianCodes(folder)
    with open_for_reading(generation) as reading:
        named = queries.frame(reading, "coding/technicians")["technician"].to_list()
    given = codes.give([*named, *_named_by_decisions(folder)])
    scratch = folder / f"coded-{os.getpid()}.tmp"
    remove(scratch)
    scratch.mkdir()
    try:
        write_coded(generation.path, scratch / "afresh.duckdb", scratch, codes.all())
        sync(scratch / "afresh.duckdb")
        if not is_whole(scratch / "afresh.duckdb"):
            raise StoreProblem(f"The coded copy of {generation.path} could not be read back.")
        os.replace(scratch / "afresh.duckdb", path)
        sync(folder)
    finally:
        remove(scratch)
    # Whoever forgets removes the generation first and its copy then: one of the two sees the other.
    if not generation_path(folder, generation.number).exists():
        remove(path)
        codes.forget(given)
        raise StoreProblem(f"{generation.path} was removed while its coded copy was made.")
    return path


def write_coded(generation: Path, path: Path, scratch: Path, codes: dict[str, str]) -> None:
    """Write a generation into a new file, with a code in place of each technician.

    Parameters
    ----------
    generation, path : Path
        The file to read, and the file to make.
    scratch : Path
        Folder for what does not fit into memory.
    codes : dict of str to str
        By technician.
    """
    settings: Settings = {
        "threads": 1,  # the dashboard goes on answering meanwhile
        "memory_limit": "500MB",
        "temp_directory": str(scratch / "spill"),
        "autoinstall_known_extensions": False,
        "autoload_known_extensions": False,
    }
    pattern, texts = mention(codes), within_texts(codes)
    values = {
        "technicians": list(codes),
        "codes": list(codes.values()),
        "mention": pattern,
        "pieces": f"(?s:{pattern}|[A-Za-z0-9_]+|.)",
        "spoken": list(texts),
        "spoken_codes": list(texts.values()),
    }
    with duckdb.connect(":memory:", config=settings) as connection:
        queries.run(connection, "coding/attach", {"generation": str(generation), "path": str(path)})
        queries.run(connection, "coding/begin", values)
        queries.run(connection, "coding/copy")


def _named_by_decisions(folder: Path) -> list[str]:
    """Return technicians whom a decision names: who attended a lesson, and whose group was marked."""
    kept = Decisions(folder)
    attended = [
        name
        for value in kept.history("lesson")["value"]
        if value
        for name in json.loads(value).get("attended", [])
    ]
    groups = (key.split(":") for key in kept.history("group")["key"])
    return attended + [":".join(parts[1:-1]) for parts in groups if parts[0] == "technician"]
