"""The files of coded copies: their names, which of them count, and their removal."""

import re
from collections.abc import Iterable
from pathlib import Path

from analytics.store_files import generation_files, remove

_COPY = re.compile(r"coded-(\d{6,})\.duckdb")
_SCRATCH = re.compile(r"coded-(\d+)\.tmp")


def coded_path(folder: Path, number: int) -> Path:
    """Where the coded copy of the generation of this number lies."""
    return folder / f"coded-{number:06d}.duckdb"


def is_coded_copy(name: str) -> bool:
    """Say whether a file name is that of a coded copy."""
    return _COPY.fullmatch(name) is not None


def coded_copies(folder: Path) -> dict[int, Path]:
    """Every coded copy whose generation is there too, by number in rising order."""
    numbers = ((_COPY.fullmatch(path.name), path) for path in folder.glob("coded-*"))
    found = {int(match[1]): path for match, path in numbers if match}
    return {number: found[number] for number in sorted(found.keys() & generation_files(folder).keys())}


def remove_coded(folder: Path, kept: Iterable[int] = ()) -> None:
    """Remove coded copies but those of some generations, and what killed makers of them left."""
    paths = {coded_path(folder, number) for number in kept}
    for path in folder.glob("coded-*"):
        scratch = _SCRATCH.fullmatch(path.name)
        left = scratch is not None and not Path("/proc", scratch[1]).exists()
        if left or (is_coded_copy(path.name) and path not in paths):
            remove(path)
