"""The assumptions of the demo fleet: numbers kept as data, each with unit, standing and reason."""

import tomllib
from collections.abc import Iterator
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

STANDINGS = ("common practice", "from memory", "invented")
_KEYS = {"value", "unit", "standing", "why"}


class BadAssumption(ValueError):
    """An assumption that does not hold together; the message names the file and the key."""


class Group:
    """The assumptions of one file.

    Parameters
    ----------
    name : str
        File name without ending.
    entries : dict of str to dict
        Dotted key to an entry with value, unit, standing and why.
    """

    def __init__(self, name: str, entries: dict[str, dict[str, Any]]) -> None:
        self.name = name
        self.entries = entries

    def __getitem__(self, key: str) -> Any:
        """Value of one assumption."""
        return self.entries[key]["value"]

    def under(self, prefix: str) -> dict[str, Any]:
        """Values of all keys below a prefix ("rate.module_failed" below "rate"), in file order."""
        start = prefix + "."
        return {
            key.removeprefix(start): entry["value"]
            for key, entry in self.entries.items()
            if key.startswith(start)
        }


def _flatten(table: dict[str, Any], prefix: str = "") -> Iterator[tuple[str, Any]]:
    for key, entry in table.items():
        path = f"{prefix}{key}"
        if isinstance(entry, dict) and "value" not in entry and not _KEYS & entry.keys():
            yield from _flatten(entry, path + ".")
        else:
            yield path, entry


def _checked(file: str, key: str, entry: Any) -> dict[str, Any]:
    where = f"{file}, [{key}]"
    if not isinstance(entry, dict) or entry.keys() != _KEYS:
        found = ", ".join(sorted(entry)) if isinstance(entry, dict) else repr(entry)
        raise BadAssumption(f"{where}: needs exactly value, unit, standing and why; found {found}.")
    if entry["standing"] not in STANDINGS:
        raise BadAssumption(f"{where}: standing is {entry['standing']!r}; legal are {', '.join(STANDINGS)}.")
    for name in ("unit", "why"):
        if not isinstance(entry[name], str) or not entry[name].strip():
            raise BadAssumption(f"{where}: {name} must be a sentence, found {entry[name]!r}.")
    _check_shares(where, entry)
    return entry


def _check_shares(where: str, entry: dict[str, Any]) -> None:
    """A lone number that is called a share lies in 0..1."""
    value = entry["value"]
    lone = isinstance(value, int | float) and not isinstance(value, bool)
    if lone and entry["unit"].startswith("share") and not 0 <= value <= 1:
        raise BadAssumption(f"{where}: a share lies between 0 and 1, found {value}.")


def read(path: Path) -> Group:
    """Read and check one file of assumptions.

    Raises
    ------
    BadAssumption
        When the file is not TOML, or an entry lacks one of its four parts.
    """
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except tomllib.TOMLDecodeError as problem:
        raise BadAssumption(f"{path.name}: not readable as TOML ({problem}).") from None
    entries = {key: _checked(path.name, key, entry) for key, entry in _flatten(table)}
    return Group(path.stem, entries)


@cache
def load() -> dict[str, Group]:
    """All assumptions, by file name without ending, in alphabetical order."""
    folder = resources.files("synthetic_data") / "assumptions"
    with resources.as_file(folder) as path:
        return {file.stem: read(file) for file in sorted(path.glob("*.toml"))}


def _shown(value: Any) -> str:
    if isinstance(value, dict):
        return "; ".join(f"{key} {_shown(item)}" for key, item in value.items())
    if isinstance(value, list):
        return ", ".join(_shown(item) for item in value) or "none"
    return str(value)


def as_table(groups: dict[str, Group] | None = None) -> str:
    """The assumptions as a Markdown page, one table a file."""
    lines = [
        "# Assumptions of the demo fleet",
        "",
        "Written from `synthetic_data/assumptions/*.toml` by",
        "`python -m synthetic_data --assumptions docs/demo_assumptions.md`; a test holds the two together.",
        "The demo fleet is invented: a number below is there to make the records behave like records, not to",
        "be quoted. Standing says how far to trust it: *common practice* is what the trade takes for granted",
        "(no source), *from memory* may differ by maker, *invented* was chosen for the demo.",
    ]
    for group in (groups or load()).values():
        lines += [
            "",
            f"## {group.name}",
            "",
            "| key | value | unit | standing | why |",
            "|---|---|---|---|---|",
        ]
        for key, entry in group.entries.items():
            cells = (key, _shown(entry["value"]), entry["unit"], entry["standing"], entry["why"])
            lines.append("| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |")
    return "\n".join(lines) + "\n"
