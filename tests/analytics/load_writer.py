"""Run as a process of its own: load files, and stop for the killer where a stage is first reported.

Arguments: folder of the store, stage, files. "AT <stage>" on standard output says that the stage was reached;
the process then sleeps until it is killed. With stage "none" it loads to the end and says "DONE <rows>".
"""

import sys
import time
from pathlib import Path

from analytics.intake.loading import load_files
from analytics.store import Store


def main(folder: str, stage: str, *files: str) -> None:
    def progress(reached: str, share: float) -> None:
        if reached == stage:
            print(f"AT {stage}", flush=True)
            time.sleep(600)

    report = load_files(Store(folder), [Path(file) for file in files], source="office", progress=progress)
    print(f"DONE {sum(file.loaded for file in report.files)}", flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
