"""A part of a large file that stands for the whole: its head, and stretches from all over it."""

from pathlib import Path

from analytics.intake.sheets import Sheet

HEAD_BYTES = 1_500_000
STRETCHES = 10
STRETCH_BYTES = 250_000
WIDE = ("utf-16", "utf-32")


def write_sample(sheet: Sheet, target: Path) -> bool:
    """Write the part as UTF-8, header and all; return whether it is the whole file.

    Parameters
    ----------
    sheet : Sheet
        The file, looked at.
    target : Path

    Notes
    -----
    A stretch begins behind a line end. Where that lies within a quoted field, the first record of the stretch
    is malformed or odd; what reads the sample must bear that.
    """
    size = sheet.scan.size_bytes
    whole = size <= HEAD_BYTES + STRETCHES * STRETCH_BYTES
    name = "utf-8-sig" if sheet.encoding.name == "utf-8" else sheet.encoding.name
    wide = name.startswith(WIDE)
    with sheet.path.open("rb") as source, target.open("w", encoding="utf-8", newline="") as out:
        head = source.read(size if whole else HEAD_BYTES)
        out.write(_text(head, name) if whole else _whole_lines(_text(head, name)))
        for nth in range(0 if whole or wide else STRETCHES):
            source.seek(HEAD_BYTES + (size - HEAD_BYTES - STRETCH_BYTES) * nth // (STRETCHES - 1))
            source.readline()
            text = _whole_lines(_text(source.read(STRETCH_BYTES), name.removesuffix("-sig")))
            out.write(text)
    return whole


def _text(raw: bytes, name: str) -> str:
    return raw.decode(name, errors="replace")


def _whole_lines(text: str) -> str:
    """Cut behind the last line end."""
    return text[: text.rindex("\n") + 1] if "\n" in text else ""
