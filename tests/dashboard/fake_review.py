"""Stand-ins for the review list: enough rows for two pages, one of each kind marked."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta

import polars as pl

from analytics.decisions import Decision
from analytics.errors import UnknownRecord
from analytics.filters import Filters
from analytics.hand_sorting import hand_sorting
from analytics.questions.review import WAITS_FOR, Review
from tests.dashboard.fake_frames import FORMULA, HOSTILE, call_frame

UNTIL = datetime(2026, 6, 26, 17, 5)


def _marked(rows: pl.DataFrame, key: str) -> pl.DataFrame:
    last = pl.int_range(pl.len()) == pl.len() - 1
    marks = {"reviewed_at": datetime(2026, 6, 26, 9), "note": FORMULA, "reviewed_by": "Ann"}
    return rows.with_columns(
        key=pl.col(key), **{name: pl.when(last).then(pl.lit(value)) for name, value in marks.items()}
    )


def review_lists(calls: int, groups: pl.DataFrame) -> dict[str, pl.DataFrame]:
    """Return the five lists; all of them empty where there are no calls."""
    rows = call_frame(12 if calls else 0)
    same = ("call_id", "unit_id", "depot", "symptoms", "cause", "parts", "closed_at", "closed_has_time")
    returns = rows.select(*same, "technician", "visits").with_columns(
        return_call_id=pl.concat_str(pl.lit("R"), "call_id"),
        return_opened_at=pl.lit(UNTIL - timedelta(hours=5)),
        return_opened_has_time=pl.lit(True),
        days_between=pl.lit(9.0),
        return_symptoms="symptoms",
        return_standing=pl.lit("open"),
        readings=pl.lit(["valve coil: 260 ohm, no fault"] * 6),
    )
    trips = rows.select("call_id", "unit_id", "depot", "symptoms").with_columns(
        trips=pl.lit(3), calls=pl.lit(2),
        first_opened_at=pl.lit(UNTIL - timedelta(days=30)), last_at=pl.lit(UNTIL),
        causes=pl.lit(["fill_tube_frozen", "inlet_valve_seeping"]), standing=pl.lit("open"),
    )  # fmt: skip
    waits = pl.Series(
        "waits_for", [WAITS_FOR[n % len(WAITS_FOR)] for n in range(rows.height)], dtype=pl.String
    )
    open_calls = rows.select("call_id", "unit_id", "depot", "symptoms", "opened_at").with_columns(
        waits, age_days=pl.lit(40), visits=pl.lit(1), last_visit_at=pl.lit(UNTIL)
    )
    no_proof = rows.select(same).with_columns(checks=pl.lit(2), told=pl.lit("not_reached"))
    week = pl.concat_str("by", "group", pl.lit("2026-W22"), separator=":")
    lists = {
        "return": _marked(returns, "return_call_id").with_columns(
            sorted=pl.lit("our_work"), remark=pl.lit(HOSTILE), remark_by=pl.lit("T01")
        ),
        "third_trip": _marked(trips, "call_id"),
        "open_call": _marked(open_calls, "call_id"),
        "no_proof": _marked(no_proof, "call_id"),
        "group": _marked(groups.with_columns(week=week), "week").drop("week"),
    }
    return lists


class FakeReview:
    """The methods of `FleetReview`; what is decided is kept in a list."""

    total: int
    decided: list[Decision]

    def this_week(self, filters: Filters) -> Review:
        lists = review_lists(self.total, self.worth_a_look(filters))  # type: ignore[attr-defined]
        days = date(2026, 6, 24), date(2026, 6, 25)
        return Review(UNTIL, date(2026, 6, 26), datetime(2026, 6, 25), *days, 40, True, lists)

    def decide(self, made: Sequence[Decision]) -> None:
        if any(each.key == "NO" for each in made):
            raise UnknownRecord(f"There is no call '{HOSTILE}' in the data as loaded.")
        self.decided = [*getattr(self, "decided", []), *made]

    def with_remarks(self, returns: pl.DataFrame) -> pl.DataFrame:
        said = {"sorted": "use", "remark": FORMULA, "remark_by": "T01"}
        return returns.with_columns(**{name: pl.lit(value) for name, value in said.items()})

    def sortings(self) -> dict[str, str]:
        return dict(hand_sorting().labels)
