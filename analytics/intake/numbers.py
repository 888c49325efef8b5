"""The decimal sign of a number column, decided over the whole file."""

import re
from dataclasses import dataclass

POINT, COMMA, EITHER = "point", "comma", "either"
_NUMBER = re.compile(r"[\s€$£]*[-+]?[\d.,]*\d[\d.,]*[\s€$£]*")


@dataclass(frozen=True)
class Signs:
    """What the numbers of a column say about its decimal sign.

    Parameters
    ----------
    rows : int
        Values with a comma or a point in them.
    comma, point : int
        Values that are numbers with that decimal sign alone ("12,5" and "12.5").
    unclear : int
        Values such as "1,250", which are one number with a decimal comma and another without.
    example, line : str or None, int or None
        The first unclear value, and its physical line.
    """

    rows: int
    comma: int
    point: int
    unclear: int
    example: str | None = None
    line: int | None = None


def decide(signs: Signs) -> str | None:
    """Decimal sign of a column; None where it can not be told.

    >>> decide(Signs(rows=3, comma=2, point=0, unclear=1))
    'comma'
    """
    if signs.comma and signs.point:
        return None if signs.unclear else EITHER
    if signs.comma:
        return COMMA
    if signs.point or not signs.unclear:
        return POINT
    return None


def looks_numeric(value: str) -> bool:
    """Say whether a value can be a number, whatever its decimal sign."""
    return bool(_NUMBER.fullmatch(value))
