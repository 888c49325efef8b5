"""Stand-in for what is known of checks: a few checks over invented numbers."""

import polars as pl

from analytics.filters import Filters
from analytics.questions.check_proof import PROOF_WORDS, Proof, Valves
from analytics.questions.check_sums import CHECKS_SCHEMA
from analytics.questions.checks import UNRECORDED_SCHEMA, Checks, NotRecorded
from tests.dashboard.fake_frames import LABELS, rate

CHECKS = {
    "fill_tube_look": ("look for ice in the fill tube", "b", 0.3, 3.2),
    "valve_coil_ohms": ("resistance of each valve coil", "b", 0.1, 4.4),
    "valve_voltage_in_fill": ("voltage at the valve in a fill", "c", 0.04, 6.6),
}


def check_rows(group: str | None, label: str | None, made: int) -> list[dict[str, object]]:
    rows: list[dict[str, object]] = []
    for code, (words, caution, share, minutes) in CHECKS.items():
        found, out = rate(int(made * share), made), rate(made * 5 // 10, made * 6 // 10)
        hourly = 60 * share / minutes if made else None
        known = hourly is not None and found.numerator >= 5
        rows.append(
            {
                "group": group, "group_label": label, "check": code, "label": words, "caution": caution,
                "made": made, "found": found.numerator, "rate": found.rate, "low": found.low,
                "high": found.high,
                "cleared": out.denominator, "ruled_out": out.numerator, "ruled_out_rate": out.rate,
                "ruled_out_low": out.low, "ruled_out_high": out.high, "missed": made // 10, "elsewhere": 0,
                "unclear": 0, "unknown": 0, "timed": made, "minutes": minutes, "found_timed": found.numerator,
                "per_hour": hourly, "per_hour_low": hourly * 0.9 if known else None,
                "per_hour_high": hourly * 1.1 if known else None,
            }
        )  # fmt: skip
    return rows if made else []


def checks_of(calls: int, by: str | None = None, recorded: bool = True) -> Checks:
    made = calls // 4 if recorded else 0
    names = LABELS["symptoms"] if by == "symptom" else LABELS["families"] if by else {}
    groups = [row for code, words in names.items() for row in check_rows(code, words, made // len(names))]
    back = calls // 12 if recorded else 0
    missing = [
        (code, words, caution, back // 5, back / 6, back // 5, back * 12.0, 1)
        for code, (words, caution, *_) in CHECKS.items()
        if back
    ]
    proofs = {"proved": calls // 6, "checked": calls // 2, "unchecked": calls // 3}
    valves = calls // 6
    return Checks(
        repairs=calls,
        calls=made,
        too_soon=calls // 50 if recorded else 0,
        unfinished=0,
        made=made * len(CHECKS),
        not_recognised=3 if made else 0,
        checks=pl.DataFrame(check_rows(None, None, made), schema=CHECKS_SCHEMA),
        by=by,
        groups=pl.DataFrame(groups, schema=CHECKS_SCHEMA),
        unrecorded=NotRecorded(
            rate(back * 4 // 10, back),
            back / 3,
            2,
            back // 2,
            back * 30.0,
            4,
            pl.DataFrame(missing, schema=UNRECORDED_SCHEMA, orient="row"),
            2 if back else 0,
            back // 9,
        ),
        valves=Valves(
            rate(valves * 4 // 10, valves),
            rate(valves * 2 // 10, valves // 2),
            rate(valves * 4 // 100, valves * 4 // 10),
            rate(valves * 3 // 100, valves * 5 // 10),
            0.04 if valves else None,
            -0.01 if valves else None,
            0.09 if valves else None,
        ),
        proof=tuple(
            Proof(
                code,
                PROOF_WORDS[code],
                some,
                rate(some // 12, some, some // 20),
                rate(some // 30, some // 28),
            )
            for code, some in proofs.items()
        ),
    )


class FakeChecks:
    """The methods of `FleetChecks` over invented numbers."""

    total: int
    checks_loaded = True

    def checks(self, filters: Filters, by: str | None = None) -> Checks:
        some = self.total if not filters.depots else self.total * len(filters.depots) // 5
        return checks_of(some, by, self.checks_loaded)
