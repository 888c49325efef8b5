"""The demo fleet: an invented company whose service calls follow from water, wear and people.

`generate(out_dir, calls=..., seed=...)` writes it; `python -m synthetic_data --help` does the same by hand.
"""

from synthetic_data.generate import generate

__all__ = ["generate"]
