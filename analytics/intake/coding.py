"""Coding the words of a file: each distinct text that was never met before is coded once."""

from collections.abc import Mapping as AnyMapping

import duckdb
import polars as pl

from analytics import queries
from analytics.catalogue import Catalogue
from analytics.errors import BadMapping
from analytics.intake.contract import Table
from analytics.intake.normalising import code_texts

Words = AnyMapping[str, AnyMapping[str, tuple[str, ...]]]


def code(
    connection: duckdb.DuckDBPyConnection,
    catalogue: Catalogue,
    table: Table,
    file_id: int,
    words: Words,
    day_first: bool | None = None,
) -> dict[str, int]:
    """Code the new texts of one file; return the number of rows not recognised, by coding field.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
    catalogue : Catalogue
    table : Table
    file_id : int
        The file, its rows being in records already.
    words : mapping
        Coding field -> the sender's words -> codes, from the mapping; they come before everything else.
    day_first : bool, optional
        Order of day and month in the file's dates; answers are read in the same.
    """
    if not table.of_kind("coded"):
        return {}
    queries.run(connection, f"staging/texts_{table.name}", {"file_id": file_id})
    new = queries.frame(connection, "staging/new_texts")
    for (field,), texts in new.group_by("field", maintain_order=True):
        coded = code_texts(catalogue, str(field), texts["text"].to_list(), day_first=day_first)
        known = queries.frame(connection, "staging/settled_words", {"field": field}).rows()
        said = {word: tuple(codes) for word, codes in known} | _folded(words.get(str(field), {}))
        connection.register("new_codings", _settled(coded, said))
        queries.run(connection, "staging/add_codings")
        connection.unregister("new_codings")
    return dict(queries.frame(connection, "staging/unrecognised").rows())


def check_words(catalogue: Catalogue, words: Words) -> None:
    """Raise BadMapping when the mapping gives words a code that the catalogue does not have."""
    for field, entries in words.items():
        legal = catalogue.coded(field)
        for word, codes in entries.items():
            if unknown := [each for each in codes if each not in legal]:
                raise BadMapping(
                    f"The mapping takes '{word}' to mean {unknown[0]}, which is no code of {field}. "
                    f"It can be one of {', '.join(legal)}."
                )


def settle_again(connection: duckdb.DuckDBPyConnection, words: Words) -> tuple[bool, list[str]]:
    """Give texts that were coded before the meaning that the mapping gives them.

    Returns
    -------
    bool, list of str
        Whether any meaning changed, so that the marts of every unit are to be built anew; and which words had
        another settled meaning before.
    """
    changed, messages = False, []
    for field, entries in words.items():
        said = _folded(entries)
        before = queries.frame(connection, "staging/settled_before", {"field": field, "words": list(said)})
        meant = _codes(before["text"], said)
        other = before.filter((pl.col("how") != "settled") | (pl.col("codes") != meant))
        for row in other.filter(pl.col("how") == "settled").to_dicts():
            now = " and ".join(said[_fold(row["text"])]) or "nothing"
            then = " and ".join(row["codes"]) or "nothing"
            messages.append(f"'{row['text']}' meant {then} as {field}, and now means {now}, for all senders")
        if not other.is_empty():
            changed = True
            settled = other.select("text", codes=_codes(other["text"], said))
            connection.register("settled", settled)
            queries.run(connection, "staging/settle_again", {"field": field})
            connection.unregister("settled")
    return changed, messages


def _settled(coded: pl.DataFrame, words: AnyMapping[str, tuple[str, ...]]) -> pl.DataFrame:
    """Put the mapping's meaning of a word in place of the one found; case and spaces around do not matter."""
    said = _folded(words)
    settled = pl.Series([_fold(text) in said for text in coded["text"]], dtype=pl.Boolean)
    if not settled.any():
        return coded
    return coded.with_columns(
        pl.when(settled).then(_codes(coded["text"], said)).otherwise(pl.col("codes")).alias("codes"),
        pl.when(settled).then(pl.lit("settled")).otherwise(pl.col("how")).alias("how"),
        pl.when(~settled).then(pl.col("score")).alias("score"),
        *(pl.when(~settled).then(pl.col(name)).alias(name) for name in ("implied_field", "implied_code")),
    )


def _codes(texts: pl.Series, said: AnyMapping[str, tuple[str, ...]]) -> pl.Series:
    return pl.Series([list(said.get(_fold(text), ())) for text in texts], dtype=pl.List(pl.String))


def _folded(words: AnyMapping[str, tuple[str, ...]]) -> dict[str, tuple[str, ...]]:
    return {_fold(word): codes for word, codes in words.items()}


def _fold(text: str) -> str:
    return text.strip().lower()
