"""Attributes of HTML elements whose names are not Python names."""

from typing import Any


def spoken(label: str, **data: str) -> dict[str, Any]:
    """Return an accessible name, and further `data-*` attributes."""
    return {"aria-label": label} | {f"data-{name}": value for name, value in data.items()}
