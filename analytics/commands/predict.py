"""predict: the likely causes of calls, the order of checks, the next question and the parts to bring."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analytics.causes.answers import ANSWERS, UNIT_FACTS
from analytics.commands.printing import add_json, print_json
from analytics.errors import BadQuestion

if TYPE_CHECKING:
    from analytics.causes.predicting import Prediction
    from analytics.fleet import Fleet

NAME = "predict"
HELP = "print the likely causes of calls, the checks in order, the next question and the parts to bring"
TOLD = ("complaint", *ANSWERS, "unit_age", *UNIT_FACTS)
SHOWN = 5


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument(
        "files", metavar="FILE", nargs="*", type=Path, help="CSV files: calls, and units or filter changes"
    )
    parser.add_argument("--call", metavar="ID", action="append", default=[], help="a call that is loaded")
    for name in TOLD:
        parser.add_argument(
            f"--{name.replace('_', '-')}", metavar="WORDS", help=f"{name.replace('_', ' ')}, as it was told"
        )
    parser.add_argument(
        "--cover",
        metavar="SHARE",
        type=float,
        help="share of the probability that the parts are to cover (0.8)",
    )
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Predict for calls that are loaded, for files, or for answers given as options."""
    from analytics.fleet import Fleet
    from analytics.store import Store

    told = {name: getattr(arguments, name) for name in TOLD if getattr(arguments, name) is not None}
    if sum(map(bool, (arguments.files, arguments.call, told))) != 1:
        raise BadQuestion(
            "Say what to predict for in one way: files of calls, calls that are loaded (--call), or answers "
            "(--complaint, --mould-state, …)."
        )
    if arguments.cover is not None and not 0 < arguments.cover <= 1:
        raise BadQuestion(f"Parts can not cover a share of {arguments.cover:g}; choose one up to 1.")
    fleet = Fleet(Store(arguments.data))
    if arguments.call:
        found = fleet.predict(arguments.call, arguments.cover)
    else:
        found = _elsewhere(fleet, arguments.files, told, arguments.cover)
    _print(fleet, found, fleet.parts_for_the_day(found, share=arguments.cover), arguments.json)


def _elsewhere(
    fleet: "Fleet", files: list[Path], told: dict[str, str], cover: float | None
) -> "list[Prediction]":
    """Read calls by the same way as any others, into a store that is thrown away, and predict there."""
    import tempfile

    from analytics.fleet import Fleet
    from analytics.intake.loading import load_files
    from analytics.store import Store

    kept = fleet.model()
    if kept is None:
        raise BadQuestion("No model of causes was fitted yet. Fit one: service-calls fit.")
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        store = Store(folder / "store")
        load_files(store, files or _rows_of(folder, told), source=None if files else "told")
        return Fleet(store).predict_with(kept, share=cover)


def _rows_of(folder: Path, told: dict[str, str]) -> list[Path]:
    """Write what was told as canonical CSV files."""
    import csv
    from datetime import datetime

    now = f"{datetime.now():%Y-%m-%d %H:%M}"
    call = {"call_id": "now", "unit_id": "this", "opened_at": now, "closed_at": "", "complaint": ""}
    tables = {
        "calls.csv": call | {name: words for name, words in told.items() if name not in UNIT_FACTS},
        "units.csv": {"unit_id": "this"} | {name: told[name] for name in UNIT_FACTS if name in told},
    }
    for name, row in tables.items():
        with (folder / name).open("w", newline="", encoding="utf-8") as out:
            csv.writer(out).writerows([row.keys(), row.values()])
    return [folder / name for name in tables]


def _print(fleet: "Fleet", found: "list[Prediction]", day: dict[str, int], as_json: bool) -> None:
    if as_json:
        print_json({"calls": [plain(each) for each in found], "parts_for_the_day": day})
        return
    causes, checks, parts = (fleet.labels(name) for name in ("causes", "checks", "parts"))
    for each in found:
        print(f"Call {each.call_id}")
        if not each.enough:
            print("  Not enough to tell; what follows is a guess.")
        for code, chance in each.causes[:SHOWN]:
            print(f"  {100 * chance:5.1f}%  {causes.get(code, code)}")
        if each.apart:
            print(f"  Tells the two likeliest apart: {checks.get(each.apart.check, each.apart.check)}")
        if each.questions:
            print(f"  Ask next: {each.questions[0].field.replace('_', ' ')}")
        print(f"  Checks, {each.order.expected_minutes:.0f} minutes to the fault on average:")
        for step in each.order.steps[:SHOWN]:
            print(f"    {checks.get(step.check, step.check)} ({step.minutes:.0f} min)")
        named = ", ".join(parts.get(code, code) for code in each.parts.parts) or "none"
        print(f"  Bring: {named} (covers {100 * each.parts.share:.0f}%)")
    if len(found) > 1:
        listed = ", ".join(f"{count} {parts.get(code, code)}" for code, count in day.items()) or "nothing"
        print(f"For all of them together: {listed}")


def plain(found: "Prediction") -> dict[str, Any]:
    """Return a prediction as plain values."""
    order = found.order
    return {
        "call_id": found.call_id,
        "enough_to_tell": found.enough,
        "causes": [{"cause": code, "chance": chance} for code, chance in found.causes],
        "moved": [vars(each) for each in found.moved],
        "checks": [vars(step) for step in order.steps],
        "expected_minutes": order.expected_minutes,
        "no_order_below_minutes": order.bound,
        "exact": order.exact,
        "tells_apart": vars(found.apart) if found.apart else None,
        "questions": [vars(each) for each in found.questions],
        "parts": list(found.parts.parts),
        "parts_cover": found.parts.share,
        "parts_cost": found.parts.cost,
        "causes_without_part": list(found.parts.not_coverable),
    }
