"""Processes of our own: what each needs to find these packages."""

import os
from pathlib import Path


def python_path() -> str:
    """Return the PYTHONPATH with which a process finds these packages, wherever it is started."""
    root = str(Path(__file__).parents[1])
    return os.pathsep.join(filter(None, (root, os.environ.get("PYTHONPATH", ""))))
