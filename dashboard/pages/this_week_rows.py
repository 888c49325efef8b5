"""The rows of the review list: each kind of thing with its reason, its evidence and its links."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import polars as pl

from analytics.filters import Filters
from analytics.questions.review import open_by_age
from dashboard.address import href, to_call, to_calls, to_unit
from dashboard.components.grouping import BY_WORDS, group_filters
from dashboard.components.lists import Labels, standing_in_words, worded
from dashboard.components.table import Cell, Table, column, link, noted
from dashboard.words import as_words, counted, day, days_after, number

WAITS_WORDS = {
    "part_on_order": "a part on order",
    "no_access": "somebody at home",
    "estimate": "an answer to the estimate",
    "referred_on": "somebody it was referred to",
    "not_visited": "the first visit",
    "not_said": "nothing said",
}
TOLD_WORDS = {"partly": "works partly", "no": "does not work", "not_reached": "not reached"}
BANDS = {"0": "0 to 2 days", "3": "3 to 7", "8": "8 to 14", "15": "15 to 30", "31": "over 30"}
MOST_READINGS = 4

COLUMNS: Mapping[str, Sequence[dict[str, Any]]] = {
    "return": [
        column("Came back", "day"), column("Complaint"), column("Found at the earlier visit"),
        column("Parts fitted"), column("Readings taken"), column("Who went"),
        column("Technician's own remark"),
    ],
    "third_trip": [column("Latest call"), column("Why"), column("Complaint"), column("Unit")],
    "open_call": [
        column("Call"), column("Open for", "number"), column("Waits for"), column("Complaint"),
        column("Visits", "number"), column("Depot"),
    ],
    "no_proof": [
        column("Call"), column("Closed", "day"), column("Why"), column("Complaint"),
        column("What it turned out to be"), column("Parts fitted"), column("Depot"),
    ],
    "group": [
        column("Group"), column("Why"), column("Came back", "number"), column("Extra returns", "number"),
    ],
}  # fmt: skip


class RowWords:
    """What cells are written with.

    Parameters
    ----------
    filters : Filters
        Carried along in links.
    labels : callable
        Field -> labels by code.
    """

    def __init__(self, filters: Filters, labels: Labels) -> None:
        self.filters = filters
        self.labels = labels
        self.symptoms, self.causes, self.parts = labels("symptoms"), labels("causes"), labels("parts")

    def complaint(self, row: Mapping[str, Any], name: str = "symptoms") -> str:
        """Write the complaint of a call."""
        return worded(row[name], self.symptoms, "not recognised")

    def call(self, call_id: str, text: str, spoken: str, note: str | None = None) -> Cell:
        """Make a link to a call."""
        return link(text, to_call(call_id, self.filters), f"{spoken}, call {call_id}", note)


def row_name(kind: str, row: Mapping[str, Any]) -> str:
    """Write what a row is about, for its form and for screen readers."""
    if kind == "group":
        return f"{BY_WORDS[row['by']]} {as_words(row['group'] or '', row['label'])}"
    if kind == "return":
        return f"return of {day(row['return_opened_at'])}, call {row['return_call_id']}"
    return f"call {row['call_id']}"


def row_cells(kind: str, row: Mapping[str, Any], words: RowWords) -> list[Cell]:
    """Return the cells of a row but the last."""
    return {
        "return": _return,
        "third_trip": _third_trip,
        "open_call": _open_call,
        "no_proof": _no_proof,
        "group": _group,
    }[kind](row, words)


def _return(row: Mapping[str, Any], words: RowWords) -> list[Cell]:
    came = day(row["return_opened_at"])
    found = worded(row["cause"], words.causes, "not recorded")
    visits = f", {counted(row['visits'], 'visit')}" if row["visits"] else ""
    standing = standing_in_words(row["return_standing"], words.labels)
    remark = noted(row["remark"], row["remark_by"]) if row["remark_by"] else row["remark"] or "none yet"
    return [
        words.call(
            row["return_call_id"],
            came,
            f"Return of {came}",
            f"after {days_after(row['days_between'])}, {standing}",
        ),
        words.complaint(row, "return_symptoms"),
        words.call(row["call_id"], found, f"{found}, earlier", f"closed {day(row['closed_at'])}{visits}"),
        worded(row["parts"], words.parts, "none"),
        _readings(row["readings"]),
        row["technician"] or "",
        remark,
    ]


def _readings(readings: list[str] | None) -> str:
    if not readings:
        return "none"
    left = len(readings) - MOST_READINGS
    return "; ".join(readings[:MOST_READINGS]) + (f"; {left} more" if left > 0 else "")


def _third_trip(row: Mapping[str, Any], words: RowWords) -> list[Cell]:
    over = f" over {number(row['calls'])} calls" if row["calls"] > 1 else ""
    taken = [words.causes.get(cause, cause) for cause in row["causes"]]
    found = f"; taken for {', then '.join(taken)}" if taken else "; no cause recorded"
    days = f"since {day(row['first_opened_at'])}, latest {day(row['last_at'])}"
    why = f"{counted(row['trips'], 'trip')}{over} {days}"
    return [
        words.call(row["call_id"], row["call_id"], "Latest"),
        f"{why}{found}.",
        words.complaint(row),
        link(row["unit_id"], to_unit(row["unit_id"], words.filters), f"Unit {row['unit_id']}"),
    ]


def _open_call(row: Mapping[str, Any], words: RowWords) -> list[Cell]:
    last = f"latest {day(row['last_visit_at'])}" if row["last_visit_at"] is not None else ""
    return [
        words.call(row["call_id"], row["call_id"], "Open", f"since {day(row['opened_at'])}"),
        counted(row["age_days"], "day"),
        WAITS_WORDS[row["waits_for"]],
        words.complaint(row),
        noted(number(row["visits"]), last) if last else number(row["visits"]),
        row["depot"] or "",
    ]


def _no_proof(row: Mapping[str, Any], words: RowWords) -> list[Cell]:
    made = (
        f"{counted(row['checks'], 'check')} recorded, none of them a proof"
        if row["checks"]
        else "no check recorded"
    )
    told = f"; customer: {TOLD_WORDS.get(row['told'], row['told'])}" if row["told"] else ""
    return [
        words.call(row["call_id"], row["call_id"], "Repair"),
        day(row["closed_at"]),
        f"{made}{told}".capitalize(),
        words.complaint(row),
        worded(row["cause"], words.causes, "not recorded"),
        worded(row["parts"], words.parts, "none"),
        row["depot"] or "",
    ]


def _group(row: Mapping[str, Any], words: RowWords) -> list[Cell]:
    asked = Filters(words.filters.window_days, words.filters.match, words.filters.as_of)
    period = asked.but(closed_from=row["since"].date(), closed_to=row["until"].date())
    chosen = group_filters(period, row["by"], row["group"])
    name = as_words(row["group"] or "", row["label"])
    closed = f"closed {day(row['since'])} to {day(row['until'])}"
    counts = f"{number(row['came_back'])} of {number(row['calls'])}"
    why = (
        f"{row['ratio']:.2f} times the {row['expected']:.1f} returns that its work would lead one to expect "
        f"(95% interval {row['low']:.2f} to {row['high']:.2f}; {row['shrunk']:.2f} pulled towards the "
        "average): more than chance."
    )
    return [
        link(name, href("/compare", asked, by=row["by"]), f"Compare: {name}", BY_WORDS[row["by"]]),
        why,
        link(counts, to_calls(chosen, "came_back"), f"{counts} came back, {name}", closed),
        number(row["extra_returns"], 1),
    ]


def open_matrix(calls: pl.DataFrame, address: Callable[[str, str], str]) -> Table:
    """Return how many calls are open, by what they wait for and for how long; each number opens its calls.

    Parameters
    ----------
    calls : DataFrame
        Open calls.
    address : callable
        What they wait for and band of age ("": any) -> address of those calls.
    """
    counts = open_by_age(calls)
    columns = [
        column("Waits for"),
        *(column(words, "number") for words in BANDS.values()),
        column("All", "number"),
    ]

    def opens(count: int, waits_for: str, band: str) -> Cell:
        said = f"{counted(count, 'open call')}{waiting_in_words(waits_for, band)}"
        return link(number(count), address(waits_for, band), said) if count else "0"

    rows: list[list[Cell]] = [
        [
            WAITS_WORDS[row["waits_for"]].capitalize(),
            *(opens(row[band], row["waits_for"], band) for band in BANDS),
            opens(row["calls"], row["waits_for"], ""),
        ]
        for row in counts.iter_rows(named=True)
    ]
    sums = [opens(int(counts[band].sum()), "", band) for band in BANDS]
    whole = ["All", *sums, opens(calls.height, "", "")]
    return Table("Open calls by what they wait for and for how long", columns, [*rows, whole])


def waiting_in_words(waits_for: str, band: str) -> str:
    """Write which open calls: what they wait for, and how long they have been open."""
    waits = f", waiting for {WAITS_WORDS[waits_for]}" if waits_for in WAITS_WORDS else ""
    return waits + (f", open {BANDS[band].removesuffix(' days')} days" if band in BANDS else "")
