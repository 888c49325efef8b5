"""Measures time and memory against the targets of docs/benchmarks.md and prints the table.

python -m tests.benchmarks [--part load ...] [--calls 1000000] [--runs 3] [--folder DIR]
"""

import argparse
import sys
import tempfile
from datetime import date
from pathlib import Path

from tests.benchmarks.lines import table
from tests.benchmarks.machine import machine
from tests.benchmarks.parts import PARTS, Workplace


def main() -> int:
    """Measure, print, and return 1 when a target is missed."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__.splitlines()[0])
    parser.add_argument(
        "--part", nargs="+", choices=list(PARTS), default=list(PARTS), help="only these parts"
    )
    parser.add_argument(
        "--calls", type=int, default=1_000_000, help="calls of the fleet (targets: 1,000,000)"
    )
    parser.add_argument("--runs", type=int, default=3, help="how often each thing is measured")
    parser.add_argument("--folder", type=Path, help="where files and stores are kept for the next time")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        folder = asked.folder or Path(scratch)
        folder.mkdir(parents=True, exist_ok=True)
        place = Workplace(folder.absolute(), asked.calls, asked.runs)
        lines = []
        for part in asked.part:
            lines += PARTS[part](place)
            print(f"{part} measured", file=sys.stderr, flush=True)
    print(f"{date.today()}, {asked.calls:,} calls, {asked.runs} runs. {machine()}\n")
    print(table(lines))
    return int(any(line.passed is False for line in lines))


if __name__ == "__main__":
    sys.exit(main())
