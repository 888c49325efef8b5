"""docs/catalogue.md shows the catalogue as it is, and nothing else."""

import re

import pytest

from analytics.catalogue import load_catalogue
from analytics.catalogues.described import PAGE, described, tables


@pytest.fixture(scope="module")
def catalogue():
    return load_catalogue()


def test_page_is_up_to_date(catalogue):
    page = PAGE.read_text(encoding="utf-8")
    assert described(page, catalogue) == page, "run: python -m analytics.catalogues.described"


@pytest.mark.parametrize(
    "table", ["symptoms", "causes", "checks", "parts", "outcomes", "job_kinds", "visit_results"]
)
def test_every_code_appears_and_no_other(catalogue, table):
    shown = re.findall(r"^\| (\w+) \|", tables(catalogue)[table], flags=re.MULTILINE)[1:]
    assert shown == list(getattr(catalogue, table))


def test_page_without_a_place_for_a_table_is_refused(catalogue):
    with pytest.raises(ValueError, match="families"):
        described("# nothing here", catalogue)


def test_out_of_date_page_is_caught(catalogue):
    page = PAGE.read_text(encoding="utf-8").replace("| no_ice | no ice |", "| no_ice | no cubes |")
    assert described(page, catalogue) != page
