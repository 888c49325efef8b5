"""Whether the page on teaching finds the skills that were planted in an invented fleet; prints a table.

python -m tests.studies.planted STORE TECHNICIANS_CSV
"""

import sys
from pathlib import Path

import numpy as np
import polars as pl

from analytics.filters import Filters
from analytics.fleet import Fleet
from analytics.store import Store
from synthetic_data.trade import trade


def found(store: Path, technicians: Path) -> pl.DataFrame:
    """Return one row a cause: correlation with planted skill, and its mean below, above and of all."""
    fleet, facts = Fleet(Store(store)), trade()
    truth = pl.read_csv(technicians).select(
        pl.col("technician_id").alias("technician"), "causes", "skill_logit"
    )
    causes = fleet.teaching(Filters()).causes.filter(
        (pl.col("what") == "thought") & pl.col("spread").is_not_null()
    )
    rows = []
    for cause in causes["cause"].sort():
        group = facts.groups[int(facts.group[facts.cause(cause)])]
        people = fleet.teaching_people(Filters(), "thought", cause)
        both = people.join(truth.filter(pl.col("causes") == group), on="technician")
        skill, level = both["skill_logit"].to_numpy(), np.log(both["shrunk"].to_numpy())
        means = [both.filter(pl.col("standing") == side)["skill_logit"].mean() for side in ("below", "above")]
        rows.append((cause, both.height, float(np.corrcoef(skill, level)[0, 1]), *means, float(skill.mean())))
    names = ["cause", "technicians", "correlation", "skill_below", "skill_above", "skill_of_all"]
    return pl.DataFrame(rows, schema=names, orient="row")


if __name__ == "__main__":
    table = found(Path(sys.argv[1]), Path(sys.argv[2]))
    with pl.Config(tbl_rows=-1, tbl_cols=-1):
        print(table)
    print(
        f"Correlation below 0 for {table.filter(pl.col('correlation') < 0).height} of {table.height} causes."
    )
    print(table.select(pl.col(pl.Float64).mean()).to_dicts()[0])
