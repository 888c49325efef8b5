"""What a measurement was made on, in one line."""

import os
import platform
from pathlib import Path

import duckdb
import psutil


def machine() -> str:
    """Processor, cores, memory, system, and the versions that matter."""
    lines = Path("/proc/cpuinfo").read_text().splitlines() if Path("/proc/cpuinfo").exists() else []
    model = next((line.split(":", 1)[1].strip() for line in lines if line.startswith("model name")), "")
    gib = psutil.virtual_memory().total / 2**30
    return (
        f"{model or platform.processor() or platform.machine()}, {len(os.sched_getaffinity(0))} cores, "
        f"{gib:.0f} GiB, {platform.system()} {platform.release()}, Python {platform.python_version()}, "
        f"DuckDB {duckdb.__version__}"
    )
