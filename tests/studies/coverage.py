"""The whole study of coverage; writes its results into docs/studies.md.

python -m tests.studies.coverage [--fleets 200] [--replicates 2000] [--no-write]
"""

import argparse
import sys
from datetime import date
from pathlib import Path

from tests.benchmarks.machine import machine
from tests.studies import whole_fleets
from tests.studies.intervals import INTERVALS, coverage

PAGE = Path(__file__).parents[2] / "docs" / "studies.md"
HEADING = "## Results\n"
HEADER = "| what | seeds | coverage | wanted | |\n|---|---|---:|---|---|\n"


def row(
    name: str, seeds: int, coverage: float, band: tuple[float, float], must_fail: bool = False
) -> tuple[str, bool]:
    """One line of the table, and whether it came out as it should."""
    inside = band[0] <= coverage <= band[1]
    wanted = f"{band[0]:.1%} to {band[1]:.1%}"
    verdict = "holds" if inside else "does not hold"
    if must_fail:
        verdict = f"{verdict}, as it must" if not inside else f"**{verdict}, and must not**"
    elif not inside:
        verdict = f"**{verdict}**"
    return f"| {name} | 0 to {seeds - 1} | {coverage:.2%} | {wanted} | {verdict} |\n", inside != must_fail


def of_intervals(replicates: int) -> list[tuple[str, bool]]:
    """Each interval at the level of its input frame, and the same made wrong on purpose."""
    rows, seeds = [], range(replicates)
    for interval in INTERVALS:
        rows.append(row(interval.name, replicates, coverage(interval, seeds), interval.band))
        halved = coverage(interval, seeds, share=0.5)
        rows.append(
            row(f"{interval.name}, 50% of its width", replicates, halved, interval.band, must_fail=True)
        )
    return rows


def of_fleets(fleets: int) -> tuple[list[tuple[str, bool]], str]:
    """Whole fleets, the same with half the width, and a sentence about the truth they are held to."""
    found = whole_fleets.intervals(range(fleets))
    rate = whole_fleets.truth(found)
    name = f"Callback rate of whole fleets of {whole_fleets.CALLS} calls"
    rows = [
        row(name, fleets, whole_fleets.coverage(found, rate), whole_fleets.BAND),
        row(
            f"{name}, 50% of its width",
            fleets,
            whole_fleets.coverage(found, rate, 0.5),
            whole_fleets.BAND,
            True,
        ),
    ]
    judged = sum(each.denominator for each in found)
    spread = whole_fleets.spread(found, rate)
    sentence = (
        f"The truth of the whole fleets is {rate:.2%}, pooled over {judged:,} judged calls. Their rates vary "
        f"{spread:.2f} times as much as rates of as many independent calls would."
    )
    return rows, sentence


def main() -> int:
    """Run the study; 1 when something did not come out as it should."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.studies.coverage", description=__doc__.splitlines()[0]
    )
    parser.add_argument("--fleets", type=int, default=200)
    parser.add_argument("--replicates", type=int, default=2000)
    parser.add_argument(
        "--no-write", action="store_true", help="print the results and leave docs/studies.md alone"
    )
    asked = parser.parse_args()
    rows = of_intervals(asked.replicates)
    fleet_rows, sentence = of_fleets(asked.fleets)
    rows += fleet_rows
    lines = "".join(line for line, _ in rows)
    results = f"\nMeasured on {date.today()}. {machine()}.\n\n{HEADER}{lines}\n{sentence}\n"
    print(results)
    if not asked.no_write:
        before, _, after = PAGE.read_text(encoding="utf-8").partition(HEADING)
        _, line, rest = after.partition("\n# ")  # the next study
        PAGE.write_text(f"{before}{HEADING}{results}{line}{rest}", encoding="utf-8")
    return int(not all(as_wanted for _, as_wanted in rows))


if __name__ == "__main__":
    sys.exit(main())
