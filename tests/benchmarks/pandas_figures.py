"""Both headline figures of a fleet straight from its CSV files, as an analyst would script them in pandas.

    python -m tests.benchmarks.pandas_figures FOLDER WORDS.csv

A second implementation of the definitions, independent of the program's SQL, and the yardstick of the
benchmark: pyarrow reads only the columns needed, `merge_asof` finds the call a return counts against, no
loop over rows.

WORDS.csv says what the words in the files mean, one meaning a row (kind, text, code). Complaints: `symptom`
(one is recognised), `family` (that it belongs to), `same_again` (no symptom, but "the same again"),
`says_return_trip`. Outcomes: `no_work` (no work was done), `part_on_order`. Job kinds: `no_repair`.
"""

import sys
from pathlib import Path

import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
from pyarrow import csv

RETURN_TRIP = pd.Timedelta(days=90)
QUIET = pd.Timedelta(days=14)
CALL_COLUMNS = ["call_id", "unit_id", "opened_at", "closed_at", "complaint", "outcome", "depot", "job_kind"]
VISIT_COLUMNS = ["call_id", "arrived_at", "left_at"]


def read(path: Path, columns: list[str]) -> pd.DataFrame:
    """Read columns of a CSV file; each `*_at` becomes a timestamp, `*_timed` says if it has a time of day."""
    text = {column: pa.string() for column in columns}
    options = csv.ConvertOptions(include_columns=columns, column_types=text, strings_can_be_null=True)
    parsing = csv.ParseOptions(newlines_in_values=True)
    table = csv.read_csv(path, convert_options=options, parse_options=parsing)
    for column in [c for c in columns if c.endswith("_at")]:
        timed = pc.fill_null(pc.greater(pc.utf8_length(table[column]), 10), False)
        moments = pc.cast(table[column], pa.timestamp("s"))
        table = table.set_column(table.schema.get_field_index(column), column, moments)
        table = table.append_column(column.removesuffix("_at") + "_timed", timed)
    return table.to_pandas()


def words_of(words: pd.DataFrame, kind: str) -> pd.DataFrame:
    return words.loc[words["kind"] == kind, ["text", "code"]]


def prepare(calls: pd.DataFrame, words: pd.DataFrame) -> pd.DataFrame:
    """Calls in the order they were opened, with what the figures need to know of each."""
    calls = calls.sort_values(["opened_at", "call_id"], ignore_index=True)
    calls["row"] = calls.index
    calls["repair"] = ~calls["job_kind"].isin(words_of(words, "no_repair")["text"])
    worked = ~calls["outcome"].isin(words_of(words, "no_work")["text"])
    calls["completed"] = calls["repair"] & calls["closed_at"].notna() & worked
    calls["waiting"] = calls["outcome"].isin(words_of(words, "part_on_order")["text"])
    calls["says_trip"] = calls["complaint"].isin(words_of(words, "says_return_trip")["text"])
    heard = calls["complaint"].where(calls["complaint"].isin(words_of(words, "symptom")["text"]))
    same_again = calls["complaint"].isin(words_of(words, "same_again")["text"])
    calls["understood"] = heard.where(~same_again, heard.groupby(calls["unit_id"], sort=False).ffill())
    calls["finishes"] = return_trips(calls, by_family(calls, words)).reindex(calls["row"])
    finished = calls["understood"].reindex(calls["finishes"]).set_axis(calls.index)
    calls["understood"] = calls["understood"].fillna(finished)
    return calls


def by_family(calls: pd.DataFrame, words: pd.DataFrame) -> pd.DataFrame:
    """One row per call and family of its complaint."""
    families = words_of(words, "family").drop_duplicates()
    families = families.rename(columns={"text": "understood", "code": "family"})
    return calls.merge(families, on="understood").sort_values("row", ignore_index=True)


def first_after(calls: pd.DataFrame, keys: list[str], wanted: pd.Series) -> pd.DataFrame:
    """For each part-on-order call the first later call of the same keys that is wanted."""
    groups = [calls[key] for key in keys]
    later = calls["row"].where(wanted).groupby(groups, sort=False).shift(-1)
    later = later.groupby(groups, sort=False).bfill()
    return pd.DataFrame({"row": calls["row"], "next": later})[calls["waiting"]]


def return_trips(calls: pd.DataFrame, exploded: pd.DataFrame) -> pd.Series:
    """By row of each call opened to finish a part-on-order call, the row of that call."""
    nearest = pd.concat(
        [
            first_after(exploded, ["unit_id", "family"], exploded["repair"]),
            first_after(calls, ["unit_id"], calls["repair"] & calls["says_trip"]),
        ]
    )
    nearest = nearest.dropna().astype("int64").groupby("row", as_index=False)["next"].min()
    opened = calls["opened_at"]
    soon = opened[nearest["next"]].to_numpy() <= opened[nearest["row"]].to_numpy() + RETURN_TRIP
    return nearest[soon].groupby("next")["row"].max()


def latest_before(returns: pd.DataFrame, done: pd.DataFrame, keys: list[str], as_days: bool) -> pd.DataFrame:
    """For each return the completed call closed latest before it, and the time between them."""
    columns = [*keys, "row", "at"]
    left = returns.assign(at=returns["opened_at"].dt.floor("D") if as_days else returns["opened_at"])
    right = done.assign(at=done["closed_at"].dt.floor("D") if as_days else done["closed_at"])
    left = left.sort_values("at", kind="stable")[columns]
    right = right.sort_values(["at", "closed_at", "opened_at", "call_id"])[
        [*columns, "closed_at", "opened_at", "call_id"]
    ]
    found = pd.merge_asof(
        left,
        right.assign(closed_on=right["at"]),
        on="at",
        by=keys,
        direction="backward",
        allow_exact_matches=False,
        suffixes=("", "_charged"),
    ).dropna(subset="row_charged")
    return found.assign(gap=found["at"] - found["closed_on"])


def callback_pairs(
    calls: pd.DataFrame, exploded: pd.DataFrame, window: pd.Timedelta, match: str
) -> pd.DataFrame:
    """Pairs of rows (row_charged, row): a completed call and a return that counts against it."""
    pool, keys = (exploded, ["unit_id", "family"]) if match == "family" else (calls, ["unit_id"])
    returns = pool[pool["repair"] & pool["finishes"].isna()]
    done = pool[pool["completed"]]
    timed, dated = returns[returns["opened_timed"]], returns[~returns["opened_timed"]]
    done_timed, done_dated = done[done["closed_timed"]], done[~done["closed_timed"]]
    pairs = pd.concat(
        [
            latest_before(timed, done_timed, keys, as_days=False),
            latest_before(returns, done_dated, keys, as_days=True),
            latest_before(dated, done_timed, keys, as_days=True),
        ]
    )
    pairs = pairs[pairs["gap"] <= window]
    pairs = pairs.sort_values(["closed_at", "opened_at", "call_id"]).drop_duplicates("row", keep="last")
    return pairs[["row_charged", "row"]].astype("int64")


def ends_for(done: pd.DataFrame, calls: pd.DataFrame, visits: pd.DataFrame) -> pd.Series:
    """End of observation for each of the calls in `done`, of a fleet from one source."""
    records = calls[["call_id", "depot"]].merge(visits, on="call_id")
    latest = pd.concat(
        [
            calls[["depot"]].assign(at=calls[["opened_at", "closed_at"]].max(axis=1)),
            records[["depot"]].assign(at=records[["arrived_at", "left_at"]].max(axis=1)),
        ]
    )
    own, end = latest.groupby("depot")["at"].max(), latest["at"].max()
    return done["depot"].map(own.where(end - own > QUIET, end)).fillna(end)


def count_visits(visits: pd.DataFrame) -> pd.Series:
    """Visits by call; visits that overlap in time are one, and one without a time of day overlaps nothing."""
    visits = visits.sort_values(["call_id", "arrived_at"], ignore_index=True)
    by_call = visits["call_id"]
    same_call = by_call == by_call.shift()
    left = visits["left_at"].fillna(visits["arrived_at"]).where(visits["arrived_timed"])
    arrived = visits["arrived_at"].where(visits["arrived_timed"])
    busy_until = left.groupby(by_call, sort=False).cummax().groupby(by_call, sort=False).ffill().shift()
    before = arrived.groupby(by_call, sort=False).ffill().shift()
    overlaps = same_call & ((arrived < busy_until) | (arrived == before))
    return (~overlaps).groupby(by_call, sort=False).sum()


def figures(
    all_calls: pd.DataFrame, visits: pd.DataFrame, words: pd.DataFrame, window_days: int, match: str
) -> dict:
    """Counts of the callback rate and of the first-time fix rate."""
    window = pd.Timedelta(days=window_days)
    calls = prepare(all_calls, words)
    pairs = callback_pairs(calls, by_family(calls, words), window, match)
    done = calls[calls["completed"]]
    mature = done["closed_at"] + window <= ends_for(done, all_calls, visits)
    came_back = done["row"].isin(pairs["row_charged"])
    first = ~done["row"].isin(pairs["row"])
    visited = done["call_id"].map(count_visits(visits)).fillna(0)
    judged = mature & first & (visited > 0)
    return {
        "callback_rate": {
            "numerator": int((mature & came_back).sum()),
            "denominator": int(mature.sum()),
            "inside_window": int((~mature).sum()),
        },
        "first_time_fix_rate": {
            "numerator": int((judged & (visited == 1) & ~came_back).sum()),
            "denominator": int(judged.sum()),
            "inside_window": int((~mature & first & (visited > 0)).sum()),
        },
    }


def read_fleet(folder: Path, words_file: Path) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Calls, visits, and what the words mean."""
    words = pd.read_csv(words_file, dtype=str, keep_default_na=False)
    return read(folder / "calls.csv", CALL_COLUMNS), read(folder / "visits.csv", VISIT_COLUMNS), words


if __name__ == "__main__":
    print(figures(*read_fleet(Path(sys.argv[1]), Path(sys.argv[2])), window_days=30, match="family"))
