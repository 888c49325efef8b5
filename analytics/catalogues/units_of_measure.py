"""Units of measure as data: how each is written and how a value is brought into another unit."""

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType

from analytics.catalogues.model import Unit
from analytics.catalogues.reading import Place, read_toml
from analytics.errors import BadQuestion

FILE = Path(__file__).with_name("units_of_measure.toml")
_KEYS = {"scale", "offset", "spellings", "source"}


@cache
def read_units(path: Path = FILE) -> Mapping[str, Unit]:
    """Read the units of measure, by code; each file once.

    Raises
    ------
    BadCatalogue
        When a quantity has no canonical unit, or a unit or spelling stands twice.
    """
    units: dict[str, Unit] = {}
    spelt: dict[str, str] = {}
    for quantity, table in read_toml(path).items():
        place = Place(str(path), quantity)
        canonical = table.pop("canonical", None)
        if canonical not in table or table[canonical].get("scale") != 1.0:
            raise place.wrong(f"canonical is {canonical!r}.", "Name a unit of the table whose scale is 1.")
        for code, entry in table.items():
            if unknown := sorted(set(entry) - _KEYS):
                raise place.below(code).wrong(
                    f"unknown key '{unknown[0]}'.", f"Known: {', '.join(sorted(_KEYS))}."
                )
            spellings = tuple(dict.fromkeys([spelling_key(code), *map(spelling_key, entry["spellings"])]))
            for spelling in spellings:
                if spelling in spelt:
                    raise place.below(code).wrong(
                        f"'{spelling}' also means {spelt[spelling]}.", "Leave it once."
                    )
                spelt[spelling] = code
            units[code] = Unit(code, quantity, canonical, entry["scale"], entry.get("offset", 0.0), spellings)
    return MappingProxyType(units)


def spelling_key(text: str) -> str:
    """Form in which spellings are compared: lower case, without spaces, dots and underscores."""
    return text.lower().translate(str.maketrans("", "", " ._"))


def unit_of(units: Mapping[str, Unit], spelling: str) -> Unit:
    """Unit that a spelling stands for.

    Raises
    ------
    BadQuestion
        When no unit is written like that; the message lists the units.
    """
    wanted = spelling_key(spelling)
    for unit in units.values():
        if wanted in unit.spellings:
            return unit
    raise BadQuestion(f"'{spelling}' is no unit of measure known here. Known: {', '.join(sorted(units))}.")


def convert(units: Mapping[str, Unit], value: float, from_unit: str, to_unit: str) -> float:
    """Bring a value from one unit into another of the same quantity.

    Raises
    ------
    BadQuestion
        When a unit is not known, or the two measure different things.
    """
    source, target = unit_of(units, from_unit), unit_of(units, to_unit)
    if source.quantity != target.quantity:
        raise BadQuestion(
            f"{from_unit} measures {source.quantity} and {to_unit} {target.quantity}: no conversion."
        )
    return (value * source.scale + source.offset - target.offset) / target.scale
