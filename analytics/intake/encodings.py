"""Which encoding a file that is not plain UTF-8 is in, decided on its bytes, and its copy in UTF-8."""

import codecs
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from analytics.errors import BadFile, BadMapping
from analytics.intake.scanning import Scan

HEAD_BYTES = 64 * 1024
UNDEFINED_IN_CP1252 = frozenset(b"\x81\x8d\x8f\x90\x9d")
_MARKS = (
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_BEGINNINGS = (
    (b"PK\x03\x04", "a spreadsheet workbook or an archive"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet workbook"),
    (b"%PDF", "a PDF document"),
    (b"\x1f\x8b", "a compressed file"),
    (b"BZh", "a compressed file"),
    (b"\xfd7zXZ", "a compressed file"),
    (b"7z\xbc\xaf", "a compressed file"),
    (b"SQLite format 3\0", "a database file"),
    (b"PAR1", "a Parquet file"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"\x7fELF", "a program"),
    (b"MZ\x90", "a program"),
)


@dataclass(frozen=True)
class Encoding:
    """How the bytes of a file are to be read.

    Parameters
    ----------
    name : str
        A Python codec: utf-8, utf-8-sig, utf-16, utf-16-le, utf-16-be, cp1252, latin-1, or the mapping's.
    mixed : bool
        Most of the file is UTF-8, but some lines are not; those are read as Windows-1252.
    messages : tuple of str
        What a person should know about the decision.
    undecodable : frozenset of int
        Physical lines (1-based) that neither encoding can read.
    """

    name: str
    mixed: bool = False
    messages: tuple[str, ...] = ()
    undecodable: frozenset[int] = field(default=frozenset())

    @property
    def needs_copy(self) -> bool:
        """Whether the file has to be written anew as UTF-8 before it can be read."""
        return self.mixed or self.name not in ("utf-8", "utf-8-sig")


def decide(path: Path, scanned: Scan, wanted: str | None = None) -> Encoding:
    """Decide the encoding of a file on its bytes.

    Parameters
    ----------
    path : Path
    scanned : Scan
        What `scanning.scan` found.
    wanted : str, optional
        The encoding that the mapping names; it is believed.

    Raises
    ------
    BadFile
        When the file is no text.
    BadMapping
        When the mapping names an encoding that does not exist.
    """
    if wanted:
        try:
            name = codecs.lookup(wanted).name
        except LookupError:
            raise BadMapping(
                f"The mapping names the encoding '{wanted}', which does not exist. "
                "Common ones: utf-8, cp1252, latin-1, utf-16, cp850."
            ) from None
        if name in ("utf-8", "utf-8-sig") and not scanned.is_utf8:
            raise _does_not_fit(path, name)
        return Encoding(name)
    with path.open("rb") as stream:
        head = stream.read(HEAD_BYTES)
    _refuse_other_kinds(path, head)
    for mark, name in _MARKS:
        # A mark of UTF-8 promises what a stray line may break; such a file is read line by line below.
        if head.startswith(mark) and (name != "utf-8-sig" or scanned.is_utf8):
            return Encoding(name)
    if wide := _wide_without_mark(head):
        return Encoding(wide, messages=(f"read as {wide.upper()}: every other byte is zero",))
    _refuse_binary(path, head)
    if scanned.is_utf8:
        return Encoding("utf-8")
    return _eight_bit(path)


def write_copy(path: Path, encoding: Encoding, target: Path) -> None:
    """Write a file anew as UTF-8, line ends as they are.

    Raises
    ------
    BadFile
        When the file does not decode; the message says where.
    """
    try:
        if encoding.mixed:
            with path.open("rb") as source, target.open("wb") as copy:
                for line in source:
                    copy.write(_line_as_utf8(line))
            return
        errors = "replace" if encoding.undecodable else "strict"
        with (
            path.open("r", encoding=encoding.name, errors=errors, newline="") as source,
            target.open("w", encoding="utf-8", newline="") as copy,
        ):
            while text := source.read(1024 * 1024):
                copy.write(text)
    except UnicodeError as error:
        raise _does_not_fit(path, encoding.name, f": {str(error)[:200]}") from None


def _does_not_fit(path: Path, name: str, where: str = "") -> BadFile:
    return BadFile(
        f"{path.name} can not be read as {name}{where}. "
        "Name the right encoding in the mapping, or save the file as UTF-8."
    )


def _refuse_other_kinds(path: Path, head: bytes) -> None:
    for beginning, kind in _BEGINNINGS:
        if head.startswith(beginning):
            raise BadFile(
                f"{path.name} is {kind}, not a CSV file. Save the table as CSV (UTF-8) and load that."
            )


def _refuse_binary(path: Path, head: bytes) -> None:
    controls = sum(
        head.count(bytes([code])) for code in range(32) if code not in b"\t\n\r\x0b\x0c\x1a\x1c\x1d\x1e\x1f"
    )
    if controls > len(head) // 20:
        raise BadFile(
            f"{path.name} is no text: {controls} of its first {len(head):,} bytes are control characters. "
            "A file of records is a CSV file."
        )


def _wide_without_mark(head: bytes) -> str | None:
    even, odd = head[0::2].count(0), head[1::2].count(0)
    half = max(len(head) // 2, 1)
    if odd > 0.7 * half and even < 0.1 * half:
        return "utf-16-le"
    if even > 0.7 * half and odd < 0.1 * half:
        return "utf-16-be"
    return None


def _eight_bit(path: Path) -> Encoding:
    """Tell UTF-8 with stray lines, Windows-1252 and Latin-1 apart, on every line that is not ASCII."""
    utf8_lines, other_lines, seen = 0, [], set()
    undecodable = []
    for number, line in _lines(path):
        if line.isascii():
            continue
        try:
            line.decode("utf-8")
            utf8_lines += 1
        except UnicodeDecodeError:
            other_lines.append(number)
            high = {byte for byte in line if byte > 0x7F}
            seen |= high
            if high & UNDEFINED_IN_CP1252:
                undecodable.append(number)
    bad = frozenset(undecodable)
    unread = (
        (f"{len(bad):,} lines, the first of them {min(bad)}, hold bytes that Windows-1252 lacks: set aside",)
        if bad
        else ()
    )
    if utf8_lines:
        message = (
            f"mixed encodings: {utf8_lines:,} lines hold UTF-8 characters, {len(other_lines):,} do not "
            f"(the first is line {other_lines[0]}) and were read as Windows-1252"
        )
        return Encoding("utf-8", mixed=True, messages=(message, *unread), undecodable=bad)
    if any(0x80 <= byte <= 0x9F for byte in seen):
        return Encoding(
            "cp1252",
            messages=("read as Windows-1252: it holds bytes from 80 to 9F", *unread),
            undecodable=bad,
        )
    return Encoding("latin-1", messages=("read as Latin-1: no byte tells it from Windows-1252",))


def _lines(path: Path) -> Iterator[tuple[int, bytes]]:
    with path.open("rb") as stream:
        yield from enumerate(stream, 1)


def _line_as_utf8(line: bytes) -> bytes:
    try:
        line.decode("utf-8")
        return line
    except UnicodeDecodeError:
        return line.decode("cp1252", errors="replace").encode("utf-8")
