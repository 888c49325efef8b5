"""Command line of the demo fleet: python -m synthetic_data --out DIR."""

import argparse
from datetime import date
from pathlib import Path

from synthetic_data.assumptions import as_table
from synthetic_data.dialects import dialects
from synthetic_data.generate import UNTIL, generate


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m synthetic_data",
        description="Write an invented fleet and its service calls as CSV files.",
    )
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument("--out", metavar="DIR", help="folder to write the fleet to")
    what.add_argument("--assumptions", metavar="FILE", help="write the table of assumptions there instead")
    parser.add_argument("--calls", type=int, default=30_000, metavar="N", help="calls on record (30000)")
    parser.add_argument("--seed", type=int, default=1, metavar="S", help="same seed, same files (1)")
    parser.add_argument(
        "--until", type=date.fromisoformat, default=UNTIL, metavar="DATE", help=f"last day ({UNTIL})"
    )
    parser.add_argument(
        "--dialect",
        nargs="+",
        default=[],
        metavar="NAME",
        help=f"foreign dialects to write as well: {', '.join(dialects())}",
    )
    return parser


def main(argv: list[str] | None = None) -> int:
    """Write a demo fleet, or the table of its assumptions; returns the exit code."""
    parser = _parser()
    options = parser.parse_args(argv)
    if options.assumptions:
        Path(options.assumptions).write_text(as_table(), encoding="utf-8")
        return 0
    try:
        out = generate(
            options.out, calls=options.calls, seed=options.seed, until=options.until, dialects=options.dialect
        )
    except ValueError as problem:
        parser.error(str(problem))
    print(f"Wrote {options.calls:,} calls up to {options.until} to {out}.")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
