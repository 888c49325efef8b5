"""The files of a store: their names, durable writes and cheap copies."""

import errno
import fcntl
import os
import re
import shutil
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

_GENERATION = re.compile(r"generation-(\d{6,})\.duckdb")
_FICLONE = 0x40049409  # the ioctl that shares blocks between two files; source: linux/fs.h


@dataclass(frozen=True)
class Generation:
    """One database file of a store.

    Parameters
    ----------
    number : int
        Counts up by one a load.
    path : Path
        The DuckDB file.
    schema_version : int
        Version of the tables in it.
    made_at : datetime
        Local time at which it was closed.
    """

    number: int
    path: Path
    schema_version: int
    made_at: datetime


def generation_path(folder: Path, number: int) -> Path:
    """Where the generation of this number lies."""
    return folder / f"generation-{number:06d}.duckdb"


def generation_number(name: str) -> int | None:
    """Return the number in the name of a generation file; None for any other name."""
    match = _GENERATION.fullmatch(name)
    return int(match[1]) if match else None


def generation_files(folder: Path) -> dict[int, Path]:
    """Every generation file in the folder, whole or not, by number in rising order."""
    numbers = ((generation_number(path.name), path) for path in folder.glob("generation-*"))
    return dict(sorted((number, path) for number, path in numbers if number is not None))


def sync(path: Path) -> None:
    """Wait until a file, or the entries of a folder, are on the disk."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def write_beside(path: Path, text: str) -> Path:
    """Write a text, down to the disk, beside `path`, from where `os.replace` puts it in its place."""
    beside = path.with_name(path.name + ".new")
    with beside.open("w", encoding="utf-8") as out:
        out.write(text)
        out.flush()
        os.fsync(out.fileno())
    return beside


def copy(source: Path, target: Path) -> None:
    """Copy a file, sharing its blocks where the file system can, which costs neither time nor space."""
    with source.open("rb") as old, target.open("wb") as new:
        try:
            fcntl.ioctl(new.fileno(), _FICLONE, old.fileno())
            return
        except OSError as error:
            if error.errno == errno.ENOSPC:
                raise
    shutil.copyfile(source, target)


def remove(path: Path) -> None:
    """Remove a database file with its log, or a folder of scratch files, if it is there."""
    if path.is_dir():
        shutil.rmtree(path, ignore_errors=True)
    else:
        path.unlink(missing_ok=True)
        path.with_name(path.name + ".wal").unlink(missing_ok=True)
