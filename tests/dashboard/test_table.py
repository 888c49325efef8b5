import pytest

from dashboard.components.table import (
    Table,
    bar_mark,
    column,
    interval_mark,
    interval_text,
    link,
    nice_scale,
    share_text,
)


def test_cells_are_plain_data() -> None:
    assert link("318", "/calls?subset=came_back", "318 calls") == {
        "text": "318",
        "href": "/calls?subset=came_back",
        "spoken": "318 calls",
    }
    assert interval_mark(0.07, 0.06, 0.08, hollow=True) == {
        "dot": 0.07,
        "low": 0.06,
        "high": 0.08,
        "hollow": True,
    }
    assert interval_mark(None, None, None) == ""
    assert bar_mark(12) == {"bar": 12}
    assert column("Calls", "number") == {"label": "Calls", "kind": "number"}


def test_no_percentage_of_a_few_calls() -> None:
    assert share_text(0.25, 4) == "too few"
    assert interval_text(0.05, 0.7, 4) == ""
    assert share_text(0.25, 40) == "25%"


@pytest.mark.parametrize(
    ("highest", "end"),
    [
        (0.0, 1.0),
        (0.02, 0.02),
        (0.071, 0.08),
        (0.11, 0.15),
        (0.23, 0.25),
        (0.5, 0.5),
        (0.93, 1.0),
        (1.0, 1.0),
        (512, 600),
    ],
)
def test_scale_ends_at_a_number_that_reads_well(highest: float, end: float) -> None:
    assert nice_scale(highest) == pytest.approx(end)


def test_table_is_one_component_whatever_its_rows() -> None:
    table = Table("Calls", [column("Call")], [["C1"], ["C2"]], layout="stack", row_kinds=["", "other"])
    sent = table.to_plotly_json()
    assert (sent["namespace"], sent["type"]) == ("dashboard", "Table")
    assert sent["props"]["rows"] == [["C1"], ["C2"]]
