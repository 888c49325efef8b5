"""Columns, figures and pages: what the code knows stands in docs/, and docs/ names nothing that is gone."""

import re
from collections.abc import Iterable
from pathlib import Path

import pytest

from analytics.intake.contract import tables
from dashboard.pages import PAGES

ROOT = Path(__file__).parents[2]


def text(name: str) -> str:
    return (ROOT / "docs" / name).read_text(encoding="utf-8")


def sections(page: str) -> dict[str, str]:
    """Split a page at its second-level headings; a name in backticks is the key without them."""
    parts = re.split(r"^## (.+)$", page, flags=re.MULTILINE)
    return {title.strip("` "): body for title, body in zip(parts[1::2], parts[2::2], strict=True)}


def first_cells(section: str) -> set[str]:
    """Return what stands in backticks in the first cell of each table row: where a page defines a name."""
    rows = (line.split("|")[1] for line in section.splitlines() if line.startswith("|"))
    return {name for row in rows for name in re.findall(r"`([^`]+)`", row)}


def contract_differences(page: str) -> list[str]:
    told = sections(page)
    wrong = []
    for table in tables().values():
        if table.name not in told:
            wrong.append(f"{table.name} is not told of")
            continue
        in_code, in_docs = set(table.columns), first_cells(told[table.name])
        wrong += [f"{table.name}.{name} stands in one only" for name in in_code ^ in_docs]
    return wrong


def test_every_column_of_the_contract_stands_in_both() -> None:
    assert contract_differences(text("data_contract.md")) == []


def test_a_column_that_differs_is_caught() -> None:
    page = text("data_contract.md")
    assert contract_differences(page.replace("`unit_id`", "`unitid`", 1)) != []
    assert (
        contract_differences(page.replace("## `visits`", "## `calls_made`").replace("## visits", "## made"))
        != []
    )


def missing_from(page: str, names: Iterable[str]) -> list[str]:
    return [name for name in names if f"`{name}`" not in page and f"`sql/{name}.sql`" not in page]


def metric_files() -> list[str]:
    return [
        str(path.relative_to(ROOT / "sql").with_suffix(""))
        for path in (ROOT / "sql" / "metrics").glob("*.sql")
    ]


def test_every_metric_file_is_defined_and_every_file_named_exists() -> None:
    page = text("metrics.md")
    assert metric_files()
    assert missing_from(page, metric_files()) == []
    named = re.findall(r"`sql/([a-z_/]+)\.sql`", page)
    assert [name for name in named if not (ROOT / "sql" / f"{name}.sql").exists()] == []


def test_every_page_of_the_dashboard_stands_in_both() -> None:
    page = text("pages.md")
    assert missing_from(page, (each.path for each in PAGES)) == []
    assert [each.question for each in PAGES if each.question not in page] == []


@pytest.mark.parametrize("names", [["metrics/no_such_figure"], ["/nowhere"]])
def test_what_is_missing_is_caught(names: list[str]) -> None:
    assert missing_from(text("metrics.md") + text("pages.md"), names) == names
