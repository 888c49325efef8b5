"""Files that somebody brought, not loaded yet: streamed to a folder of the store, under invented names."""

import json
import os
import re
import secrets
import shutil
from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from analytics.errors import BadFile, StoreProblem, UnknownRecord
from analytics.store_files import remove, write_beside
from analytics.store_problems import store_problem

FOLDER = "uploads"
MOST_BYTES = 2_000_000_000
MOST_WAITING = 20
KEPT_FOR = timedelta(days=1)
CHUNK_BYTES = 1024 * 1024
LONGEST_NAME = 150
RECEIVED = "received"
WORKBOOK = b"PK\x03\x04"
_WITHOUT_RECORDS = ("about.json", "work.json", "kept.json")
_TOKEN = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True)
class Brought:
    """A file that was brought.

    Parameters
    ----------
    token : str
        32 hexadecimal digits that nobody can guess; the name of its folder.
    name : str
        What its owner calls it, without folders; never part of a path.
    size_bytes : int
    brought_at : str
        UTC, ISO 8601.
    is_workbook : bool
        It is an XLSX workbook; else text.
    """

    token: str
    name: str
    size_bytes: int
    brought_at: str
    is_workbook: bool


class Uploads:
    """The files brought to one store.

    Parameters
    ----------
    store_folder : Path
    now : callable
        Gives the time, UTC.
    """

    def __init__(self, store_folder: Path, now: Callable[[], datetime] = lambda: datetime.now(UTC)) -> None:
        self.folder = Path(store_folder) / FOLDER
        self._now = now

    def receive(self, name: str, size_bytes: int, read: Callable[[int], bytes]) -> Brought:
        """Write a file to the disk as it comes, a megabyte at a time.

        Parameters
        ----------
        name : str
            What its owner calls it.
        size_bytes : int
            How much is to come.
        read : callable
            Returns up to so many bytes; none when nothing more comes.

        Returns
        -------
        Brought

        Raises
        ------
        BadFile
            When it is empty, too large, or did not arrive whole; nothing of it is left on the disk.
        StoreProblem
            When too many files are waiting, or the disk refuses.
        """
        called = clean_name(name)
        _refuse_size(called, size_bytes)
        if len(self.waiting()) >= MOST_WAITING:
            raise StoreProblem(
                f"{MOST_WAITING} files were brought and are neither kept nor dropped. Finish or drop one."
            )
        token = secrets.token_hex(16)
        place = self.folder / token
        try:
            place.mkdir(parents=True)
            self._refuse_full(size_bytes)
            arrived, head = _write(place / RECEIVED, size_bytes, read)
            if arrived != size_bytes:
                raise BadFile(
                    f"Only {arrived:,} of the {size_bytes:,} bytes of {called} arrived. Nothing was kept; "
                    "bring it again."
                )
            moment = self._now().isoformat(timespec="seconds")
            brought = Brought(token, called, size_bytes, moment, head.startswith(WORKBOOK))
            self.write(token, "about", asdict(brought))
        except OSError as error:
            remove(place)
            raise store_problem(error, self.folder) or error from error
        except BaseException:
            remove(place)
            raise
        return brought

    def about(self, token: str) -> Brought:
        """Return one file that was brought.

        Raises
        ------
        UnknownRecord
            When there is none of this token, or it was kept, dropped or too old.
        """
        facts = self.read(token, "about")
        if facts is None:
            raise UnknownRecord(
                "This file is not here any more. It was loaded or dropped, or lay here for more than a day. "
                "Bring it again."
            )
        return Brought(**facts)

    def waiting(self) -> list[Brought]:
        """Return the files that were brought and not kept or dropped yet, latest first."""
        if not self.folder.is_dir():
            return []
        tokens = [path.name for path in self.folder.iterdir() if _TOKEN.fullmatch(path.name)]
        facts = [noted for token in tokens if (noted := self.read(token, "about"))]
        brought = [Brought(**each) for each in facts if (self.folder / each["token"] / RECEIVED).exists()]
        return sorted(brought, key=lambda each: each.brought_at, reverse=True)

    def place(self, token: str) -> Path:
        """Return the folder of one file.

        Raises
        ------
        UnknownRecord
            When the token is none.
        """
        if not _TOKEN.fullmatch(token):
            raise UnknownRecord("There is no such file. Bring it on the page Data.")
        return self.folder / token

    def read(self, token: str, name: str) -> dict[str, Any] | None:
        """Return what was noted about a file under a name; None where nothing was."""
        try:
            return json.loads((self.place(token) / f"{name}.json").read_text(encoding="utf-8"))
        except (FileNotFoundError, NotADirectoryError):
            return None
        except ValueError as error:
            raise StoreProblem(
                f"What was noted about this file can not be read ({error}). Bring it again."
            ) from None

    def write(self, token: str, name: str, facts: dict[str, Any]) -> None:
        """Note something about a file, whole or not at all; nothing is noted on a file that was dropped."""
        path = self.place(token) / f"{name}.json"
        if path.parent.is_dir():
            os.replace(write_beside(path, json.dumps(facts, ensure_ascii=False)), path)

    def forget_bytes(self, token: str) -> None:
        """Remove the file itself and all that was copied out of it; what became of it stays noted."""
        place = self.place(token)
        if place.is_dir():
            for path in place.iterdir():
                if path.name not in _WITHOUT_RECORDS:
                    remove(path)

    def drop(self, token: str) -> None:
        """Remove a file and all that was noted about it."""
        remove(self.place(token))

    def tidy(self) -> int:
        """Remove what nobody worked at for a day, and say how much that was."""
        if not self.folder.is_dir():
            return 0
        oldest, removed = (self._now() - KEPT_FOR).timestamp(), 0
        for path in list(self.folder.iterdir()):
            inside = [path, *(path.iterdir() if path.is_dir() else ())]
            if max(each.stat().st_mtime for each in inside if each.exists()) < oldest:
                remove(path)
                removed += 1
        return removed

    def _refuse_full(self, size_bytes: int) -> None:
        free = shutil.disk_usage(self.folder).free
        if free < 2 * size_bytes:
            raise StoreProblem(
                f"The file has {size_bytes / 1e6:,.0f} MB, and the disk of the store has "
                f"{free / 1e6:,.0f} MB free; twice its size is wanted. Make room, then bring it again."
            )


def clean_name(name: str) -> str:
    """Name of a file for people: without folders and control characters, not too long.

    >>> clean_name("C:\\\\exports\\\\march.csv")
    'march.csv'
    """
    last = re.split(r"[\\/]", name)[-1]
    shown = "".join(each for each in last if each.isprintable()).strip()
    if len(shown) > LONGEST_NAME:
        shown = shown[: LONGEST_NAME - 10] + "…" + shown[-9:]
    return shown if shown.strip(". ") else "a file without a name"


def _refuse_size(called: str, size_bytes: int) -> None:
    if size_bytes <= 0:
        raise BadFile(f"{called} is empty. A file of records begins with a line that names its columns.")
    if size_bytes > MOST_BYTES:
        raise BadFile(
            f"{called} has {size_bytes / 1e9:.1f} GB; a file brought here can have "
            f"{MOST_BYTES / 1e9:.0f} GB. Export it in parts, such as one year each."
        )


def _write(path: Path, size_bytes: int, read: Callable[[int], bytes]) -> tuple[int, bytes]:
    """Copy until all is there; one byte more than announced counts as not whole."""
    arrived, head = 0, b""
    with path.open("wb") as out:
        while chunk := read(CHUNK_BYTES):
            head = head or chunk[:8]
            arrived += len(chunk)
            if arrived > size_bytes:
                break
            out.write(chunk)
    return arrived, head
