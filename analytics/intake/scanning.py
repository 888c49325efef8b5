"""One pass over the bytes of a file: its hash, its lines, and whether it is UTF-8."""

import codecs
import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from analytics.errors import BadFile

CHUNK_BYTES = 4 * 1024 * 1024
LINE_FEED = 10
UTF8_BOM = codecs.BOM_UTF8


@dataclass(frozen=True)
class Scan:
    """What the bytes of a file say.

    Parameters
    ----------
    size_bytes : int
    sha256 : str
        Hexadecimal.
    is_utf8 : bool
        The whole file decodes as UTF-8; a byte order mark may lead it.
    has_bom : bool
        A UTF-8 byte order mark leads it.
    lines : int
        Physical lines without the empty ones at the end; a last line without line end counts.
    has_nul : bool
        It holds zero bytes.
    line_end : str or None
        What ends every line, line feed with or without carriage return; None where the ends are mixed.
    """

    size_bytes: int
    sha256: str
    is_utf8: bool
    has_bom: bool
    lines: int
    has_nul: bool
    line_end: str | None


def scan(path: Path, progress: Callable[[float], None] | None = None) -> Scan:
    """Read a file once.

    Raises
    ------
    BadFile
        When it can not be read, or is empty.
    """
    try:
        size = path.stat().st_size
        with path.open("rb") as stream:
            found = _scan(stream.read, size, progress)
    except FileNotFoundError:
        raise BadFile(f"There is no file {path}.") from None
    except IsADirectoryError:
        raise BadFile(f"{path} is a folder. Name the files in it.") from None
    except PermissionError:
        raise BadFile(f"{path} may not be read by this user. Change its permissions.") from None
    if found.size_bytes == 0:
        raise BadFile(f"{path.name} is empty. A file of records begins with a header line.")
    return found


def _scan(read: Callable[[int], bytes], size: int, progress: Callable[[float], None] | None) -> Scan:
    digest, decoder = hashlib.sha256(), codecs.getincrementaldecoder("utf-8")("strict")
    done = feeds = returns = pairs = 0
    has_nul = False
    is_utf8, pending, head, tail = True, False, b"", b""
    while chunk := read(CHUNK_BYTES):
        digest.update(chunk)
        head = head or chunk[:4]
        feeds += int(np.count_nonzero(np.frombuffer(chunk, dtype=np.uint8) == LINE_FEED))
        has_nul = has_nul or b"\0" in chunk
        if b"\r" in chunk or tail.endswith(b"\r"):
            returns += chunk.count(b"\r")
            pairs += chunk.count(b"\r\n") + (tail.endswith(b"\r") and chunk.startswith(b"\n"))
        if is_utf8 and (pending or not chunk.isascii()):
            try:
                decoder.decode(chunk)
                pending = bool(decoder.getstate()[0])
            except UnicodeDecodeError:
                is_utf8 = False
        tail = (tail + chunk)[-4096:]
        done += len(chunk)
        if progress:
            progress(done / size if size else 1.0)
    written = tail.rstrip(b"\r\n")
    empty_at_end = max(tail[len(written) :].count(b"\n") - 1, 0)
    lines = feeds - empty_at_end + (not tail.endswith(b"\n"))
    return Scan(
        size_bytes=done,
        sha256=digest.hexdigest(),
        is_utf8=is_utf8 and not pending,
        has_bom=head.startswith(UTF8_BOM),
        lines=lines,
        has_nul=has_nul,
        line_end=_line_end(feeds, returns, pairs),
    )


def _line_end(feeds: int, returns: int, pairs: int) -> str | None:
    if not returns:
        return "\n"
    return "\r\n" if returns == pairs == feeds else None
