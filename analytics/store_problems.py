"""What the disk refused, in plain words."""

import errno
import os
import shutil
from pathlib import Path

import duckdb

from analytics.errors import StoreProblem

_FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
_REFUSED = (errno.EROFS, errno.EACCES, errno.EPERM)
_NO_FOLDER = (errno.ENOTDIR, errno.EEXIST)


def damaged(path: Path, error: BaseException) -> StoreProblem:
    """Say that a generation can not be read, and what to do."""
    return StoreProblem(
        f"{path} can not be read: {str(error)[:200]} If the file is damaged, run "
        f"`service-calls --data {path.parent} go-back` to return to the generation before it, and load again."
    )


def store_problem(error: Exception, folder: Path) -> StoreProblem | None:
    """Return the same problem in plain words, with a way out.

    Parameters
    ----------
    error : Exception
        What the operating system or DuckDB said.
    folder : Path
        The data folder of the store.

    Returns
    -------
    StoreProblem or None
        None where the error is about something else than the store.
    """
    if _says(error, _FULL):
        free = f"{shutil.disk_usage(folder).free // 1_000_000:,} MB free" if folder.exists() else "none free"
        return StoreProblem(
            f"No space left for the store in {folder} ({free}; a load needs room for a second copy of the "
            f"database). Nothing was changed. Make room, or move the folder to a larger disk and name it "
            f"with --data."
        )
    if isinstance(error, duckdb.OutOfMemoryException):
        return StoreProblem(
            f"Memory, or space for scratch files in {folder}, ran out. Nothing was changed. Make room on "
            f"that disk, or load fewer files at a time. ({str(error)[:160]})"
        )
    if str(folder) in str(error) and _says(error, _REFUSED):
        return StoreProblem(
            f"The folder {folder} can not be read or written. Nothing was changed. Give the user that runs "
            f"this program the right to, or name another folder with --data."
        )
    if isinstance(error, OSError) and error.errno in _NO_FOLDER and str(folder) in str(error):
        return StoreProblem(f"{folder} is not a folder. Name a folder for the store with --data.")
    if isinstance(error, FileNotFoundError) and not folder.exists():
        return StoreProblem(f"There is no folder {folder}. Name the folder of the store with --data.")
    if isinstance(error, duckdb.IOException) and "corrupt" in str(error).lower():
        return damaged(folder, error)
    return None


def _says(error: Exception, numbers: tuple[int, ...]) -> bool:
    """Say whether the system gave one of these error numbers; DuckDB passes on only their text."""
    if isinstance(error, OSError):
        return error.errno in numbers
    return isinstance(error, duckdb.Error) and any(os.strerror(number) in str(error) for number in numbers)
