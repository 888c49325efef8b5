"""Measures the making of a large demo fleet: python -m tests.synthetic_data.speed [--calls 1000000].

Not collected by pytest: it takes up to a minute, and its time depends on what else the machine does.
"""

import argparse
import resource
import sys
import tempfile
import time

from synthetic_data import generate

MOST_SECONDS, MOST_GIGABYTES = 60, 3


def main() -> int:
    """Print time and peak memory of one fleet; exit code 1 when a million calls take too much of either."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--calls", type=int, default=1_000_000)
    calls = parser.parse_args().calls
    with tempfile.TemporaryDirectory() as folder:
        start = time.perf_counter()
        generate(folder, calls=calls)
        seconds = time.perf_counter() - start
    used = resource.getrusage(resource.RUSAGE_SELF)
    gigabytes = used.ru_maxrss / 1e6  # kilobytes on Linux
    cpu = used.ru_utime + used.ru_stime
    print(f"{calls:,} calls: {seconds:.1f} s ({cpu:.1f} s of processor), peak {gigabytes:.2f} GB")
    share = calls / 1_000_000
    return int(share >= 1 and (seconds > MOST_SECONDS * share or gigabytes > MOST_GIGABYTES * share))


if __name__ == "__main__":
    sys.exit(main())
