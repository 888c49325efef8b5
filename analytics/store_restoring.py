"""Restoring a backup into a folder of its own: checked whole before anything of it is in its place."""

import errno
import json
import os
import shutil
import tarfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from typing import Any

from analytics.errors import StoreProblem
from analytics.store_backup import CONTENTS, FORMAT, Backup, Digesting, Part
from analytics.store_files import Generation, sync
from analytics.store_opening import check_version, is_whole
from analytics.store_pointer import POINTER

ANOTHER = "Nothing was changed. Try another backup."
_MOST_CONTENTS_BYTES = 100_000_000


def look_into(path: Path) -> Backup:
    """Read a backup from end to end and compare every part with its digest.

    Raises
    ------
    StoreProblem
        When it can not be read, was cut short, or a part differs from what was written.
    """
    with _opened(path) as tar:
        backup = _contents(tar, path)
        for part, source in _parts(tar, path, backup):
            _copied(source, None, part, path)
    return backup


def restore(path: Path, folder: Path) -> Backup:
    """Put what stands in a backup into a folder that holds nothing yet.

    Parameters
    ----------
    path : Path
        The backup.
    folder : Path
        For the store: not there yet, or empty. It comes into being whole, in one step.

    Raises
    ------
    StoreProblem
        When the folder holds anything, the backup is damaged or of another version, or the disk refuses.
    """
    path, folder = Path(path).absolute(), Path(folder).absolute()
    _refuse(folder)
    beside = folder.with_name(f".{folder.name}.restoring")
    try:
        with _opened(path) as tar, _problems(folder):
            backup = _contents(tar, path)
            shutil.rmtree(beside, ignore_errors=True)
            beside.mkdir(parents=True)
            for part, source in _parts(tar, path, backup):
                target = beside / part.name
                target.parent.mkdir(parents=True, exist_ok=True)
                _copied(source, target, part, path)
                target.chmod(tar.getmember(part.name).mode & 0o777)
            _check_generation(beside, folder, path, backup)
            sync(beside)
            os.rename(beside, folder)
            sync(folder.parent)
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return backup


def _refuse(folder: Path) -> None:
    try:
        held = next(folder.iterdir(), None)
    except FileNotFoundError:
        return
    except OSError as error:
        raise StoreProblem(f"{folder} can not be used ({error.strerror}). Name another folder.") from error
    if held is not None:
        raise StoreProblem(
            f"{folder} is not empty (it holds {held.name}); a backup is never put over what is there. "
            f"Nothing was changed. Name another folder with --data, look at the figures there, and put it "
            f"in the old one's place."
        )


@contextmanager
def _opened(path: Path) -> Iterator[tarfile.TarFile]:
    try:
        with tarfile.open(path, "r:") as tar:
            yield tar
    except OSError as error:
        if error.filename not in (None, str(path)) or not error.strerror:
            raise
        raise StoreProblem(f"{path} can not be read ({error.strerror}). {ANOTHER}") from error
    except (tarfile.TarError, EOFError) as error:
        raise _unfit(path, f"is no backup, or was cut short ({error})") from error


def _contents(tar: tarfile.TarFile, path: Path) -> Backup:
    """Read what the backup says of itself, which was written last."""
    try:
        member = tar.getmember(CONTENTS)
        handle = tar.extractfile(member)
        if handle is None or member.size > _MOST_CONTENTS_BYTES:
            raise _unfit(path, "is no backup")
        found: dict[str, Any] = json.loads(handle.read())
        if found.pop("format") != FORMAT:
            raise _unfit(path, "was made by a newer program; update this one")
        parts = tuple(Part(**part) for part in found.pop("parts"))
        backup = Backup(**found, parts=parts)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise _unfit(path, "is no backup, or was cut short") from error
    if not all(_is_below(part.name) for part in parts):
        raise _unfit(path, "names files outside its own folder")
    *held, last = tar.getnames()
    if (sorted(held), last) != (sorted(part.name for part in parts), CONTENTS):
        raise _unfit(path, "does not hold what it says")
    return backup


def _is_below(name: str) -> bool:
    pure = PurePosixPath(name)
    return bool(pure.parts) and not pure.is_absolute() and ".." not in pure.parts


def _parts(tar: tarfile.TarFile, path: Path, backup: Backup) -> Iterator[tuple[Part, Any]]:
    for part in backup.parts:
        member = tar.getmember(part.name)
        source = tar.extractfile(member) if member.isreg() else None
        if source is None:
            raise _unfit(path, f"holds {part.name}, which is no plain file")
        yield part, source


def _copied(source: Any, target: Path | None, part: Part, path: Path) -> None:
    """Copy a part to the disk, or nowhere, and compare it with what was written."""
    counted = Digesting(source)
    if target is None:
        while counted.read(1 << 20):
            pass
    else:
        with open(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
            shutil.copyfileobj(counted, out, 1 << 20)
            out.flush()
            os.fsync(out.fileno())
    if counted.digest.hexdigest() != part.sha256:
        raise _unfit(path, f"is damaged: {part.name} is not as it was written")


def _check_generation(beside: Path, folder: Path, path: Path, backup: Backup) -> None:
    """Refuse what this program could not open, before it takes its place."""
    names = [part.name for part in backup.parts if part.name.endswith(".duckdb")]
    if len(names) != 1 or not (beside / POINTER).exists():
        raise _unfit(path, "does not hold one generation and its pointer")
    generation = Generation(backup.generation, folder / names[0], backup.schema_version, None)  # type: ignore[arg-type]
    check_version(generation)
    if not is_whole(beside / names[0]):
        raise _unfit(path, f"holds {names[0]}, which does not open")


def _unfit(path: Path, what: str) -> StoreProblem:
    return StoreProblem(f"{path} {what}. {ANOTHER}")


@contextmanager
def _problems(folder: Path) -> Iterator[None]:
    try:
        yield
    except tarfile.TarError:
        raise
    except OSError as error:
        way_out = "Make room, or name a folder on a larger disk with --data."
        if error.errno == errno.EBUSY:  # the folder itself is a mount point and can not be replaced
            way_out = f"{folder} is a disk of its own: name a folder in it with --data."
        raise StoreProblem(
            f"The backup could not be put into {folder} ({error.strerror or error}). Nothing was "
            f"changed. {way_out}"
        ) from error
