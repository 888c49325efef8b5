"""Turns TOML tables into the frozen records of model.py, refusing unknown keys and wrong types by name."""

import tomllib
import types
from collections.abc import Mapping
from dataclasses import MISSING, fields
from pathlib import Path
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from analytics.errors import BadCatalogue

Record = TypeVar("Record")

_WORDS = {str: "text", bool: "true or false", int: "a whole number", float: "a number"}


class Place:
    """Where in which file a value stands, for messages."""

    def __init__(self, file: str, *keys: str) -> None:
        self.file = file
        self.keys = keys

    def below(self, *keys: str) -> "Place":
        """Place of a key below this one."""
        return Place(self.file, *self.keys, *keys)

    def wrong(self, found: str, legal: str) -> BadCatalogue:
        """Error that says what was found here and what is legal."""
        return BadCatalogue(f"{self.file}: {'.'.join(self.keys) or 'top level'}: {found} {legal}")


def read_toml(path: Path) -> dict[str, Any]:
    """Read one TOML file.

    Raises
    ------
    BadCatalogue
        When the file is missing, or is no TOML; the message names the file and the line.
    """
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError) as problem:
        raise BadCatalogue(f"{path}: the catalogue file can not be read ({problem}).") from problem
    except tomllib.TOMLDecodeError as problem:
        raise BadCatalogue(f"{path}: this is not valid TOML: {problem}.") from problem


def record(kind: type[Record], table: object, place: Place, **given: object) -> Record:
    """Make one record of `kind` from a TOML table; `given` are fields that the table does not hold.

    Raises
    ------
    BadCatalogue
        On an unknown key, a missing key, or a value of another type; the message names file and key.
    """
    if not isinstance(table, Mapping):
        raise place.wrong(f"found {table!r}.", "A table is wanted here.")
    hints = get_type_hints(kind)
    known = {f.name: f for f in fields(kind) if f.name not in given}  # type: ignore[arg-type]
    if unknown := sorted(set(table) - known.keys()):
        raise place.wrong(f"unknown key '{unknown[0]}'.", f"Known keys: {', '.join(sorted(known))}.")
    required = [n for n, f in known.items() if f.default is MISSING and f.default_factory is MISSING]
    if missing := sorted(set(required) - set(table)):
        raise place.wrong(f"the key '{missing[0]}' is missing.", "It has no default: add it.")
    values = {name: _value(hints[name], value, place.below(name)) for name, value in table.items()}
    return kind(**values, **given)


def records(kind: type[Record], table: object, place: Place) -> dict[str, Record]:
    """Make a record of every entry of a table; its key becomes the code."""
    if not isinstance(table, Mapping):
        raise place.wrong(f"found {table!r}.", "A table of tables is wanted here.")
    return {code: record(kind, entry, place.below(code), code=code) for code, entry in table.items()}


def _value(hint: Any, value: Any, place: Place) -> Any:
    origin, inner = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        choices = [h for h in inner if h is not types.NoneType]
        fitting = [h for h in choices if not isinstance(h, type) or _is(h, value)]
        return _value(fitting[0] if fitting else choices[0], value, place)
    if origin is tuple and len(inner) == 2 and inner[1] is Ellipsis:
        if not isinstance(value, list):
            raise place.wrong(f"found {value!r}.", "A list is wanted here.")
        return tuple(_value(inner[0], v, place.below(str(i))) for i, v in enumerate(value))
    if origin is Mapping:
        if not isinstance(value, Mapping):
            raise place.wrong(f"found {value!r}.", "A table is wanted here.")
        return types.MappingProxyType({k: _value(inner[1], v, place.below(k)) for k, v in value.items()})
    if not _is(hint, value):
        raise place.wrong(f"found {value!r}.", f"Wanted: {_WORDS.get(hint, str(hint))}.")
    return float(value) if hint is float else value


def _is(hint: type, value: object) -> bool:
    if hint is float:
        return isinstance(value, int | float) and not isinstance(value, bool)
    if hint is int:
        return isinstance(value, int) and not isinstance(value, bool)
    return isinstance(value, hint)
