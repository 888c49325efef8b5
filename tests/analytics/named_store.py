"""A store whose technicians have names that stand nowhere by chance, in every place where one can stand."""

import csv
import re
from datetime import date
from pathlib import Path

from analytics.decisions import Decision, Decisions
from analytics.intake.loading import load_files
from analytics.lessons import Lesson
from analytics.store import Store
from synthetic_data import generate

NAMES = ("ROWANQX", "Alder Qxvale ", "Jörg-Qx")
"""Of one word, of two, and with what is no ASCII letter; the number of the technician follows."""

DEPOT = "Van of {}"
WHOSE = ("technician_id", "helper_id")


def named(number: str) -> str:
    """Return the name of the technician who has this number ("T018") in the generated files."""
    return NAMES[int(number[1:]) % len(NAMES)] + number[1:]


def build(folder: Path, calls: int = 1500) -> Store:
    """Make files and load them: names stand in columns, texts, a depot, rows set aside and decisions."""
    files = generate(folder / "files", calls=calls, seed=11)
    for path in files.glob("*.csv"):
        _rewrite(path)
    store = Store(folder / "store")
    load_files(store, sorted(files.glob("*.csv")), extracted=date(2026, 11, 1))
    decide(store)
    return store


def decide(store: Store) -> None:
    """Keep decisions that name technicians in each way there is."""
    rows = (
        store.reader()
        .cursor()
        .execute(
            "select return_call_id, technician from marts.returns "
            "join marts.calls on calls.call_id = return_call_id where technician is not null "
            "order by return_opened_at desc limit 30"
        )
    )
    returns: list[tuple[str, str]] = rows.fetchall()
    whose = sorted({name for _, name in returns})
    remarks = [
        Decision("remark", "return", call, f"was there with {name.upper()}", "", name)
        for call, name in returns
    ]
    groups = [Decision("reviewed", "group", f"technician:{name}:2026-W44", "yes", name) for name in whose]
    lesson = Lesson(date(2026, 3, 2), "filter_restricted", tuple(whose), f"held by {whose[0]}", whose[1])
    Decisions(store.folder).add([*remarks, *groups, lesson.decision()])


def every_name(store: Store) -> list[str]:
    """Return the names of all technicians in the records."""
    rows = (
        store.reader()
        .cursor()
        .execute(
            "select technician_id from records.calls union select technician_id from records.technicians "
            "union select technician_id from records.visits union select helper_id from records.visits"
        )
    )
    return sorted(name for (name,) in rows.fetchall() if name)


def found(names: list[str], text: str) -> list[str]:
    """Return the names that stand in a text, in capitals or not, and however wide their spaces are."""
    return [name for name in names if re.search(re.escape(name).replace(r"\ ", r"\s+"), text, re.IGNORECASE)]


def _rewrite(path: Path) -> None:
    """Give the technicians of a file their names, and write some where only a person would."""
    with path.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        row.update({column: named(row[column]) for column in WHOSE if row.get(column)})
    if path.name == "calls.csv":
        rows += [_told(row, at) for at, row in enumerate(rows[:60])]
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, fieldnames=list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


def _told(row: dict[str, str], at: int) -> dict[str, str]:
    """Return another call, on which the technician's name stands in a text."""
    name = row["technician_id"] or named("T001")
    places = (
        {"notes": f"as {name} said; {name.lower()}'s second time"},
        {"complaint": f"no ice, {name} was here", "root_cause": f"ask {name.swapcase()}"},
        {"depot": DEPOT.format(name), "opened_at": "never"},
        {"depot": DEPOT.format(name)},
        {"what_changed": f"{name} moved it", "already_tried": f"called {name.replace(' ', '  ')}"},
    )
    return row | {"call_id": f"TOLD-{at}"} | places[at % len(places)]
