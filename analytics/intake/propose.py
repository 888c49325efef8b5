"""Proposing a mapping for a file: what is certain, what is likely, and what a person has to say."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb
import polars as pl

from analytics.catalogue import Catalogue, load_catalogue
from analytics.intake import encodings, matching, sheets, staging
from analytics.intake.contract import Table, table_named, tables
from analytics.intake.dialect import SEPARATOR_NAMES
from analytics.intake.mapping import Mapping, TableMapping, quoted
from analytics.intake.matching import Candidate
from analytics.intake.normalising import code_texts
from analytics.intake.reading import Reading
from analytics.intake.recognising import Recognised, columns_of, is_certain
from analytics.intake.sheets import Sheet

FEW_WORDS = 30
"""A coded column with at most this many different words is listed word by word."""


@dataclass(frozen=True)
class ProposedColumn:
    """What one column of a file could be.

    Parameters
    ----------
    header : str
        As written in the file.
    column : str or None
        Our column; None where nothing speaks for any.
    certain : bool
        It is used without anybody's confirming it.
    because : str
        Why.
    """

    header: str
    column: str | None
    certain: bool
    because: str


@dataclass(frozen=True)
class Proposal:
    """A mapping to check.

    Parameters
    ----------
    file, table : str
    how_written : str
        Encoding, separator and the like, in words.
    columns : tuple of ProposedColumn
        In the order of the file.
    orders : mapping of str to str
        Date columns whose order of day and month the values decide.
    questions : tuple of str
        What only a person can say.
    unknown_words : mapping of str to tuple of str
        Coding field -> words of the first rows that the catalogue does not know.
    """

    file: str
    table: str
    how_written: str
    columns: tuple[ProposedColumn, ...]
    orders: dict[str, str]
    questions: tuple[str, ...]
    unknown_words: dict[str, tuple[str, ...]]

    @property
    def certain(self) -> bool:
        """Whether the file loads without a mapping."""
        sure = {each.column for each in self.columns if each.column and each.certain}
        return tables()[self.table].complete(sure) and not self.questions

    def to_mapping(self) -> Mapping:
        """Return the certain part as a mapping."""
        sure = {each.column: each.header for each in self.columns if each.column and each.certain}
        return Mapping(tables={self.table: TableMapping(columns=sure, dates=self.orders)})

    def to_toml(self) -> str:
        """Write the mapping as TOML with the reasons as comments; what is not certain is commented out."""
        lines = [
            f"# Mapping for {self.file}, read as {self.table}: {self.how_written}.",
            "# What is likely, but not certain, stands behind a '#': take it away where it is right.",
            '# sender = "who sends these files"',
            "",
            f"[{self.table}.columns]",
        ]
        width = (
            max((len(each.column or "") + len(quoted(each.header)) for each in self.columns), default=0) + 3
        )
        for each in self.columns:
            if each.column:
                entry = f"{'' if each.certain else '# '}{each.column} = {quoted(each.header)}"
                lines.append(f"{entry.ljust(width)}  # {each.because}")
        lines += [f"# not used: {quoted(each.header)}" for each in self.columns if not each.column]
        for column in tables()[self.table].missing({each.column for each in self.columns if each.column}):
            lines.append(f'# {column} = "?"  # needed, and nothing speaks for any column')
        if self.orders:
            lines += ["", f"[{self.table}.dates]"]
            lines += [
                f"{column} = {quoted(order)}  # its values decide it" for column, order in self.orders.items()
            ]
        for name, words in self.unknown_words.items():
            lines += ["", f"# [words.{name}]  # words that are not known; write the code behind each"]
            lines += [f'# {quoted(word)} = ""' for word in words]
        for question in self.questions:
            lines += ["", *(f"# {line}".rstrip() for line in question.splitlines())]
        return "\n".join(lines) + "\n"


def propose(path: Path | str, *, table: str | None = None, catalogue: Catalogue | None = None) -> Proposal:
    """Propose a mapping for a file, with the reasons.

    Parameters
    ----------
    path : Path
    table : str, optional
        The table it holds; else the one that most speaks for.
    catalogue : Catalogue, optional
        What words are compared with.

    Raises
    ------
    BadFile
        When it is no table at all.
    """
    catalogue = catalogue or load_catalogue()
    sheet = sheets.look_at(Path(path), Mapping())
    header, separator = sheet.dialect.header, sheet.dialect.separator
    choices = [table_named(table)] if table else list(tables().values())
    fits = [columns_of(header, each, TableMapping(), sheet.sample) for each in choices]
    most = max(len(each.columns) for each in fits)
    worth_it = [each for each in fits if is_certain(each, header) or 2 * len(each.columns) > most]
    matches = [(fit, _likely(catalogue, sheet, fit)) for fit in worth_it or fits]
    sure, likely = max(
        matches, key=lambda match: (len(match[0].columns) + 0.5 * len(match[1]), -len(match[0].lacking))
    )
    found = {
        place: ProposedColumn(header[place], column, True, sure.because[column])
        for column, place in sure.columns.items()
    }
    found |= {
        each.place: ProposedColumn(header[each.place], each.column, False, each.because) for each in likely
    }
    places = dict(sure.columns) | {each.column: each.place for each in likely}
    orders, questions = settle(sheet, sure.table, places)
    return Proposal(
        file=sheet.name,
        table=sure.table.name,
        how_written=f"{sheet.encoding.name}, separated by {SEPARATOR_NAMES.get(separator, separator)}",
        columns=tuple(
            found.get(place, ProposedColumn(written, None, False, "nothing speaks for any of ours"))
            for place, written in enumerate(header)
        ),
        orders=orders,
        questions=tuple(questions.values()),
        unknown_words=_unknown_words(catalogue, sheet, sure.table, places),
    )


def _likely(catalogue: Catalogue, sheet: Sheet, sure: Recognised) -> list[Candidate]:
    header = sheet.dialect.header
    free = [place for place in range(len(header)) if header[place] and place not in sure.columns.values()]
    wanted = [name for name in sure.table.columns if name not in sure.columns]
    return matching.candidates(catalogue, sure.table, header, sheet.sample, free, wanted)


def settle(sheet: Sheet, table: Table, places: dict[str, int]) -> tuple[dict[str, str], dict[str, str]]:
    """Settle dates and numbers over the whole file: orders that the values decide, and open questions.

    Parameters
    ----------
    sheet : Sheet
    table : Table
    places : dict of str to int
        Our column -> place of the file's column.

    Returns
    -------
    dict of str to str, dict of str to str
        Both by our column.
    """
    with TemporaryDirectory() as folder, duckdb.connect() as connection:
        staging.prepare(connection)
        path = sheet.path
        if sheet.encoding.needs_copy:
            path = Path(folder, "utf8.csv")
            encodings.write_copy(sheet.path, sheet.encoding, path)
        reading = Reading(
            table=table,
            path=path,
            header=sheet.dialect.header,
            columns=places,
            skipped_lines=sheet.dialect.skipped_lines,
            separator=sheet.dialect.separator,
            quote=sheet.dialect.quote,
            line_end="\n",
            today=date.today(),
        )
        return staging.settle_only(connection, sheet.name, reading, scratch=Path(folder))


def _unknown_words(
    catalogue: Catalogue, sheet: Sheet, table: Table, places: dict[str, int]
) -> dict[str, tuple[str, ...]]:
    """Words of the first rows that the catalogue does not know, for columns that have few different words."""
    unknown: dict[str, tuple[str, ...]] = {}
    for column, place in places.items():
        name = table.columns[column].field
        texts = list(dict.fromkeys(value for row in sheet.sample if (value := row[place].strip())))
        if name is None or not texts or len(texts) > FEW_WORDS:
            continue
        coded = code_texts(catalogue, name, texts)
        if words := coded.filter(pl.col("how") == "not recognised")["text"].to_list():
            unknown[name] = tuple(dict.fromkeys((*unknown.get(name, ()), *words)))
    return unknown
