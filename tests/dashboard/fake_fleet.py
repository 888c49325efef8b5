"""A small hand-made stand-in for the facade: the same answers each time, enough to draw every page from."""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import polars as pl

from analytics.doors import Doors
from analytics.errors import UnknownRecord
from analytics.filters import Filters
from analytics.questions.answers import CallStory, Figures, GroupFigures, ObservationEnd, UnitStory, Warning
from analytics.questions.ringing_again import RingingAgain
from analytics.questions.silence import Silence
from analytics.questions.subsets import SUBSETS
from analytics.statistics.survival import LogRank
from tests.dashboard.fake_bringing import FakeBringing
from tests.dashboard.fake_changing import FakeChanging
from tests.dashboard.fake_checks import FakeChecks
from tests.dashboard.fake_comparing import FakeComparing
from tests.dashboard.fake_filters import FakeFilters
from tests.dashboard.fake_frames import (
    DEPOTS,
    FORMULA,
    HOSTILE,
    LABELS,
    TECHNICIANS,
    call_frame,
    month_frame,
    rate,
    wait_curve,
)  # fmt: skip
from tests.dashboard.fake_lessons import FakeLessons
from tests.dashboard.fake_model import FakeModel
from tests.dashboard.fake_review import FakeReview
from tests.dashboard.fake_teaching import FakeTeaching
from tests.dashboard.fake_time import FakeTime
from tests.dashboard.fake_turns import FakeTurns
from tests.dashboard.fake_units import FakeUnits
from tests.dashboard.fake_work import FakeWork

ENDS = [ObservationEnd("office", "", datetime(2026, 6, 28, 17, 5), "latest timestamp")]


FLAGS = ("flagged_both", "flagged_by_office_only", "flagged_by_us_only")


class FakeFleet(
    FakeLessons,
    FakeModel,
    FakeReview,
    FakeWork,
    FakeChecks,
    FakeTurns,
    FakeComparing,
    FakeTime,
    FakeUnits,
    FakeFilters,
    FakeTeaching,
    FakeBringing,
    FakeChanging,
):
    """The methods of `Fleet` that pages ask, over invented numbers."""

    def __init__(self, loaded: bool = True, calls: int = 4480, fitted: bool = True) -> None:
        self.fitted = fitted
        self.loaded = loaded
        self.total = calls
        self.kept_doors = Doors(Path("no-such-folder"))

    def _size(self, filters: Filters) -> int:
        return self.total if not filters.depots else self.total * len(filters.depots) // 5

    def doors(self) -> Doors:
        return self.kept_doors

    def for_one_page(self) -> "FakeFleet":
        return self

    def meanwhile(self, ask: Callable[["FakeFleet"], Any]) -> Callable[[], Any]:
        answer = ask(self)
        return lambda: answer

    def figures(self, filters: Filters, by: str | None = None) -> Figures:
        size = self._size(filters)
        left_out = {"open": 31, "cancelled": 74} if size else {}
        same = rate(
            size * 71 // 1000, size, size // 11, left_out=left_out, name="callback_rate", design_effect=1.04
        )
        wide = rate(size * 93 // 1000, size, size // 11, name="callback_rate_any")
        fixed = rate(size * 70 // 100, size * 9 // 10, size // 11, name="first_time_fix_rate")
        names = {"depot": DEPOTS, "technician": TECHNICIANS, "symptom": LABELS["symptoms"]}.get(by or "", {})
        groups = [
            GroupFigures(
                code,
                label,
                rate((n * 13 + 5) % 9 + of // 17, of, of // 9),
                rate((n * 13 + 5) % 9 + of // 12, of, of // 9),
                rate(of // 2, of, of // 9),
            )
            for n, (code, label) in enumerate(names.items())
            for of in [max(3, size // (len(names) + n))]
        ]
        warnings = [
            Warning(
                "dates_without_times",
                "Times of day are missing in some records: 14 calls were followed by another on the same "
                "day.",
                {"same_day_pairs": 14},
                "same_day",
            )
        ]
        counts = {"calls": size, "completed": size, "open": 31, "fixed_by_phone": 212, "same_day_pairs": 14}
        return Figures(
            same if filters.match == "family" else wide,
            same,
            wide,
            fixed,
            rate(size * 70 // 100, size * 8 // 10),
            counts,
            by,
            groups,
            ENDS,
            warnings if size else [],
            ["The office's file has no outcome column: a closed call counts as completed."],
        )

    def ringing_again(self, filters: Filters, by: str | None = None) -> RingingAgain:
        size = self._size(filters)
        names = DEPOTS if by == "depot" else TECHNICIANS if by == "technician" else {}
        groups = [wait_curve(code, label, size // len(names)) for code, label in names.items()]
        return RingingAgain(wait_curve(None, "all calls", size), groups, LogRank(9.3, 3, 0.025))

    def silence(self, filters: Filters) -> Silence:
        size = self._size(filters)
        counts = dict.fromkeys(("works", "partly", "no", "not_reached", *FLAGS), size // 40)
        told = counts["works"] * 3
        counts |= {"judged": size, "came_back_any": size // 9, "silent": size - size // 9}
        of = (0.2, 0.3, 0.4) if size else (None, None, None)
        return Silence(rate(size // 9, size), rate(told * 2 // 3, told), *of, counts)

    def silent_sample(self, filters: Filters, week_of: date, wanted: int = 30) -> pl.DataFrame:
        columns = ("call_id", "unit_id", "depot", "closed_at", "symptoms", "cause", "parts")
        return call_frame(wanted if self.total else 0).select(columns)

    def by_month(self, filters: Filters) -> pl.DataFrame:
        return month_frame()

    def spoiled(self, filters: Filters) -> pl.DataFrame:
        return pl.DataFrame(
            [
                ("came_back", "came back", 318, 318, "spoiled_came_back"),
                ("part", "second trip for a part", 512, 601, "spoiled_part"),
                ("diagnosis", "wrong first diagnosis", 77, 122, "spoiled_diagnosis"),
                ("no_access", "nobody home", 140, 160, "spoiled_no_access"),
                ("other", "another visit, reason not recorded", 12, 12, "spoiled_other"),
            ],
            schema=["reason", "label", "calls", "calls_any", "subset"],
            orient="row",
        )

    def calls(
        self,
        filters: Filters,
        subset: str = "all",
        offset: int = 0,
        limit: int = 50,
        sort: str = "closed_at",
        descending: bool = True,
        check: str = "",
        only: str = "",
    ) -> tuple[pl.DataFrame, int]:
        assert subset in SUBSETS
        total = self._size(filters)
        return call_frame(max(0, min(limit, total - offset)), offset), total

    def returns(
        self, filters: Filters, offset: int = 0, limit: int = 50, **order: Any
    ) -> tuple[pl.DataFrame, int]:
        total = self._size(filters) * 71 // 1000
        base = call_frame(max(0, min(limit, total - offset)), offset)
        frame = base.select(
            "call_id", "unit_id", "depot", "technician", "closed_at", "symptoms", "cause", "parts"
        )
        frame = frame.with_columns(
            ("R" + pl.col("call_id")).alias("return_call_id"),
            (pl.col("closed_at") + timedelta(days=9)).alias("return_opened_at"),
            pl.lit(9.0).alias("days_between"),
            pl.col("technician").alias("return_technician"),
            pl.col("symptoms").alias("return_symptoms"),
            pl.lit("inlet_valve_seeping").alias("return_cause"),
            pl.lit("completed").alias("return_standing"),
        )
        return frame, total

    def call(self, call_id: str) -> CallStory:
        if call_id not in ("C40000", FORMULA):
            raise UnknownRecord(f"There is no call '{call_id}' in the data as loaded.")
        said = pl.DataFrame(
            [
                ("complaint", "Complaint", HOSTILE, None, None),
                ("mould_state", "What is in the mould", "tiny cubes", "small_cubes", "small cubes"),
            ],
            schema=["answer", "label", "written", "code", "code_label"],
            orient="row",
        )
        at = datetime(2026, 3, 1, 14, 5)
        timeline = pl.DataFrame(
            [
                (
                    at - timedelta(days=40),
                    True,
                    "earlier_call",
                    "no ice",
                    "filter restricted",
                    "T03",
                    "C39000",
                ),
                (at, True, "opened", "no ice", HOSTILE, None, call_id),
                (at + timedelta(days=1), True, "visit", "visit", "let in, done", "T01", call_id),
                (
                    at + timedelta(days=1),
                    True,
                    "check",
                    "valve coil ohms",
                    "260 ohm, no fault",
                    "T01",
                    call_id,
                ),
                (at + timedelta(days=1), True, "part", "inlet valve", None, "T01", call_id),
                (
                    at + timedelta(days=1, hours=2),
                    True,
                    "closed",
                    "repaired",
                    "fill tube frozen",
                    "T01",
                    call_id,
                ),
                (at + timedelta(days=11), True, "return", "no ice", "inlet valve seeping", "T02", "C41000"),
            ],
            schema=["at", "has_time", "kind", "what", "detail", "technician", "call_id"],
            orient="row",
        )
        facts = {
            "opened_at": at,
            "closed_at": at + timedelta(days=1),
            "standing": "completed",
            "symptoms": ["no_ice"],
            "cause": "fill_tube_frozen",
            "technician": "T01",
            "depot": "north",
            "filter_age_days": 244,
            "visits": 1,
        }
        back = pl.DataFrame({"return_call_id": ["C41000"], "days_between": [10.0], "match": ["family"]})
        for_none = pl.DataFrame({"charged_call_id": ["C39000"], "days_between": [38.0], "match": ["any"]})
        checks = pl.DataFrame({"check": ["valve_coil_ohms"], "caution": ["b"]})
        none = pl.DataFrame()
        return CallStory(
            call_id,
            "U1001",
            facts,
            said,
            timeline,
            none,
            checks,
            none,
            none,
            none,
            none,
            back,
            for_none,
            None,
        )

    def unit(self, unit_id: str) -> UnitStory:
        if not unit_id.startswith("U"):
            raise UnknownRecord(f"There is no unit '{unit_id}' in the data as loaded.")
        facts = {"installed_on": date(2019, 4, 2), "product_family": "side_by_side", "retired_on": None}
        episodes = pl.DataFrame(
            {
                "episode_id": ["C39000"],
                "calls": [2],
                "opened_at": [datetime(2026, 1, 20)],
                "last_closed_at": [datetime(2026, 3, 2)],
                "final_cause": ["inlet_valve_seeping"],
                "confirmed": [True],
                "course": ["went deeper"],
            }
        )
        timeline = self.call("C40000").timeline
        return UnitStory(unit_id, facts, timeline, call_frame(6), pl.DataFrame(), episodes)

    def choices(self) -> dict[str, pl.DataFrame]:
        options = {
            "depots": DEPOTS,
            "families": LABELS["families"],
            "symptoms": LABELS["symptoms"],
            "causes": LABELS["causes"],
            "technicians": TECHNICIANS,
            "product_families": LABELS["product_families"],
            "parts": LABELS["parts"],
        }
        frames = {
            name: pl.DataFrame(
                {"value": list(words), "label": list(words.values()), "calls": [9] * len(words)}
            )
            for name, words in options.items()
        }
        return frames | {"closed": pl.DataFrame({"first": [date(2024, 1, 4)], "last": [date(2026, 6, 27)]})}

    def labels(self, field: str) -> dict[str, str]:
        return LABELS.get(field, {})

    def observation_ends(self) -> list[ObservationEnd]:
        return ENDS

    def generation(self) -> dict[str, Any]:
        return {"number": 42, "made_at": datetime(2026, 7, 3, 8, 0)} if self.loaded else {}

    def generations(self) -> pl.DataFrame:
        made = datetime(2026, 7, 3, 8, 0)
        row = {"number": 42, "made_at": made, "size_bytes": 48_000_000, "is_current": True}
        return pl.DataFrame([row])

    def loads(self) -> pl.DataFrame:
        counts = {
            "files": 1,
            "files_taken_back": 1,
            "takes_back": 0,
            "rows": 90,
            "loaded": 80,
            "updated": 10,
            "repeated": 0,
            "set_aside": 0,
            "withdrawn": 0,
        }
        return pl.DataFrame([{"load_id": 1, "started_at": datetime(2026, 7, 3, 8, 0)} | counts])

    def files(self, load_id: int | None = None) -> pl.DataFrame:
        return pl.DataFrame(
            {
                "file_id": [1, 2],
                "file_name": ["calls.csv", "visits.csv"],
                "table_name": ["calls", "visits"],
                "source": ["office", "office"],
                "rows": [5000, 6100],
                "loaded": [4800, 6100],
                "updated": [100, 0],
                "repeated": [60, 0],
                "set_aside": [40, 0],
                "withdrawn": [0, 0],
            }
        )

    def set_aside(
        self, file_id: int | None = None, offset: int = 0, limit: int = 50, reason: str | None = None
    ) -> tuple[pl.DataFrame, int]:
        lines = range(offset + 2, min(offset + limit, 120) + 2)
        return (
            pl.DataFrame(
                {
                    "file_id": [1] * len(lines),
                    "file_name": ["calls.csv"] * len(lines),
                    "table_name": ["calls"] * len(lines),
                    "line": list(lines),
                    "reason": ["closed_before_opened"] * len(lines),
                    "column_name": ["closed_at"] * len(lines),
                    "found": [FORMULA] * len(lines),
                    "fields": [["C1", HOSTILE]] * len(lines),
                    "header": [["call_id", "complaint"]] * len(lines),
                }
            ),
            120,
        )

    def unrecognised(
        self, field: str | None = None, offset: int = 0, limit: int = 50
    ) -> tuple[pl.DataFrame, int]:
        rows = range(offset, min(offset + limit, 45))
        texts = [HOSTILE if n == 0 else FORMULA if n == 1 else f"makes a noise like a cat {n}" for n in rows]
        return pl.DataFrame(
            {"field": ["complaint"] * len(rows), "text": texts, "rows": [90 - n for n in rows]}
        ), 45

    def recording(self, by: str = "depot") -> pl.DataFrame:
        names = DEPOTS if by == "depot" else TECHNICIANS
        frame = pl.DataFrame(
            {"group": list(names), "label": list(names.values()), "calls": [400] * len(names)}
        )
        shares = [
            pl.lit(0.6 + 0.05 * n).alias(f"{name}_share")
            for n, name in enumerate(("cause", "outcome", "visit", "check", "reading", "filter_date"))
        ]
        return frame.with_columns(shares)

    def warnings(self, filters: Filters, by: str | None = None) -> list[Warning]:
        return []
