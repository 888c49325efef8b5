"""What a column that a file lacks switches off, in words, as data."""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources
from types import MappingProxyType


@cache
def switched_off() -> Mapping[str, Mapping[str, str]]:
    """Return by table and column what stays away or changes without the column; others are only kept."""
    raw = resources.files("analytics.intake").joinpath("switched_off.toml").read_text("utf-8")
    return MappingProxyType({table: MappingProxyType(said) for table, said in tomllib.loads(raw).items()})
