"""The loader against csv-spectrum, files with every turn of CSV and beside each what is in it.

Source: csv-spectrum 2.0.0 (M. Ogden, BSD-2-Clause), from the npm registry; `.ci/setup test` fetches it, and
`.ci/package.json` names it. The files go through the loader as they are, taken for a table of units: the
first column as unit_id, the others as columns that keep any text. `location_coordinates` is left out, because
its JSON describes another row than its CSV.
"""

import json
from pathlib import Path

import pytest

from analytics.intake.loading import load_files
from analytics.intake.mapping import Mapping, TableMapping
from analytics.store import Store

FOLDER = Path(__file__).parents[2] / ".ci" / "node_modules" / "csv-spectrum"
COLUMNS = ("unit_id", "product_family", "household_id", "depot", "location")
NAMES = (
    "comma_in_quotes", "empty", "empty_crlf", "escaped_quotes", "json", "newlines", "newlines_crlf",
    "quotes_and_newlines", "simple", "simple_crlf", "utf8",
)  # fmt: skip


def expected(name: str) -> list[dict[str, str]]:
    return json.loads((FOLDER / "json" / f"{name}.json").read_text(encoding="utf-8"))


def loaded(name: str, folder: Path) -> list[dict[str, str]]:
    """Load the file, and return what the records hold under the file's own headers."""
    ours = dict(zip(COLUMNS, expected(name)[0], strict=False))
    mapping = Mapping(tables={"units": TableMapping(columns=ours)})
    store = Store(folder)
    report = load_files(store, [FOLDER / "csvs" / f"{name}.csv"], mapping=mapping, table="units").files[0]
    assert (report.loaded, report.set_aside) == (report.rows, 0)
    rows = store.reader().cursor().sql("select * from records.units order by line").pl().to_dicts()
    return [{header: row[column] or "" for column, header in ours.items()} for row in rows]


def test_every_file_is_read_or_left_out_for_a_reason() -> None:
    assert {path.stem for path in (FOLDER / "csvs").glob("*.csv")} - set(NAMES) == {"location_coordinates"}


@pytest.mark.parametrize("name", NAMES)
def test_file_is_read_as_its_author_means_it(name: str, tmp_path: Path) -> None:
    assert loaded(name, tmp_path) == expected(name)
