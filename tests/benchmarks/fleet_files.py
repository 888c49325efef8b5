"""The files that are loaded: a fleet from the generator, daily files after it, and what its words mean."""

import random
from datetime import timedelta
from pathlib import Path

import duckdb
import polars as pl

from analytics import queries
from analytics.catalogue import load_catalogue
from analytics.store import Store
from analytics.store_opening import create_tables
from synthetic_data import generate

SEED = 20260301
TABLES = (
    "calls", "visits", "checks", "parts", "units", "filter_changes", "technicians", "follow_ups",
)  # fmt: skip
WORDS = """
with one_code as (select field, text, codes[1] as code from texts.codings)
select 'symptom' as kind, text, unnest(codes) as code from texts.codings where field = 'complaint'
union all
select 'family', complaint_texts.text, families.code
from complaint_texts join catalogue.families on (families.bit & complaint_texts.family_bits) <> 0
union all
select 'same_again', text, '' from complaint_texts where same_again and symptom_set = 0
union all
select 'says_return_trip', text, '' from complaint_texts where says_return_trip
union all
select 'no_work', text, code from one_code join catalogue.outcomes using (code)
where field = 'outcome' and not work_done
union all
select 'part_on_order', text, code from one_code where field = 'outcome' and code = 'part_on_order'
union all
select 'no_repair', text, code from one_code join catalogue.job_kinds using (code)
where field = 'job_kind' and not is_repair
"""


def fleet_files(folder: Path, calls: int) -> list[Path]:
    """The fleet's files, made where they are not there yet."""
    if not (folder / "calls.csv").exists():
        generate(folder, calls=calls, seed=SEED)
    return [folder / f"{table}.csv" for table in TABLES if (folder / f"{table}.csv").exists()]


def words_file(store: Store, path: Path) -> Path:
    """What the words in the files mean, as the program took them, for the pandas script."""
    cursor = store.reader().cursor()
    with duckdb.connect() as scratch:
        create_tables(scratch)
        for table in ("texts.codings", *(f"catalogue.{name}" for name in load_catalogue().frames())):
            known = cursor.sql(f"from {table}").pl()  # noqa: F841 - read by its name
            scratch.execute(f"insert into {table} from known")
        queries.run(scratch, "marts/symptom_sets")
        scratch.sql(WORDS).pl().write_csv(path)
    return path


def daily_file(folder: Path, number: int, calls: int = 1000) -> Path:
    """A file of new calls of the fleet's units, opened on the day after the last day of the fleet."""
    texts = pl.read_csv(folder / "calls.csv", infer_schema=False)
    last_day = texts["opened_at"].str.head(10).str.to_date().max() + timedelta(days=number)
    drawn = texts.sample(calls, seed=number)
    minutes = random.Random(number).choices(range(8 * 60, 18 * 60), k=calls)
    moments = pl.Series([f"{last_day} {m // 60:02d}:{m % 60:02d}" for m in minutes])
    path = folder / f"daily_{number}" / "calls.csv"
    path.parent.mkdir(exist_ok=True)
    drawn.with_columns(
        call_id=pl.format("day-{}-{}", pl.lit(number), pl.int_range(pl.len())),
        opened_at=moments,
        closed_at=moments,
    ).write_csv(path)
    return path
