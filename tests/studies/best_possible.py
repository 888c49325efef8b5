"""How far the model of the demo fleet is from the best that its answers allow.

python -m tests.studies.best_possible [--calls 2000000] [--seed 77] [--folder DIR]

The best possible is taken as the log loss of the same answers fitted to the true causes, which no office
knows, on a
separate run of the generator, judged on the same later calls of the demo fleet.
"""

import argparse
import tempfile
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
import polars as pl

from analytics.catalogue import load_catalogue
from analytics.causes.choosing import choose
from analytics.causes.classifier import CauseClassifier
from analytics.causes.fitting import Fitter
from analytics.causes.model import CauseModel, columns_of, fitted
from analytics.causes.scores import log_losses
from analytics.causes.shares import overall_shares, shares_by_kind
from analytics.causes.training import recent, split
from analytics.fleet import Fleet
from analytics.intake.loading import load_files
from analytics.statistics.cluster_bootstrap import Mean, cluster_means
from analytics.store import Store
from synthetic_data import generate

MOST_NATS = 0.10
"""The model may be this far above the best possible."""


@dataclass(frozen=True)
class Found:
    """Log losses on the same later calls of the demo fleet, by causes as recorded and as they truly were."""

    recorded: dict[str, Mean]
    true: dict[str, Mean]
    above_best: Mean
    above_best_recorded: Mean
    learned_from: int


def with_truth(episodes: pl.DataFrame, folder: Path) -> pl.DataFrame:
    """Add the true cause of the first call of each episode, for those that have one."""
    truth = pl.read_csv(folder / "truth" / "calls.csv", columns=["call_id", "true_cause"])
    return episodes.join(truth.drop_nulls(), on="call_id").filter(pl.col("true_cause") != "no_fault_found")


def loaded(folder: Path, calls: int, seed: int) -> tuple[Fitter, Path]:
    """Make and load a fleet, unless it is there from before; return what fits from it, and its files."""
    files, store = folder / f"fleet_{calls}_{seed}", folder / f"store_{calls}_{seed}"
    if not Store(store).exists():
        generate(files, calls=calls, seed=seed)
        load_files(Store(store), sorted(files.glob("*.csv")))
    return Fitter(Fleet(Store(store)).for_one_page()._read(), load_catalogue()), files


def best_possible(folder: Path, demo_calls: int, calls: int, seed: int) -> Found:
    """Fit to the demo's records and to the other fleet's truth; judge both on the demo's later calls."""
    demo, demo_files = loaded(folder, demo_calls, 1)
    parts = split(recent(demo.training().confirmed))
    estimator = choose(parts.earlier, demo.codes, demo.symptoms).estimator
    model = fitted(estimator, parts.earlier, demo.codes, demo.symptoms)
    later = with_truth(parts.later, demo_files)
    best, learned_from = _of_truth(*loaded(folder, calls, seed))
    chances = {
        "overall shares": np.tile(overall_shares(parts.earlier, demo.codes), (later.height, 1)),
        "shares by kind of complaint": shares_by_kind(parts.earlier, later, demo.codes),
        "model": model.chances(later),
        "best possible": best.chances(later),
    }
    units = later["unit_hash"].to_numpy()
    by_label = []
    for label in ("final_cause", "true_cause"):
        known = columns_of(later[label], demo.codes)
        losses = np.column_stack([log_losses(given, known) for given in chances.values()])
        by_label.append(losses)
    recorded, true = (dict(zip(chances, cluster_means(each, units), strict=True)) for each in by_label)
    gaps = np.column_stack([each[:, 2] - each[:, 3] for each in by_label])
    above_recorded, above = cluster_means(gaps, units)
    return Found(recorded, true, above, above_recorded, learned_from)


def _of_truth(other: Fitter, files: Path) -> tuple[CauseModel, int]:
    """Fit to the true causes of episodes that would be learned from."""
    episodes = with_truth(other.training().confirmed, files).with_columns(final_cause="true_cause")
    return fitted(CauseClassifier(C=2.0), episodes, other.codes, other.symptoms), episodes.height


def main() -> int:
    """Print the table, and return 1 when the model is too far from the best possible."""
    parser = argparse.ArgumentParser(prog="python -m tests.studies.best_possible")
    parser.add_argument("--demo-calls", type=int, default=30_000)
    parser.add_argument("--calls", type=int, default=2_000_000)
    parser.add_argument("--seed", type=int, default=77)
    parser.add_argument("--folder", type=Path, help="where fleets and stores are kept for the next time")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        found = best_possible(asked.folder or Path(scratch), asked.demo_calls, asked.calls, asked.seed)
    print(
        f"{date.today()}; demo seed 1, {asked.demo_calls:,} calls; truth of seed {asked.seed}, "
        f"{asked.calls:,} calls, "
    )
    print(f"{found.learned_from:,} episodes learned from. Log loss, nats, on the demo's later calls:")
    for name in found.true:
        for label, means in (("as recorded", found.recorded), ("true", found.true)):
            mean = means[name]
            print(
                f"| {name} | {label} | {mean.value:.3f} | {mean.low:.3f} to {mean.high:.3f} | {mean.rows:,} |"
            )
    for label, gap in (("as recorded", found.above_best_recorded), ("true", found.above_best)):
        limits = f"{gap.low:.3f} to {gap.high:.3f}"
        print(f"above the best possible, {label}: {gap.value:.3f} ({limits}); at most {MOST_NATS}")
    return int(found.above_best.value > MOST_NATS)


if __name__ == "__main__":
    raise SystemExit(main())
