"""Which of our columns a doubtful column of a file could be, by its header and its values."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from rapidfuzz import fuzz

from analytics.catalogue import Catalogue
from analytics.intake.contract import DATED, Column, Table
from analytics.intake.evidence import share_fitting
from analytics.intake.headers import plain, without_unit
from analytics.intake.normalising import code_texts

CLOSE_HEADER = 80.0
"""Similarity (0 to 100) from which a header counts as close to one of ours."""
RECOGNISED = 0.6
"""Share of distinct texts that the catalogue must recognise for them to speak for a coded column."""
TEXTS_TRIED = 60


@dataclass(frozen=True)
class Candidate:
    """One of our columns that a column of the file could be.

    Parameters
    ----------
    column : str
        Our name.
    place : int
        Place of the file's column, from 0.
    score : float
        How much speaks for it; only good for comparing.
    because : str
        What speaks for it.
    """

    column: str
    place: int
    score: float
    because: str


def candidates(
    catalogue: Catalogue,
    table: Table,
    header: Sequence[str],
    sample: Sequence[Sequence[str]],
    places: Collection[int],
    wanted: Collection[str],
) -> list[Candidate]:
    """Choose for each doubtful column of the file the column of ours that most speaks for, each of ours once.

    Parameters
    ----------
    catalogue : Catalogue
    table : Table
    header : sequence of str
    sample : sequence of rows
    places : collection of int
        Columns of the file that are not settled.
    wanted : collection of str
        Our columns that are not settled.
    """
    values = {place: [value for row in sample if (value := row[place].strip())] for place in places}
    found = [
        candidate
        for place in places
        for name in wanted
        if (
            candidate := _candidate(
                catalogue, table, table.columns[name], place, header[place], values[place]
            )
        )
    ]
    chosen: list[Candidate] = []
    for each in sorted(found, key=lambda each: -each.score):
        if all(each.column != other.column and each.place != other.place for other in chosen):
            chosen.append(each)
    return sorted(chosen, key=lambda each: each.place)


def closeness(column: Column, header: str) -> tuple[float, str]:
    """Similarity of a header to the nearest header word of a column (0 to 100), and that word."""
    written = plain(without_unit(header)[0])
    if not written:
        return 0.0, ""
    words = (plain(column.name), *column.headers)
    return max((fuzz.ratio(written, word), word) for word in words)


def _candidate(
    catalogue: Catalogue, table: Table, column: Column, place: int, header: str, values: list[str]
) -> Candidate | None:
    score, word = closeness(column, header)
    share = share_fitting(column, values)
    reasons = [f"its header is close to '{word}'"] if score >= CLOSE_HEADER else []
    worth = score if reasons else 0.0
    if share is not None and share < 0.9:
        return None
    if column.kind == "coded" and not column.quantity:
        recognised = _recognised(catalogue, column, values)
        if recognised >= RECOGNISED:
            reasons.append(f"{recognised:.0%} of its words are known as {column.field}")
            worth += 100 * recognised
    elif column.kind in DATED and share is not None:
        reasons.append("its values are dates")
        worth += 60
    elif table.key == (column.name,) and len(set(values)) == len(values) > 1:
        reasons.append("no value stands twice")
        worth += 30
    elif share is not None and reasons and column.kind != "id":
        reasons.append("its values fit")
        worth += 20
    return (
        Candidate(column.name, place, worth + 15 * column.required, ", and ".join(reasons))
        if reasons
        else None
    )


def _recognised(catalogue: Catalogue, column: Column, values: list[str]) -> float:
    texts = list(dict.fromkeys(values))[:TEXTS_TRIED]
    if not texts or column.field is None:
        return 0.0
    coded = code_texts(catalogue, column.field, texts)
    return (coded["how"] != "not recognised").mean() or 0.0  # type: ignore[return-value]
