"""A backup: one tar file with all of a store that no file can bring back, and a digest of each part."""

import errno
import hashlib
import io
import json
import os
import shutil
import sqlite3
import tarfile
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from typing import Any, BinaryIO

import duckdb

from analytics import queries
from analytics.coded_files import is_coded_copy
from analytics.decision_files import connect
from analytics.decision_problems import decision_problem
from analytics.errors import StoreProblem
from analytics.store_files import Generation, generation_number, sync
from analytics.store_lock import LOCK
from analytics.store_pointer import POINTER, pointer_text
from analytics.store_problems import damaged
from analytics.store_reader import Reader

CONTENTS = "contents.json"
FORMAT = 1
LEFT_OUT = frozenset({LOCK, POINTER, "uploads", "demo-fleet"})
"""Names in the folder of a store that a backup has no use for; the pointer is written anew."""
SCRATCH_ENDINGS = (".tmp", ".new", ".part", ".wal", "-wal", "-shm", "-journal")
_TRIES = 5
_CHUNK = 1 << 20


@dataclass(frozen=True)
class Part:
    """One file in a backup.

    Parameters
    ----------
    name : str
        Its path in the folder of the store.
    size_bytes : int
    sha256 : str
    """

    name: str
    size_bytes: int
    sha256: str


@dataclass(frozen=True)
class Backup:
    """What stands in a backup.

    Parameters
    ----------
    made_at : str
        UTC, ISO 8601.
    program_version : str
    schema_version : int
        Of the tables.
    generation : int
    rows : dict
        Of each table, by its name.
    parts : tuple of Part
    """

    made_at: str
    program_version: str
    schema_version: int
    generation: int
    rows: dict[str, int]
    parts: tuple[Part, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return what is written into the file, for programs."""
        return {"format": FORMAT} | asdict(self)


def back_up(folder: Path, target: Path) -> Backup:
    """Write the current generation, the decisions, the model and the mappings into one file.

    Parameters
    ----------
    folder : Path
        Of the store; nothing in it is changed, and loads and decisions go on meanwhile.
    target : Path
        A file that is not there yet, outside that folder.

    Returns
    -------
    Backup

    Raises
    ------
    StoreProblem
        When something in the store is damaged, or the file can not be written. Nothing is left of it then.

    Notes
    -----
    Every table is read through first, and the file of decisions is checked: a backup of what is damaged
    would only be noticed when it is needed. A generation never changes once it is current, so no lock is
    needed; the decisions are copied by SQLite's own means, as they were in one moment after that generation.
    """
    folder, target = Path(folder).absolute(), Path(target).absolute()
    _refuse(folder, target)
    beside = target.with_name(f"{target.name}.{os.getpid()}.part")
    try:
        with _problems(target), tempfile.TemporaryDirectory(dir=target.parent, prefix=".backup-") as scratch:
            generation, rows, pointer, handle = _current(folder)
            with handle, _private(beside) as out, tarfile.open(fileobj=out, mode="w") as tar:
                parts = [_add(tar, generation.path.name, handle)]
                parts += _others(tar, folder, Path(scratch))
                parts.append(_add(tar, POINTER, _text(pointer)))
                made = Backup(
                    datetime.now(UTC).isoformat(timespec="seconds"),
                    version("service-call-analytics"),
                    generation.schema_version,
                    generation.number,
                    rows,
                    tuple(parts),
                )
                _add(tar, CONTENTS, _text(json.dumps(made.to_dict(), indent=1)))
            sync(beside)
            _refuse(folder, target)  # once more: it may have come into being meanwhile
            os.replace(beside, target)
            sync(target.parent)
    finally:
        beside.unlink(missing_ok=True)
    return made


def _refuse(folder: Path, target: Path) -> None:
    if target.exists():
        raise StoreProblem(
            f"{target} is already there. Nothing was changed. Name another file for the backup."
        )
    if target.is_relative_to(folder):
        raise StoreProblem(
            f"{target} lies in the folder of the store itself, and would be lost with it. Nothing was "
            f"changed. Name a file in another folder, best on another disk."
        )


def _current(folder: Path) -> tuple[Generation, dict[str, int], str, BinaryIO]:
    """Read the current generation through; return it, its rows, what the pointer says, and its open file."""
    for _ in range(_TRIES):
        cursor, generation = Reader(folder).now()
        try:
            handle, pointer = (
                generation.path.open("rb"),
                pointer_text(folder, generation.path, generation.schema_version),
            )
        except FileNotFoundError:
            continue  # two loads ended in between, and the second removed it
        try:
            names = queries.frame(cursor, "store/tables")["name"]
            rows = {
                name: queries.frame(cursor, "store/read_through", {"table": name})["rows"][0]
                for name in names
            }
        except duckdb.Error as error:
            handle.close()
            raise damaged(generation.path, error) from error
        return generation, rows, pointer, handle
    raise StoreProblem(f"The current generation of {folder} keeps vanishing. Is something deleting it?")


def _others(tar: tarfile.TarFile, folder: Path, scratch: Path) -> list[Part]:
    """Add what lies beside the generations: decisions, model, mappings, and whatever else belongs there."""
    parts = []
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder)
        if left_out(name) or path.is_symlink() or not path.is_file():
            continue
        source = path
        if path.suffix == ".sqlite":
            source = scratch / "copy.sqlite"
            _copy_database(path, source)
        with source.open("rb") as handle:
            parts.append(_add(tar, name.as_posix(), handle, path.stat().st_mode))
    return parts


def left_out(name: Path) -> bool:
    """Say whether a file, by its path in the folder of the store, is no part of a backup."""
    top = name.parts[0]
    return (
        top in LEFT_OUT
        or generation_number(top) is not None  # the current one is added by itself
        or is_coded_copy(top)  # made anew from it
        or any(part.endswith(SCRATCH_ENDINGS) for part in name.parts)
    )


def _copy_database(path: Path, target: Path) -> None:
    """Copy an SQLite file as it is in one moment, while others write to it."""
    target.unlink(missing_ok=True)
    try:
        with closing(connect(path, "ro")) as source, closing(sqlite3.connect(target)) as copy:
            source.backup(copy)
            found = copy.execute(queries.statement("decisions/sound")).fetchall()
    except sqlite3.Error as error:
        raise decision_problem(error, path) from error
    if found != [("ok",)]:
        raise decision_problem(sqlite3.DatabaseError(f"malformed: {found[0][0]}"), path)


def _add(tar: tarfile.TarFile, name: str, handle: BinaryIO, mode: int = 0o644) -> Part:
    """Add an open file, and take its digest from the very bytes that are written."""
    status = os.fstat(handle.fileno()) if not isinstance(handle, io.BytesIO) else None
    member = tarfile.TarInfo(name)
    member.size = status.st_size if status else len(handle.getbuffer())  # type: ignore[attr-defined]
    member.mtime = int(status.st_mtime) if status else int(datetime.now(UTC).timestamp())
    member.mode = mode & 0o777
    counted = Digesting(handle)
    tar.addfile(member, counted)
    return Part(name, member.size, counted.digest.hexdigest())


class Digesting(io.RawIOBase):
    """Passes on what it reads, and keeps the digest of it."""

    def __init__(self, handle: Any) -> None:
        self._handle = handle
        self.digest = hashlib.sha256()

    def read(self, size: int = -1) -> bytes:
        """Read, and count in what was read."""
        found: bytes = self._handle.read(size)
        self.digest.update(found)
        return found


def _text(text: str) -> BinaryIO:
    return io.BytesIO(text.encode())


@contextmanager
def _private(path: Path) -> Iterator[BinaryIO]:
    """Open a new file that only its owner may read: names, notes and hashes of passwords stand in it."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "wb", buffering=_CHUNK) as out:
        yield out


@contextmanager
def _problems(target: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        folder = target.parent
        if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
            free = f"{shutil.disk_usage(folder).free // 1_000_000:,} MB free"
            what = f"No space left for the backup in {folder} ({free})."
        elif not folder.is_dir():
            what = f"There is no folder {folder}."
        else:
            what = f"{target} could not be written ({error.strerror or error})."
        raise StoreProblem(f"{what} Nothing was kept of it, and the store is as it was.") from error
