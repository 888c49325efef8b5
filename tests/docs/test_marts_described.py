"""docs/marts.md describes every mart and column of the database, and nothing that is not there."""

import re
from pathlib import Path

import pytest

from tests.analytics.small_fleet import SmallFleet

PAGE = Path(__file__).parents[2] / "docs" / "marts.md"
ROW = re.compile(r"^\| `(\w+)` \| ([^|]+) \| ([^|]+) \|$", re.MULTILINE)


def described(page: str) -> dict[tuple[str, str], str]:
    """Return the type of each column by mart and column, as the page has it."""
    parts = re.split(r"^## `marts\.(\w+)`$", page, flags=re.MULTILINE)
    return {
        (mart, column): kind.split(",")[0].strip()
        for mart, body in zip(parts[1::2], parts[2::2], strict=True)
        for column, kind, _ in ROW.findall(body)
    }


@pytest.fixture(scope="module")
def built() -> dict[tuple[str, str], str]:
    """Return the same from an empty database."""
    rows = SmallFleet().connection.execute(
        "select table_name, column_name, lower(data_type) from duckdb_columns() where schema_name = 'marts'"
    )
    return {(mart, column): kind for mart, column, kind in rows.fetchall()}


def test_page_and_database_agree(built: dict[tuple[str, str], str]) -> None:
    assert described(PAGE.read_text(encoding="utf-8")) == built


@pytest.mark.parametrize("line", ["| `depot` | varchar |", "| `opened_at` | timestamp"])
def test_a_column_that_is_missing_or_of_another_type_is_caught(
    built: dict[tuple[str, str], str], line: str
) -> None:
    page = PAGE.read_text(encoding="utf-8")
    assert line in page
    assert (
        described(page.replace(line, line.replace("depot", "branch").replace("timestamp", "date"))) != built
    )


def test_every_column_has_a_meaning() -> None:
    meanings = [meaning for _, _, meaning in ROW.findall(PAGE.read_text(encoding="utf-8"))]
    assert all(len(meaning.strip()) > 3 for meaning in meanings)
