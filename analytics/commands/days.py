"""Days and times as options."""

import argparse
from datetime import date, datetime


def day(text: str) -> date:
    """Read a day such as 2026-03-01."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"'{text}' is no day; write it as 2026-03-01") from None


def moment(text: str) -> date | datetime:
    """Read a day such as 2026-03-01, or a moment such as 2026-03-01T14:05."""
    try:
        return date.fromisoformat(text) if len(text) <= 10 else datetime.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"'{text}' is no day or time; write it as 2026-03-01 or 2026-03-01T14:05"
        ) from None
