"""What failures alone say about the age of filters, and what was told against what was recorded."""

from dash.development.base_component import Component

from analytics.questions.filter_cases import CaseOnly
from dashboard.address import href
from dashboard.components.exhibit import exhibit, keep_csv
from dashboard.components.table import Cell, Table, column, noted, share_text
from dashboard.words import chance_words, counted, interval, number, percent

ANSWERS = {
    "given": "A date, a time ago or a season",
    "never": "Never",
    "dont_know": "Don't know",
    "not_recognised": "Not recognised",
    "blank": "Blank: not asked or not written down",
}
TOLD = {
    "within_30_days": "Within 30 days of each other",
    "later": "Told later than recorded",
    "earlier": "Told earlier than recorded",
}
CAN_NOT_TELL = (
    "Shares among failures are no rates: a fleet full of old filters has many calls with old filters. "
    "This table can "
    "not tell how often units fail."
)


def cases(found: CaseOnly) -> list[Component]:
    """Return the exhibits of failures alone."""
    return [_bands(found), _answers(found), _told(found)]


def _share(share: float | None, low: float | None, high: float | None, of: int) -> Cell:
    if share is None or not percent(share, of):
        return "too few"
    return noted(share_text(share, of), interval(low, high, of))


def _bands(found: CaseOnly) -> Component:
    known = int(found.bands["failures"].sum())
    rows: list[list[Cell]] = [
        [
            row["band"].replace("-", "–"),
            number(row["failures"]),
            _share(row["share"], row["share_low"], row["share_high"], known),
            f"{number(row['flow_linked'])} of {number(row['known'])}",
            _share(row["linked"], row["linked_low"], row["linked_high"], row["known"]),
        ]
        for row in found.bands.iter_rows(named=True)
    ]
    columns = [
        column("Filter age, months"), column("Failures", "number"), column("Share of failures", "number"),
        column("Filter-linked, of known causes", "number"), column("Share filter-linked", "rate"),
    ]  # fmt: skip
    trend = found.trend
    tested = (
        f" The share filter-linked {'rises' if trend.rises else 'falls'} over the bands, "
        f"{chance_words(trend.p)}."
        if trend
        else ""
    )
    return exhibit(
        f"{counted(known, 'failure')} alone, by filter age told or recorded",
        Table("Failures by filter age when the trouble began", columns, rows, layout="stack"),
        lead=f"{CAN_NOT_TELL}{tested} Age not known: {number(found.unknown)}; no filter, bypass or reverse "
        f"osmosis: {number(found.not_applicable)}.",
        tools=[keep_csv(href("/export.csv", None, table="filter_age_cases"), "failures by filter age")],
        id="cases",
    )


def _answers(found: CaseOnly) -> Component:
    rows: list[list[Cell]] = [
        [
            ANSWERS[row["answer"]],
            number(row["failures"]),
            f"{number(row['flow_linked'])} of {number(row['known'])}",
            _share(row["linked"], row["linked_low"], row["linked_high"], row["known"]),
        ]
        for row in found.answers.iter_rows(named=True)
    ]
    columns = [
        column("Answer"), column("Failures", "number"), column("Filter-linked, of known causes", "number"),
        column("Share filter-linked", "rate"),
    ]  # fmt: skip
    return exhibit(
        "“Never”, “don't know” and no answer are three answers",
        Table("Failures by what was told of the last filter change", columns, rows, layout="stack"),
        lead="What customers answer to when the filter was last changed.",
        tools=[keep_csv(href("/export.csv", None, table="filter_answers"), "answers")],
        id="answers",
    )


def _told(found: CaseOnly) -> Component:
    both = int(found.told["failures"].sum())
    disagree = both - int(found.told["failures"][0])
    rows: list[list[Cell]] = [
        [
            TOLD[row["told"]],
            number(row["failures"]),
            _share(row["share"], row["share_low"], row["share_high"], both),
            "" if row["median_days"] is None else f"{row['median_days']:.0f} days",
        ]
        for row in found.told.iter_rows(named=True)
    ]
    columns = [
        column("Told against recorded"), column("Failures", "number"), column("Share", "rate"),
        column("Median difference", "number"),
    ]  # fmt: skip
    return exhibit(
        f"Told and recorded differ by more than 30 days on {number(disagree)} of {counted(both, 'failure')}",
        Table("Filter change told against recorded", columns, rows, layout="stack"),
        lead="Told later: a change that nobody recorded, or one remembered as more recent than it was.",
        tools=[keep_csv(href("/export.csv", None, table="filter_told"), "told against recorded")],
        id="told",
    )
