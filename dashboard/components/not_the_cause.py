"""Parts that were fitted and were not the cause, as an exhibit."""

from dash.development.base_component import Component

from analytics.filters import Filters
from analytics.questions.wrong_turns import WrongTurns
from dashboard.address import href
from dashboard.components.assumed import options_of
from dashboard.components.exhibit import exhibit, keep_csv
from dashboard.components.money import money
from dashboard.components.table import Cell, Table, bar_mark, column, link, nice_scale
from dashboard.words import capital, counted, number


def parts_exhibit(filters: Filters, found: WrongTurns) -> Component | None:
    """Return the exhibit of the parts that were not the cause."""
    rows = found.parts
    if rows.is_empty():
        return None
    scale = nice_scale(max(max(rows["money"].to_list()), 1.0))
    columns = [
        column("Part"),
        column("Money", "mark", scale=scale, ends=["0", money(scale)]),
        column("Money", "rate"),
        column("Parts", "number"),
        column("Calls", "number"),
    ]
    cells: list[list[Cell]] = [
        [
            capital(row["label"]),
            bar_mark(row["money"]),
            money(row["money"]),
            number(row["parts"]),
            link(
                number(row["calls"]),
                href("/calls", filters, subset="part_not_cause", only=row["part"]),
                f"{number(row['calls'])} calls: {row['label']}",
            ),
        ]
        for row in rows.iter_rows(named=True)
    ]
    first = rows.row(0, named=True)
    told = (
        f" {counted(round(found.parts_unknown), 'part')} could not be told: not recognised."
        if found.parts_unknown
        else ""
    )
    options = options_of(found.assumptions)
    return exhibit(
        f"Parts that were not the cause: most money went into {first['label']}",
        Table("Parts fitted before the last call that were not the cause", columns, cells, layout="marks"),
        lead="Fitted on an earlier call of a string of returns, and by the catalogue no answer to what it "
        "turned out to be. They may have been worn as well, and a filter may have been due: an upper "
        f"limit. Calls are first calls of such strings.{told}",
        tools=[
            keep_csv(href("/export.csv", filters, table="parts_not_cause", **options), "parts not the cause")
        ],
        id="parts",
    )
