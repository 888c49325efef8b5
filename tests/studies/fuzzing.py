"""Files of any bytes, loaded: what must hold of each, and the files to begin from.

A file either loads, and then every row is accounted for and every number of a call that still stands in it
is found in the records or among the rows set aside; or it is refused with a message that names it. Anything
else is a finding.
"""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any
from unittest.mock import patch

import duckdb
from hypothesis import strategies as st

from analytics.errors import ServiceCallError
from analytics.intake import loading
from analytics.intake.loading import load_files
from analytics.store import Draft
from tests.analytics.intake.conftest import MemoryStore, load_catalogue_once
from tests.building import _parsed

CORPUS = Path(__file__).with_name("corpus")
NAME = "brought.csv"
TODAY = date(2026, 12, 31)
TOKEN = re.compile(r"(?<!\w)Q\d{4}Q(?!\w)")
REFUSED, LOADED = "refused", "loaded"


class Finding(AssertionError):
    """What the loader did with a file that it must not do."""


@contextmanager
def quick() -> Iterator[None]:
    """Leave out the marts, which see typed rows alone, and parse each statement once."""
    with (
        patch.object(loading, "build_marts", lambda *_, **__: None),
        patch.object(duckdb, "extract_statements", _parsed),
    ):
        yield


def outcome(content: bytes, folder: Path) -> str:
    """Load a file of these bytes into an empty store.

    Parameters
    ----------
    content : bytes
    folder : Path
        For the file and for scratch.

    Returns
    -------
    str
        `LOADED` or `REFUSED`.

    Raises
    ------
    Finding
        When a row is lost, a message does not name the file, or the loader fails in any other way.
    """
    path = folder / NAME
    path.write_bytes(content)
    store = LateStore(folder / "scratch")
    try:
        report = load_files(store, [path], today=TODAY, catalogue=load_catalogue_once()).files[0]  # type: ignore[arg-type]
    except ServiceCallError as refusal:
        if NAME not in str(refusal) or len(str(refusal)) > 5000:
            raise Finding(f"a message that does not name the file, or is endless: {refusal}") from refusal
        return REFUSED
    except Exception as error:
        raise Finding(f"{type(error).__name__}: {error}") from error
    cursor = store.cursor()
    table = report.table
    written = cursor.execute(f"select count(*) from records.{table}").fetchone()[0]  # type: ignore[index]
    aside = cursor.execute("select count(distinct line) from loads.set_aside").fetchone()[0]  # type: ignore[index]
    sums = (
        report.loaded,
        report.set_aside,
        report.loaded + report.updated + report.repeated + report.set_aside,
    )
    if (written, aside, report.rows) != sums:
        raise Finding(f"{written} written, {aside} set aside, {report.rows} rows; told: {report.to_text()}")
    if lost := _lost(content, table, cursor):
        raise Finding(f"lost without a word: {sorted(lost)[:5]}; told: {report.to_text()}")
    return LOADED


def _lost(content: bytes, table: str, cursor: duckdb.DuckDBPyConnection) -> set[str]:
    """Return the numbers of calls in the file that stand neither in the records nor among the set aside."""
    if table != "calls":
        return set()
    encoding, first = cursor.execute("select encoding, header[1] from loads.files").fetchone()  # type: ignore[misc]
    text_of_file = content.decode(encoding, errors="replace")
    kept = cursor.execute(
        "select coalesce(string_agg(call_id || ' ' || unit_id, ' '), '') from records.calls union all "
        "select coalesce(string_agg(array_to_string(fields, ' '), ' '), '') from loads.set_aside"
    ).fetchall()
    text = " ".join(each[0] for each in kept)
    return set(TOKEN.findall(_below_header(text_of_file, first))) - set(re.findall(r"Q\d{4}Q", text))


def _below_header(text: str, first: str) -> str:
    """What stands below the first line of the header, which a message names where others stand above it."""
    end = text.find("\n", max(text.find(first), 0))
    return text[end:] if end >= 0 else ""


class LateStore(MemoryStore):
    """A store in memory that is only made when a file is fit to be loaded."""

    def __init__(self, scratch: Path) -> None:
        self._scratch, self._loads = scratch, 0

    @contextmanager
    def writing(self, **named: Any) -> Iterator[Draft]:
        super().__init__(self._scratch)
        with super().writing(**named) as draft:
            yield draft


def seeds() -> dict[str, bytes]:
    """Return whole files in the ways offices write them, by a name each."""
    columns = ["call_id", "unit_id", "opened_at", "closed_at", "complaint", "notes"]
    found = {}
    for name, separator, quote, line_end, encoding in (
        ("plain", ",", "", "\n", "utf-8"),
        ("quoted", ",", '"', "\r\n", "utf-8"),
        ("semicolon", ";", '"', "\r\n", "cp1252"),
        ("tab", "\t", "", "\n", "utf-8-sig"),
        ("wide", ";", "", "\r\n", "utf-16"),
        ("bar", "|", "'", "\n", "latin-1"),
    ):
        rows = [columns] + [
            [f"Q{n:04}Q", f"U{n % 3}", f"2026-03-{n % 28 + 1:02} 09:00", f"2026-03-{n % 28 + 1:02} 12:00",
             "no ice, too warm" if quote else "no ice", "tür 5 \"° klemmt" if quote == "'" else "tür klemmt"]
            for n in range(8)
        ]  # fmt: skip
        text = line_end.join(separator.join(f"{quote}{cell}{quote}" for cell in row) for row in rows)
        found[name] = (text + line_end).encode(encoding)
    return found


PIECES = [
    b",", b";", b"\t", b"|", b'"', b"'", b'""', b"\n", b"\r", b"\r\n", b"\n\n", b"\0", b"\xef\xbb\xbf",
    b"\xff\xfe", b"\xfe\xff", b"\xff", b"\xc3", b"\xa0", b"\x1a", b"\x0c", b"\x85", b"\xe2\x80\xa8", b"\\",
    b"\\\"", b"=1+1", b"call_id", b"unit_id,opened_at", b"sep=;\n", b"2026-02-30", b"31.12.2026", b"12/31/26",
    b"nan", b"1e999", b"-0", b" " * 40, b"9" * 40, b"\xf0\x9f\xa7\x8a", b"\xed\xa0\x80", b"--", b"#",
    b"Q0001Q",
]  # fmt: skip


@st.composite
def mutated(draw: st.DrawFn) -> bytes:
    """A whole file with a few bytes taken out, put in, doubled or exchanged."""
    content = bytearray(draw(st.sampled_from(list(seeds().values()))))
    for _ in range(draw(st.integers(1, 6))):
        at = draw(st.integers(0, len(content)))
        length = draw(st.sampled_from([0, 0, 1, 1, 2, 7, 30, 120]))
        what = draw(st.sampled_from(["put", "put", "put", "take", "double", "swap"]))
        piece = bytes(content[at : at + length])
        if what == "put":
            content[at : at + length] = draw(st.one_of(st.sampled_from(PIECES), st.binary(max_size=6)))
        elif what == "take":
            del content[at : at + max(length, 1)]
        elif what == "double":
            content[at:at] = piece * draw(st.sampled_from([1, 2, 40]))
        else:
            to = draw(st.integers(0, len(content)))
            del content[at : at + length]
            content[to:to] = piece
    return bytes(content)


ALPHABET = st.sampled_from(
    [piece.decode("latin-1") for piece in PIECES] + list("ab1 Q") + ["Q0002Q", "no ice"]
)
SOUP = st.lists(ALPHABET, max_size=60).map("".join)


@st.composite
def soup(draw: st.DrawFn) -> bytes:
    """Text that is nearly CSV: a header that is known, then separators, quotes and line ends in any order."""
    header = draw(
        st.sampled_from(["", "call_id,unit_id,opened_at,complaint", "call_id;unit_id;opened_at;complaint"])
    )
    encoding = draw(st.sampled_from(["utf-8", "latin-1", "utf-16", "utf-16-le", "utf-32", "cp1252"]))
    return (header + draw(st.sampled_from(["\n", "\r\n", "\r", ""])) + draw(SOUP)).encode(
        encoding, errors="replace"
    )


ANY_FILE = st.one_of(mutated(), mutated(), soup(), st.binary(max_size=300))
