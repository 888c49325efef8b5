"""The mapping of one sender: how its columns and words become ours.

It is kept as TOML, written by `propose`, and checked by a person.
"""

import json
import tomllib
from collections.abc import Mapping as AnyMapping
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any

from analytics.catalogues.units_of_measure import read_units, unit_of
from analytics.errors import BadMapping, BadQuestion
from analytics.intake.contract import DATED, NUMERIC, Table, tables

DATE_ORDERS = ("year first", "day first", "month first")
DECIMALS = ("point", "comma")
_TOP = ("sender", "extracted", "encoding", "separator", "words")
_PARTS = ("columns", "dates", "decimals", "units", "ignored")


@dataclass(frozen=True)
class TableMapping:
    """What a mapping says about one table.

    Parameters
    ----------
    columns : mapping of str to str
        Our column -> the sender's header.
    dates : mapping of str to str
        Our date column -> order of its parts, one of `DATE_ORDERS`.
    decimals : mapping of str to str
        Our number column -> its decimal sign, one of `DECIMALS`.
    units : mapping of str to str
        Our column -> the unit of measure its numbers are in.
    ignored : tuple of str
        Headers of the sender that are not to be used.
    """

    columns: AnyMapping[str, str] = field(default_factory=dict)
    dates: AnyMapping[str, str] = field(default_factory=dict)
    decimals: AnyMapping[str, str] = field(default_factory=dict)
    units: AnyMapping[str, str] = field(default_factory=dict)
    ignored: tuple[str, ...] = ()


@dataclass(frozen=True)
class Mapping:
    """What one sender's columns and words mean.

    Parameters
    ----------
    sender : str or None
        Who sends the files; the source of their rows.
    extracted : date or datetime or None
        When the files were taken from the sender's system.
    encoding, separator : str or None
        Where they can not be told from the file.
    tables : mapping of str to TableMapping
        By table of the contract.
    words : mapping of str to mapping of str to tuple of str
        Coding field -> the sender's words -> codes of the catalogue.
    """

    sender: str | None = None
    extracted: date | datetime | None = None
    encoding: str | None = None
    separator: str | None = None
    tables: AnyMapping[str, TableMapping] = field(default_factory=dict)
    words: AnyMapping[str, AnyMapping[str, tuple[str, ...]]] = field(default_factory=dict)

    @classmethod
    def read(cls, path: Path | str) -> "Mapping":
        """Read and check a mapping file.

        Raises
        ------
        BadMapping
            When it does not hold together; the message names the file and the key.
        """
        try:
            text = Path(path).read_text(encoding="utf-8")
        except OSError as error:
            raise BadMapping(f"The mapping {path} can not be read: {error.strerror}.") from None
        except UnicodeDecodeError:
            raise BadMapping(f"The mapping {path} is no UTF-8 text. A mapping is a TOML file.") from None
        return cls.from_toml(text, name=str(path))

    @classmethod
    def from_toml(cls, text: str, name: str = "the mapping") -> "Mapping":
        """Read and check a mapping from its text."""
        try:
            return _mapping(tomllib.loads(text))
        except tomllib.TOMLDecodeError as error:
            raise BadMapping(f"{name} is no TOML: {error}.") from None
        except BadMapping as problem:
            raise BadMapping(f"{name}: {problem}") from None

    def to_toml(self) -> str:
        """Write the mapping as TOML; `from_toml` reads it back as it was."""
        lines = []
        for key in ("sender", "encoding", "separator"):
            if (value := getattr(self, key)) is not None:
                lines.append(f"{key} = {quoted(value)}")
        if self.extracted is not None:
            lines.append(f"extracted = {self.extracted.isoformat()}")
        for table, entry in self.tables.items():
            if entry.ignored:
                lines += ["", f"[{table}]", f"ignored = [{', '.join(map(quoted, entry.ignored))}]"]
            for part in ("columns", "dates", "decimals", "units"):
                if values := getattr(entry, part):
                    lines += ["", f"[{table}.{part}]"]
                    lines += [f"{key} = {quoted(value)}" for key, value in values.items()]
        for name, words in self.words.items():
            lines += ["", f"[words.{name}]"]
            lines += [f"{quoted(word)} = [{', '.join(map(quoted, codes))}]" for word, codes in words.items()]
        return "\n".join(lines).strip("\n") + "\n"

    def headers(self) -> set[str]:
        """Every header of the sender that the mapping names."""
        return {
            header for entry in self.tables.values() for header in (*entry.columns.values(), *entry.ignored)
        }


def quoted(text: str) -> str:
    """Text as a TOML string."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _mapping(raw: dict[str, Any]) -> Mapping:
    known = tables()
    if unknown := [key for key in raw if key not in (*_TOP, *known)]:
        raise BadMapping(f"unknown key '{unknown[0]}'. Known: {', '.join((*_TOP, *known))}.")
    for key in ("sender", "encoding", "separator"):
        if not isinstance(raw.get(key, ""), str):
            raise BadMapping(f"{key} is {raw[key]!r}; a text is wanted here.")
    if len(raw.get("separator", ",")) != 1:
        raise BadMapping(f"separator is {raw['separator']!r}; one character is wanted here.")
    if not isinstance(raw.get("extracted", date.min), date):
        raise BadMapping(f"extracted is {raw['extracted']!r}; write a date without quotes, as 2026-03-01.")
    return Mapping(
        sender=raw.get("sender"),
        extracted=raw.get("extracted"),
        encoding=raw.get("encoding"),
        separator=raw.get("separator"),
        tables={name: _table(raw[name], known[name]) for name in known if name in raw},
        words={name: _words(name, entry) for name, entry in _as_table(raw.get("words", {}), "words").items()},
    )


def _table(raw: Any, table: Table) -> TableMapping:
    raw = _as_table(raw, table.name)
    if unknown := [key for key in raw if key not in _PARTS]:
        raise BadMapping(f"unknown key '{table.name}.{unknown[0]}'. Known: {', '.join(_PARTS)}.")
    columns = _texts(raw, table, "columns", tuple(table.columns))
    twice = [header for header in columns.values() if list(columns.values()).count(header) > 1]
    if twice:
        raise BadMapping(f"{table.name}.columns gives '{twice[0]}' to two columns. Leave it to one of them.")
    measured = [name for name, column in table.columns.items() if column.quantity or name == "reading"]
    return TableMapping(
        columns=columns,
        dates=_texts(raw, table, "dates", table.of_kind(*DATED), DATE_ORDERS),
        decimals=_texts(raw, table, "decimals", table.of_kind(*NUMERIC), DECIMALS),
        units=_units(_texts(raw, table, "units", tuple(measured)), table),
        ignored=_ignored(raw.get("ignored", []), table),
    )


def _as_table(raw: Any, key: str) -> dict[str, Any]:
    if not isinstance(raw, dict):
        raise BadMapping(f"{key} is {raw!r}; a table [{key}] is wanted here.")
    return raw


def _ignored(raw: Any, table: Table) -> tuple[str, ...]:
    if not isinstance(raw, list) or not all(isinstance(each, str) for each in raw):
        raise BadMapping(f"{table.name}.ignored is {raw!r}; a list of headers is wanted here.")
    return tuple(raw)


def _texts(
    raw: dict[str, Any], table: Table, part: str, names: tuple[str, ...], legal: tuple[str, ...] = ()
) -> dict[str, str]:
    entries = _as_table(raw.get(part, {}), f"{table.name}.{part}")
    for key, value in entries.items():
        if key not in names:
            raise BadMapping(
                f"{table.name}.{part} names '{key}'. It can be one of {', '.join(names) or 'none'}."
            )
        if not isinstance(value, str) or (legal and value not in legal):
            wanted = " or ".join(f'"{each}"' for each in legal) or "a text"
            raise BadMapping(f"{table.name}.{part}.{key} is {value!r}; {wanted} is wanted here.")
    return dict(entries)


def _units(entries: dict[str, str], table: Table) -> dict[str, str]:
    units = read_units()
    for name, written in entries.items():
        try:
            unit = unit_of(units, written)
        except BadQuestion as problem:
            raise BadMapping(f"{table.name}.units.{name}: {problem}") from None
        quantity = table.columns[name].quantity
        if quantity and unit.quantity != quantity:
            fitting = [code for code, each in units.items() if each.quantity == quantity]
            raise BadMapping(
                f"{table.name}.units.{name} is '{written}'. It can be one of {', '.join(fitting)}."
            )
    return entries


def _words(name: str, raw: Any) -> dict[str, tuple[str, ...]]:
    fields = sorted(
        {column.field for table in tables().values() for column in table.columns.values() if column.field}
    )
    if name not in fields:
        raise BadMapping(f"words.{name} is no coded field. Known: {', '.join(fields)}.")
    codes: dict[str, tuple[str, ...]] = {}
    for word, meant in _as_table(raw, f"words.{name}").items():
        listed = [meant] if isinstance(meant, str) else meant
        if not isinstance(listed, list) or not all(isinstance(code, str) for code in listed):
            key = f"words.{name}.{quoted(word)}"
            raise BadMapping(f"{key} is {meant!r}; a code or a list of codes is wanted here.")
        codes[word] = tuple(listed)
    return codes
