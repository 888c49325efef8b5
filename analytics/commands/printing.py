"""What commands print: JSON, plain tables, rates in words, and progress on standard error."""

import argparse
import json
import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from analytics.rates import Rate


def add_json(parser: argparse.ArgumentParser) -> None:
    """Add --json, which every command that prints figures or a report takes."""
    parser.add_argument(
        "--json", action="store_true", help="print JSON for programs instead of text for people"
    )


def print_json(value: Any) -> None:
    """Print a value as JSON; days and times become ISO text."""
    print(json.dumps(value, indent=2, ensure_ascii=False, default=_plain))


def _plain(value: Any) -> Any:
    if hasattr(value, "isoformat"):
        return value.isoformat()
    raise TypeError(f"{type(value).__name__} has no form in JSON.")


def print_table(header: Sequence[str], rows: Sequence[Sequence[Any]]) -> None:
    """Print a plain table; columns of numbers are set to the right.

    Parameters
    ----------
    header : sequence of str
        Names of the columns.
    rows : sequence of sequences
        One a row, as long as the header; None prints as nothing.
    """
    texts = [[_text(value) for value in row] for row in rows]
    widths = [max(len(text) for text in column) for column in zip(header, *texts, strict=True)]
    numeric = [all(isinstance(row[i], int | float | None) for row in rows) for i in range(len(header))]
    for line in (list(header), ["-" * width for width in widths], *texts):
        cells = zip(line, widths, numeric, strict=True)
        print(
            "  ".join(
                text.rjust(width) if right else text.ljust(width) for text, width, right in cells
            ).rstrip()
        )


def _text(value: Any) -> str:
    if value is None:
        return ""
    return f"{value:,}" if isinstance(value, int) and not isinstance(value, bool) else str(value)


def rate_words(rate: "Rate") -> str:
    """Say a rate with its counts and interval."""
    if rate.denominator == 0:
        return "no data"
    return f"{percent(rate).replace('(', '(95% interval ')}, {rate.numerator:,} of {rate.denominator:,}"


def percent(rate: "Rate") -> str:
    """Say a rate as a percentage with its 95% interval; not of so few calls that it would only mislead."""
    if rate.rate is None or rate.low is None or rate.high is None:
        return "no data"
    if not rate.as_percentage:
        return "too few calls"
    return f"{100 * rate.rate:.1f}% ({100 * rate.low:.1f} to {100 * rate.high:.1f})"


def progress_line(wanted: bool) -> Callable[[str, float], None] | None:
    """Return what a load reports its stages to.

    Parameters
    ----------
    wanted : bool
        Report even where standard error is no terminal, one line a stage.
    """
    if sys.stderr.isatty():
        return _rewrite_line
    return _LinePerStage() if wanted else None


def _rewrite_line(stage: str, share: float) -> None:
    done = stage == "pointer" and share >= 1
    line = "" if done else f"{stage}: {100 * share:.0f}%"
    print(f"\r\033[K{line}", end="", file=sys.stderr, flush=True)


class _LinePerStage:
    def __init__(self) -> None:
        self._stage = ""

    def __call__(self, stage: str, share: float) -> None:
        if stage != self._stage:
            self._stage = stage
            print(stage, file=sys.stderr, flush=True)
