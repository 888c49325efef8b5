"""Command line of the demo fleet: python -m synthetic_data --out DIR."""

import argparse
from datetime import date

from synthetic_data.generate import UNTIL, generate


def main(argv: list[str] | None = None) -> int:
    """Write a demo fleet; returns the exit code."""
    parser = argparse.ArgumentParser(prog="python -m synthetic_data", description=__doc__)
    parser.add_argument("--out", required=True, metavar="DIR", help="folder to write to")
    parser.add_argument("--calls", type=int, default=30_000, metavar="N", help="calls on record (30000)")
    parser.add_argument("--seed", type=int, default=1, metavar="S", help="same seed, same files (1)")
    parser.add_argument(
        "--until", type=date.fromisoformat, default=UNTIL, metavar="DATE", help=f"last day ({UNTIL})"
    )
    parser.add_argument(
        "--dialect", nargs="+", default=[], metavar="NAME", help="foreign dialects to write as well"
    )
    options = parser.parse_args(argv)
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
