"""Reads the one kind of R data file that is needed: a data frame of factors, saved in the XDR format.

The format: R Internals, section 1.8 "Serialization Formats", of the R project's manuals.
"""

import lzma
import struct
from pathlib import Path
from typing import Any

import polars as pl

MAGIC = b"RDX2\nX\n"
NULL, SYMBOL, PAIRS, CHARACTERS, LOGICALS, INTEGERS, REALS, STRINGS, LIST = 254, 1, 2, 9, 10, 13, 14, 16, 19
REFERENCE = 255
MISSING_INTEGER = -(2**31)


class Values(list[Any]):
    """A vector of R with its attributes."""

    def __init__(self, values: list[Any]) -> None:
        super().__init__(values)
        self.attributes: dict[str, Any] = {}


class _Reader:
    def __init__(self, content: bytes) -> None:
        self.content, self.at = content, 0
        self.symbols: list[str] = []

    def numbers(self, kind: str, count: int) -> list[Any]:
        form = struct.Struct(f">{count}{kind}")
        values = form.unpack_from(self.content, self.at)
        self.at += form.size
        return list(values)

    def integer(self) -> int:
        return int(self.numbers("i", 1)[0])

    def item(self) -> Any:
        flags = self.integer()
        kind = flags & 0xFF
        if kind == NULL:
            return None
        if kind == REFERENCE:
            return self.symbols[(flags >> 8) - 1]
        if kind == SYMBOL:
            self.symbols.append(self.item())
            return self.symbols[-1]
        if kind == PAIRS:
            return self._pairs(flags)
        length = self.integer()
        if kind == CHARACTERS:
            return None if length < 0 else self._text(length)
        values = Values(self._elements(kind, length))
        if flags & 0x200:
            values.attributes = self.item()
        return values

    def _text(self, length: int) -> str:
        self.at += length
        return self.content[self.at - length : self.at].decode("latin-1")

    def _elements(self, kind: int, length: int) -> list[Any]:
        if kind in (LOGICALS, INTEGERS):
            return self.numbers("i", length)
        if kind == REALS:
            return self.numbers("d", length)
        if kind in (STRINGS, LIST):
            return [self.item() for _ in range(length)]
        raise ValueError(f"R's type {kind} is not read here, at byte {self.at}.")

    def _pairs(self, flags: int) -> dict[str, Any]:
        found = {}
        while flags & 0xFF == PAIRS:
            if flags & 0x200:
                self.item()
            name = self.item()
            found[name] = self.item()
            flags = self.integer()
        return found


def data_frame(path: Path, name: str) -> pl.DataFrame:
    """Read a data frame of factors: a column of words each, null where R has NA."""
    content = lzma.decompress(path.read_bytes())
    if not content.startswith(MAGIC):
        raise ValueError(f"{path} is not data saved by R in the XDR format, version 2.")
    reader = _Reader(content)
    reader.at = len(MAGIC) + 3 * 4  # versions of the format and of R
    frame = reader.item()[name]
    columns = zip(frame.attributes["names"], frame, strict=True)
    return pl.DataFrame({name: _words(column) for name, column in columns})


def _words(factor: Values) -> pl.Series:
    levels = factor.attributes["levels"]
    return pl.Series(
        [None if code == MISSING_INTEGER else levels[code - 1] for code in factor], dtype=pl.String
    )
