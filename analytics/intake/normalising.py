"""What each text of a coded field is taken to mean: code, phrase, rule, nearest phrase, or not recognised.

The steps come in this order, and a text leaves at the first that knows it:

1. the code itself, as written;
2. a phrase of the catalogue, after folding case, accents, punctuation, abbreviations and fillers;
3. a quantity in the answer ("8 months", "3 Mar 2025"), where the field reads quantities;
4. the rules of the catalogue;
5. phrases and rules once more with the spelling of single words mended, then the nearest phrase;
6. else it is not recognised: the codes stay empty, and the text is kept and counted.
"""

from collections.abc import Sequence
from functools import lru_cache

import polars as pl

from analytics.catalogue import Catalogue
from analytics.intake.normalising_reader import SCHEMA, Reader

CHUNK = 50_000  # distinct texts at once: bounds the memory


def code_texts(
    catalogue: Catalogue, field: str, texts: Sequence[str], *, day_first: bool | None = None
) -> pl.DataFrame:
    """Say what each distinct text of a field means.

    Parameters
    ----------
    catalogue : Catalogue
    field : str
        Coding field, a key of `catalogue.fields`.
    texts : sequence of str
        As written; blanks are no business of this function.
    day_first : bool, optional
        Order of day and month in dates written in figures. None: settled over `texts`; where they leave it
        open, such a date keeps its level but names no day.

    Returns
    -------
    frame with the columns of texts.codings, one row per distinct text, in the order given

    Raises
    ------
    KeyError
        When the catalogue has no such field.
    """
    distinct = pl.Series("text", texts, dtype=pl.String).drop_nulls().unique(maintain_order=True)
    reader = _reader(catalogue, field)
    order = reader.day_first(distinct) if day_first is None else day_first
    parts = [reader.read(distinct[start : start + CHUNK], order) for start in range(0, len(distinct), CHUNK)]
    return pl.concat([pl.DataFrame(schema=SCHEMA), *parts])


@lru_cache(maxsize=128)
def _reader(catalogue: Catalogue, field: str) -> Reader:
    return Reader(catalogue, field)
