"""demo: an invented fleet, generated, loaded, summed up and served, to see what the program does."""

import argparse
import json
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from analytics.commands import serve
from analytics.commands.figures import print_figures
from analytics.commands.printing import add_json, print_json, progress_line
from analytics.errors import ServiceCallError, StoreProblem
from analytics.filters import Filters

if TYPE_CHECKING:
    from analytics.store import Store

NAME = "demo"
HELP = (
    "generate an invented fleet, load it, print the headline figures and serve the dashboard on this machine"
)
FOLDER = "demo-fleet"
"""Folder below the store with the invented files, and beside them what they were made with."""

MADE_WITH = "made-with.json"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument(
        "--calls", metavar="N", type=int, default=30_000, help="how many calls (default: 30000)"
    )
    parser.add_argument(
        "--seed", metavar="N", type=int, default=1, help="another seed, another fleet (default: 1)"
    )
    serve.add_port(parser)
    parser.add_argument("--no-serve", action="store_true", help="stop after the figures")
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Generate, load, print, serve."""
    from analytics.fleet import Fleet
    from analytics.store import Store

    store = Store(arguments.data)
    folder = store.folder / FOLDER
    made_with = {"calls": arguments.calls, "seed": arguments.seed}
    if store.exists():
        check_same_demo(folder, made_with)
    else:
        generate(folder, made_with)
        load(store, folder)
    figures = Fleet(store).figures(Filters())
    if arguments.json:
        print_json(figures.to_dict())
    else:
        print_figures(figures, Filters())
    sys.stdout.flush()
    if not arguments.no_serve:
        with fitting_beside(store.folder):
            serve.start(arguments, "127.0.0.1", behind_proxy=False)


@contextmanager
def fitting_beside(folder: Path) -> Iterator[None]:
    """Fit the model of causes, where there is none, in a process of its own while the dashboard is served."""
    from analytics.causes.keeping import model_path

    if model_path(folder).exists():
        yield
        return
    print(
        "The likely causes of a new call are being learned; the page New call has them in about a minute.",
        file=sys.stderr,
        flush=True,
    )
    command = [sys.executable, "-m", "analytics.cli", "--data", str(folder), "fit", "--json"]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    # told to stop, Python would end without the lines below, and leave the fit running
    before = signal.signal(signal.SIGTERM, lambda *_: sys.exit(128 + signal.SIGTERM))
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)
        process.terminate()
        process.wait()


def check_same_demo(folder: Path, made_with: dict[str, int]) -> None:
    """Refuse to mix an invented fleet with records that are already in the store.

    Raises
    ------
    StoreProblem
        When the store holds anything but the fleet that is asked for.
    """
    note = folder / MADE_WITH
    if note.exists() and json.loads(note.read_text(encoding="utf-8")) == made_with:
        return
    what = "another demo fleet" if note.exists() else "records of yours"
    raise StoreProblem(
        f"The store in {folder.parent} already holds {what}, and an invented fleet is not mixed with it. "
        f"Name a folder of its own for the demo with --data."
    )


def generate(folder: Path, made_with: dict[str, int]) -> None:
    """Write the invented files, in a process of its own: the generator is no part of the library."""
    print(f"Generating {made_with['calls']:,} invented calls ...", file=sys.stderr, flush=True)
    options = [text for key, value in made_with.items() for text in (f"--{key}", str(value))]
    command = [sys.executable, "-m", "synthetic_data", "--out", str(folder), *options]
    done = subprocess.run(command, stdout=sys.stderr, check=False)
    if done.returncode:
        raise ServiceCallError(f"The invented fleet could not be generated (exit code {done.returncode}).")
    (folder / MADE_WITH).write_text(json.dumps(made_with), encoding="utf-8")


def load(store: "Store", folder: Path) -> None:
    """Load the invented files."""
    from analytics.intake.loading import load_files

    print("Loading them ...", file=sys.stderr, flush=True)
    load_files(store, sorted(folder.glob("*.csv")), source="demo", progress=progress_line(False))
