"""The pointer: a small file that says which generation is current, and is only ever replaced whole."""

import os
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from analytics.errors import StoreProblem
from analytics.store_files import Generation, generation_files, generation_number, sync, write_beside
from analytics.store_problems import store_problem

POINTER = "current"


@dataclass(frozen=True)
class _Pointer:
    name: str  # of the current generation; empty before the first load
    schema_version: int
    size_bytes: int  # of the generation when it was closed: another size later means damage
    newest: int  # the highest number ever given, so that no number is given twice after going back


def read_pointer(folder: Path) -> Generation | None:
    """Return the generation that the pointer names; None for a store that was never loaded into.

    Raises
    ------
    StoreProblem
        When the pointer is lost or unreadable, or the file it names is missing or has another size.
    """
    pointer = _parsed(folder)
    if pointer is None or not pointer.name:
        return None
    number = generation_number(pointer.name)
    if number is None:
        raise _lost(folder, f"The pointer file {folder / POINTER} names {pointer.name!r}, no generation.")
    path = folder / pointer.name
    try:
        status = path.stat()
    except FileNotFoundError:
        raise _lost(folder, f"{path}, the current generation, is missing.") from None
    if status.st_size != pointer.size_bytes:
        sizes = f"{status.st_size:,} bytes long and was closed with {pointer.size_bytes:,}"
        raise _lost(folder, f"{path}, the current generation, is damaged: it is {sizes}.")
    return Generation(number, path, pointer.schema_version, datetime.fromtimestamp(status.st_mtime))


def number_in_pointer(folder: Path) -> int | None:
    """Return the number that the pointer names, whatever became of that generation; None where unreadable."""
    try:
        pointer = _parsed(folder)
    except StoreProblem:
        return None
    return generation_number(pointer.name) if pointer else None


def newest_number(folder: Path) -> int:
    """Return the highest number that a generation of this store ever had; 0 before the first."""
    try:
        pointer = _parsed(folder)
    except StoreProblem:
        pointer = None
    return max([pointer.newest if pointer else 0, *generation_files(folder)])


def pointer_text(folder: Path, path: Path | None, schema_version: int) -> str:
    """Return what the pointer says for a generation file, or for a store that has none yet."""
    name, size = (path.name, path.stat().st_size) if path else ("", 0)
    lines = (
        f'file = "{name}"',
        f"schema_version = {schema_version}",
        f"bytes = {size}",
        f"newest = {newest_number(folder)}",
    )
    return "\n".join(lines) + "\n"


def replace_pointer(
    folder: Path, path: Path | None, schema_version: int, before: Callable[[], None] = lambda: None
) -> None:
    """Make a generation current, in one atomic step.

    Parameters
    ----------
    folder : Path
        The data folder.
    path : Path or None
        The generation file, closed and on the disk; None for a store that has none yet.
    schema_version : int
        Version of the tables in it.
    before : callable
        Called when the new pointer is on the disk under another name, just before it takes its place.
    """
    beside = write_beside(folder / POINTER, pointer_text(folder, path, schema_version))
    before()
    os.replace(beside, folder / POINTER)
    sync(folder)


def _parsed(folder: Path) -> _Pointer | None:
    try:
        text = (folder / POINTER).read_text(encoding="utf-8", errors="replace")
    except FileNotFoundError:
        if not generation_files(folder):
            return None
        raise _lost(folder, f"{folder} has lost its pointer file '{POINTER}'.") from None
    except OSError as error:
        raise store_problem(error, folder) or error from None
    try:
        facts = tomllib.loads(text)
        numbers = (int(facts[key]) for key in ("schema_version", "bytes", "newest"))
        return _Pointer(str(facts["file"]), *numbers)
    except (tomllib.TOMLDecodeError, KeyError, ValueError, TypeError):
        raise _lost(folder, f"The pointer file {folder / POINTER} is damaged: {text[:80]!r}.") from None


def _lost(folder: Path, what: str) -> StoreProblem:
    kept = ", ".join(path.name for path in generation_files(folder).values()) or "none"
    return StoreProblem(
        f"{what} Generations in the folder: {kept}. Run `service-calls --data {folder} go-back` to make the "
        f"newest earlier one that is whole current, or restore a backup."
    )
