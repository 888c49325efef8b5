"""Headers as they are compared: case, accents, spaces and punctuation do not matter."""

import re
import unicodedata
from functools import lru_cache

KEPT = 4_096
"""Headers whose form is kept: the same ones are compared to every column of every table."""


@lru_cache(maxsize=KEPT)
def plain(header: str) -> str:
    """Header in the form in which headers are compared: its letters and digits, lower case, without accents.

    >>> plain("Ger\u00e4te-Nr. ")
    'geratenr'
    """
    folded = unicodedata.normalize("NFKD", header.replace("ß", "ss").replace("°", "o")).casefold()
    kept = "".join(each for each in folded if not unicodedata.combining(each))
    return re.sub(r"[^0-9a-z]+", "", kept)


@lru_cache(maxsize=KEPT)
def without_unit(header: str) -> tuple[str, str | None]:
    """Part a header from a unit of measure in brackets behind it.

    >>> without_unit("Reading (psi)")
    ('Reading', 'psi')
    """
    found = re.fullmatch(r"\s*(.+?)\s*[(\[]\s*([^()\[\]]+?)\s*[)\]]\s*", header)
    return (found[1], found[2]) if found else (header.strip(), None)
