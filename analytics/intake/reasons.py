"""Why a row was set aside, in words: what is wrong, and what to do next."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType

from analytics.catalogues.units_of_measure import read_units


@dataclass(frozen=True)
class Reason:
    """One reason for setting a row aside.

    Parameters
    ----------
    code : str
        As kept in loads.set_aside.
    sentence, mend : str
        What is wrong and what to do next; {column} and {found} stand for the row's own.
    """

    code: str
    sentence: str
    mend: str

    def explain(self, column: str | None = None, found: str | None = None) -> str:
        """Say what is wrong with one row, or without the value found with rows like it, and what to do."""
        sentence = self.sentence if found is not None else self.sentence.replace(": {found}", "")
        filled = sentence.format(column=column or "a value", found=f"'{found}'")
        return f"{filled}. {self.mend}"


@cache
def reasons() -> Mapping[str, Reason]:
    """Every reason, by code, in the order in which the reasons of a row are listed."""
    raw = tomllib.loads(resources.files("analytics.intake").joinpath("reasons.toml").read_text("utf-8"))
    units = ", ".join(sorted(read_units(), key=str.lower))
    return MappingProxyType(
        {
            code: Reason(code, entry["sentence"], entry["mend"].replace("{units}", units))
            for code, entry in raw.items()
        }
    )
