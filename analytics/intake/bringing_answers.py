"""What a person says about a file that was brought: read from a form, checked, and made a mapping."""

from collections.abc import Mapping as AnyMapping
from dataclasses import asdict, dataclass, field
from datetime import date
from typing import Any

from analytics.catalogue import Catalogue
from analytics.errors import BadQuestion
from analytics.intake.contract import DATED, NUMERIC, Table, table_named
from analytics.intake.extraction import of_file
from analytics.intake.headers import plain
from analytics.intake.mapping import DATE_ORDERS, DECIMALS, Mapping, TableMapping
from analytics.intake.saved_mappings import Saved

MOST_CHARACTERS = 100
Words = dict[str, dict[str, list[str]]]


@dataclass
class Answers:
    """How a file is to be read.

    Parameters
    ----------
    table : str
    columns : dict of str to int
        Our column -> place of the file's column.
    dates, decimals, units : dict of str to str
        As in `mapping.TableMapping`.
    words : dict
        Coding field -> word -> codes.
    sender, name : str
        Who sent it; under which name the mapping is kept.
    extracted : str
        Day on which it was taken from its system, ISO; "" where that is not known.
    full_extract : bool
        It holds everything its source has.
    """

    table: str
    columns: dict[str, int] = field(default_factory=dict)
    dates: dict[str, str] = field(default_factory=dict)
    decimals: dict[str, str] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    words: Words = field(default_factory=dict)
    sender: str = ""
    name: str = ""
    extracted: str = ""
    full_extract: bool = False

    def to_mapping(self, header: list[str]) -> Mapping:
        """Return the mapping: what was left out on purpose is not taken up by its name again."""
        used = {header[place] for place in self.columns.values()}
        ignored = [each for each in header if plain(each) and plain(each) not in map(plain, used)]
        entry = TableMapping(
            columns={column: header[place] for column, place in self.columns.items()},
            dates=dict(self.dates),
            decimals=dict(self.decimals),
            units=dict(self.units),
            ignored=tuple(dict.fromkeys(ignored)),
        )
        words = {
            name: {word: tuple(codes) for word, codes in entries.items()}
            for name, entries in self.words.items()
        }
        return Mapping(sender=self.sender or None, tables={self.table: entry}, words=words)

    def to_dict(self) -> dict[str, Any]:
        """Return the answers as plain values, for JSON."""
        return asdict(self)


def begun(suggested: AnyMapping[str, Any], called: str) -> Answers:
    """Return what the form shows first: what was suggested, and what the name of the file says."""
    return Answers(
        suggested["table"],
        columns=dict(suggested["columns"]),
        name=called.rsplit(".", 1)[0][:MOST_CHARACTERS],
        extracted=_day_in_name(called),
    )


def from_saved(saved: Saved, header: list[str], called: str) -> Answers:
    """Return the answers that a kept mapping stands for."""
    (table, entry), *_ = saved.mapping.tables.items()
    places = {written: place for place, written in reversed(list(enumerate(header)))}
    return Answers(
        table,
        columns={column: places[written] for column, written in entry.columns.items()},
        dates=dict(entry.dates),
        decimals=dict(entry.decimals),
        units=dict(entry.units),
        words={
            name: {word: list(codes) for word, codes in each.items()}
            for name, each in saved.mapping.words.items()
        },
        sender=saved.mapping.sender or "",
        name=saved.name,
        extracted=_day_in_name(called),
    )


def read_form(
    sent: AnyMapping[str, str],
    before: Answers,
    asked: AnyMapping[str, Any],
    header: list[str],
    catalogue: Catalogue,
) -> Answers:
    """Read the answers off a form; what can not be an answer is refused, what is merely missing is not.

    Parameters
    ----------
    sent : mapping of str to str
        Fields column.C, date.C, decimal.C, unit.C, word.C.KIND.N, sender, name, extracted, full.
    before : Answers
        What was answered before; words that the form does not show stay.
    asked : mapping
        As from `looking.questions`, by which the form was made.
    header : list of str
    catalogue : Catalogue

    Raises
    ------
    BadQuestion
        When a value is none of those the form offers.
    """
    table = table_named(before.table)
    answers = Answers(before.table, words={name: dict(words) for name, words in before.words.items()})
    for column in table.columns:
        if place := sent.get(f"column.{column}", ""):
            if not place.isdecimal() or not int(place) < len(header):
                raise BadQuestion(f"The file has no column {place[:20]}.")
            answers.columns[column] = int(place)
    answers.dates = _chosen(sent, "date", table.of_kind(*DATED), DATE_ORDERS)
    answers.decimals = _chosen(sent, "decimal", table.of_kind(*NUMERIC), DECIMALS)
    answers.units = {
        column: unit
        for column, legal in asked["units"].items()
        if (unit := _chosen(sent, "unit", (column,), tuple(legal)).get(column))
    }
    _read_words(answers.words, sent, asked, catalogue)
    for name in ("sender", "name"):
        text = "".join(each for each in sent.get(name, "") if each.isprintable()).strip()
        if len(text) > MOST_CHARACTERS:
            raise BadQuestion(f"The {name} has {len(text)} characters; at most {MOST_CHARACTERS} are kept.")
        setattr(answers, name, text)
    answers.extracted = _day(sent.get("extracted", "").strip())
    answers.full_extract = sent.get("full", "") == "yes"
    return answers


def missing(answers: Answers, asked: AnyMapping[str, Any], header: list[str], today: date) -> list[str]:
    """Say in sentences what is to be mended before the file can be read; nothing when it can.

    Parameters
    ----------
    answers : Answers
    asked : mapping
        As from `looking.questions`, for these columns.
    header : list of str
    today : date
    """
    table, said = table_named(answers.table), []
    used: dict[int, str] = {}
    for column, place in answers.columns.items():
        if place in used:
            said.append(
                f"The column '{header[place]}' of the file is chosen twice, for "
                f"“{_meaning(table, used[place])}” and for “{_meaning(table, column)}”. Leave it to one."
            )
        used.setdefault(place, column)
    said += [
        f"Still needed: {' or '.join(f'“{_meaning(table, each)}”' for each in lacking.split(' or '))}. "
        "Choose the column of the file that holds it."
        for lacking in table.missing(set(answers.columns))
    ]
    for column in asked["dates"]:
        if column in answers.columns and column not in answers.dates:
            said.append(f"Say whether day or month comes first in '{header[answers.columns[column]]}'.")
    for column in asked["decimals"]:
        if column in answers.columns and column not in answers.decimals:
            said.append(f"Say what the comma means in '{header[answers.columns[column]]}'.")
    if answers.extracted and date.fromisoformat(answers.extracted) > today:
        said.append(
            "The day on which the file was taken from their system lies in the future. Give the right day."
        )
    if answers.full_extract and not answers.extracted:
        said.append(
            "A file that holds everything withdraws the rows that are gone from it. For that the day on "
            "which it was taken from their system is needed."
        )
    return said


def _chosen(
    sent: AnyMapping[str, str], part: str, columns: tuple[str, ...], legal: tuple[str, ...]
) -> dict[str, str]:
    found = {column: value for column in columns if (value := sent.get(f"{part}.{column}", ""))}
    for value in found.values():
        if value not in legal:
            raise BadQuestion(f"'{value[:40]}' can not be chosen here. It can be one of {', '.join(legal)}.")
    return found


def _read_words(
    words: Words, sent: AnyMapping[str, str], asked: AnyMapping[str, Any], catalogue: Catalogue
) -> None:
    """Take up the words of the form: those that mean something else than they were taken for."""
    for column, each in asked["words"].items():
        legal = catalogue.coded(each["field"])
        for kind in ("unknown", "known"):
            for nth, (text, _, taken_for) in enumerate(each[kind]):
                code = sent.get(f"word.{column}.{kind}.{nth}")
                if code is None:
                    continue
                if code and code not in legal:
                    raise BadQuestion(f"'{code[:40]}' is no meaning of a word here.")
                of_field = words.setdefault(each["field"], {})
                of_field.pop(text, None)
                if code != taken_for:
                    of_field[text] = [code] if code else []
        if not words.get(each["field"], True):
            del words[each["field"]]


def _day(text: str) -> str:
    if not text:
        return ""
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        raise BadQuestion(f"'{text[:40]}' is no day. Write it as 2026-03-01, or leave it blank.") from None


def _day_in_name(called: str) -> str:
    found = of_file(called, None, None).at
    return found.date().isoformat() if found else ""


def _meaning(table: Table, column: str) -> str:
    return table.columns[column].meaning
