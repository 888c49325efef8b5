"""Files that two libraries test their own readers of CSV with: each read as it is, and loaded or refused.

`messy_files` says which, and what is known of each. Beside that, a file of which nothing is set aside
reads as with Python's csv module, line by line; one without quotes is judged by counting its separators;
and no letter and no digit below the header gets lost, but behind the beginning of a field that is too
long.
"""

import csv
import hashlib
import io
import json
from collections import Counter
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Any

import duckdb
import pytest

from analytics import queries
from analytics.errors import BadFile, ServiceCallError
from analytics.intake import careful, loading, looking, sheets, staging
from analytics.intake.careful import Rejected
from analytics.intake.headers import plain
from analytics.intake.mapping import Mapping, TableMapping
from analytics.intake.order import Order, Wishes, order_for
from tests.analytics.intake.conftest import MemoryStore, load_catalogue_once
from tests.outside.messy_files import (
    CSVTOJSON,
    DATATABLE,
    DIGEST,
    FACTS,
    FEW,
    LOADED,
    MANY,
    OF_CSVTOJSON,
    OF_DATATABLE,
    ONE_COLUMN,
    content,
)
from tests.outside.suite_loading import TODAY, Reader, lost
from tests.studies.fuzzing import quick

pytestmark = pytest.mark.skipif(
    not (CSVTOJSON.exists() and DATATABLE.exists()),
    reason="the suites are not there: `bash .ci/setup test` fetches them",
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every file under its own name, unpacked; names that end in gz and bz2 are a trap, and stay."""
    found = tmp_path_factory.mktemp("messy")
    for name in FACTS:
        (found / name).write_bytes(content(name))
    return found


@pytest.fixture(scope="module")
def reader(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Reader]:
    with quick():
        yield Reader(tmp_path_factory.mktemp("scratch"))


def by_python(name: str) -> list[tuple[int, tuple[str, ...]]]:
    """Line and fields of each record below the header, by Python's csv module; blank lines are none."""
    text = content(name).decode(FACTS[name].encoding)
    separator = FACTS[name].separator or max(",;\t|", key=text.partition("\n")[0].count)
    rows, found, before = (
        csv.reader(io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True),
        [],
        0,
    )
    for row in rows:
        if any(map(str.strip, row)):
            found.append((before + 1, tuple(each.replace("\0", "").strip() for each in row)))
        before = rows.line_num
    return found[1:]


def below_header(name: str) -> str:
    text = content(name).decode(FACTS[name].encoding).lstrip("\n")
    return text.partition("\r" if name == "testEol" else "\n")[2]


def unquoted() -> list[str]:
    there = CSVTOJSON.exists() and DATATABLE.exists()
    return [name for name in FACTS if there and '"' not in below_header(name)]


def test_the_suites_are_whole() -> None:
    assert json.loads((CSVTOJSON / "package.json").read_text())["version"] == "1.1.12"
    known = {each.name for each in (CSVTOJSON / "test" / "data").iterdir()}
    assert known - set(OF_CSVTOJSON) == {"emptyFile"}
    digest = hashlib.sha256()
    for name in OF_DATATABLE:
        digest.update(content(name))
    assert digest.hexdigest() == DIGEST


@pytest.mark.parametrize("name", FACTS)
def test_a_file_is_read_as_it_is(name: str, folder: Path, reader: Reader) -> None:
    facts = FACTS[name]
    header, kept = reader.kept(folder / name, facts.separator)
    aside = Counter(each.reason for each in kept if each.reason)
    assert (len(kept), dict(aside)) == (facts.records, dict(facts.aside))
    for record, field, value in facts.values:
        assert kept[record].fields[field] == value
    if "field_too_long" not in aside:  # of it the beginning is kept
        assert not lost(below_header(name), kept)
    if not aside and header[-1]:
        found = [(each.line, each.fields) for each in kept if any(each.fields)]
        assert found == by_python(name)


@pytest.mark.parametrize("name", unquoted())
def test_by_counting_separators(name: str, folder: Path, reader: Reader) -> None:
    """Without quotes a line is a record, and is set aside where it has too few or too many separators."""
    header, kept = reader.kept(folder / name, FACTS[name].separator)
    separator = FACTS[name].separator or max(
        ",;\t|", key=content(name).decode("latin-1").partition("\n")[0].count
    )
    lines = below_header(name).replace("\0", "").splitlines()
    odd = [line for line in lines if line.strip() and line.count(separator) != len(header) - 1]
    assert len([each for each in kept if each.reason in (FEW, MANY)]) == len(odd)
    assert len(kept) == len([line for line in lines if line.strip()])


def test_an_empty_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadFile, match="emptyFile is empty"):
        looking.look(CSVTOJSON / "test" / "data" / "emptyFile", "emptyFile", tmp_path / "sample.csv")


def numbered_by_first_column(path: Path) -> Order:
    """Have a file loaded as units, with its first column for their number."""
    first = next(filter(plain, sheets.look_at(path, Mapping()).dialect.header))
    mapping = Mapping(tables={"units": TableMapping(columns={"unit_id": first})})
    return order_for(path, Wishes(mapping, TODAY, "units", source=path.name))


def outcomes(folder: Path, names: Collection[str], scratch: Path) -> dict[str, int | str]:
    """Load files in one load; return by name the rows, or in words why it is refused."""
    said: dict[str, int | str] = {}
    orders = []
    for name in names:
        try:
            looking.look(folder / name, name, scratch / "sample.csv")
            if name in LOADED:
                orders.append(numbered_by_first_column(folder / name))
        except ServiceCallError as refusal:
            said[name] = str(refusal)
    with MemoryStore(scratch / "store").writing() as draft:
        reports, _ = loading._load(draft, orders, load_catalogue_once(), TODAY, lambda *_: None, trial=False)
    for report in reports:
        report.check()
    return said | {report.file: report.rows for report in reports}


def test_every_file_loads_or_says_why_not(folder: Path, tmp_path: Path) -> None:
    with quick():
        said = outcomes(folder, FACTS, tmp_path)
    refused = {name for name, why in said.items() if isinstance(why, str)}
    assert refused == ONE_COLUMN
    assert all(name in str(said[name]) and "has one column" in str(said[name]) for name in refused)
    assert {name: said[name] for name in LOADED - refused} == {
        name: FACTS[name].records for name in LOADED - refused
    }


def test_a_loader_that_drops_a_record_is_caught(
    folder: Path, reader: Reader, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One that passes over records of several lines, which a sum over its own count would not show."""
    sound = careful.records

    def without_long_ones(*given: Any) -> Iterator[list[str] | Rejected]:
        return (each for each in sound(*given) if isinstance(each, Rejected) or "\n" not in "".join(each))

    monkeypatch.setattr(careful, "records", without_long_ones)
    monkeypatch.setattr(staging, "_at_once", lambda *_: None)
    names = ["dataWithMultipleLineRow", "lineBreak", "doublequote_newline.csv", "quoted_multiline.csv.bz2"]
    for name in names:
        with pytest.raises(AssertionError):
            test_a_file_is_read_as_it_is(name, folder, reader)


def test_a_loader_that_goes_by_the_name_of_a_file_is_caught(
    folder: Path, reader: Reader, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A name that ends in gz or bz2 says nothing of what is in a file; DuckDB believes it unless told."""
    sound = queries.statement
    believing = lambda name: sound(name).replace("compression = 'none',", "")  # noqa: E731
    monkeypatch.setattr(queries, "statement", believing)
    trusting = Reader(folder)
    trusting.kept(folder / "columnArray")
    for name in ("winallquoted.csv.bz2", "issue_785_fread.txt.gz"):
        with pytest.raises(duckdb.Error):
            trusting.kept(folder / name)
