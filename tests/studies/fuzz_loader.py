"""Search for files that the loader does not stand, guided by the branches that each file takes.

Needs atheris (`.venv/bin/pip install atheris`, Apache-2.0), which is not among the packages of the tests.

python -m tests.studies.fuzz_loader [--seconds 300] [--keep FOLDER]
"""

import argparse
import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["analytics.intake", "csv"]):
    from analytics.intake import (  # noqa: F401
        careful,
        dates,
        dialect,
        encodings,
        headers,
        loading,
        numbers,
        recognising,
        scanning,
        sheets,
        staging,
    )
from tests.studies.fuzzing import CORPUS, PIECES, outcome, quick, seeds


def main() -> None:
    """Search for a time; the first finding ends the search, and its file is kept."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.studies.fuzz_loader", description=__doc__.splitlines()[0]
    )
    parser.add_argument("--seconds", type=int, default=300, help="how long to search")
    parser.add_argument("--keep", type=Path, help="where new files are kept that took a new branch")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    scratch = Path(tempfile.mkdtemp())
    kept = asked.keep or scratch / "kept"
    kept.mkdir(parents=True, exist_ok=True)
    for name, content in seeds().items():
        (kept / f"seed_{name}").write_bytes(content)
    for path in CORPUS.glob("*.bin"):
        (kept / path.name).write_bytes(path.read_bytes())
    words = scratch / "words.dict"
    words.write_text("\n".join('"' + "".join(f"\\x{byte:02x}" for byte in each) + '"' for each in PIECES))
    options = [
        f"-max_total_time={asked.seconds}", "-max_len=3000", f"-dict={words}", f"-seed={asked.seed}",
        "-timeout=60", "-rss_limit_mb=4096", f"-artifact_prefix={kept}/finding_", "-print_final_stats=1",
    ]  # fmt: skip
    atheris.Setup([sys.argv[0], *options, str(kept)], lambda content: outcome(content, scratch) and None)
    with quick():
        atheris.Fuzz()


if __name__ == "__main__":
    main()
