"""Bringing a file: received, looked at, mapped, tried, and kept or dropped; each step is on the disk."""

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from analytics.catalogue import Catalogue, load_catalogue
from analytics.errors import BadQuestion, UnknownRecord
from analytics.intake import bringing_work, looking
from analytics.intake.bringing_answers import Answers, begun, missing, read_form
from analytics.intake.contract import table_named
from analytics.intake.saved_mappings import SavedMappings
from analytics.intake.uploads import Brought, Uploads
from analytics.store import Store

LOOKING, ASKING, TRYING, TRIED, KEEPING, KEPT, STUCK = (
    "looking", "asking", "trying", "tried", "keeping", "kept", "stuck",
)  # fmt: skip
_RUNNING = {"look": LOOKING, "try": TRYING, "keep": KEEPING}
CUT_OFF = "The work on this file was cut off, as when the program is stopped. Nothing was changed. Try again."


@dataclass(frozen=True)
class Stage:
    """How far one file is.

    Parameters
    ----------
    step : str
        LOOKING, TRYING, KEEPING: work goes on; ASKING: a person is to answer; TRIED: it can be kept; KEPT;
        STUCK: `problem` says why.
    brought : Brought
    look : dict
        As from `looking.look`; for a workbook also sheets and sheet. Empty before it was looked at.
    suggested : dict
        As from `looking.suggest`.
    answers : Answers or None
    work : dict
        Of work going on: kind, stage and share done.
    report : dict
        What became of the rows, as from `LoadReport.to_dict`, in the trial or in the load.
    known : dict
        Name, version and made_at of the kept mapping that knew this header; empty where none did.
    problem : str
        What is to be mended.
    """

    step: str
    brought: Brought
    look: dict[str, Any] = field(default_factory=dict)
    suggested: dict[str, Any] = field(default_factory=dict)
    answers: Answers | None = None
    work: dict[str, Any] = field(default_factory=dict)
    report: dict[str, Any] = field(default_factory=dict)
    known: dict[str, Any] = field(default_factory=dict)
    problem: str = ""


class Bringing:
    """Files brought to a store, from the file itself to its rows in the records.

    Parameters
    ----------
    store : Store
    start : callable
        Starts work on a file, given the store, the token, and the handle of the lock on it; by default a
        process of its own, so that a large file slows no page down.
    catalogue : Catalogue, optional
    """

    def __init__(
        self,
        store: Store,
        start: Callable[[Store, str, int], None] = bringing_work.start,
        catalogue: Catalogue | None = None,
    ) -> None:
        self._store, self._start = store, start
        self._catalogue = catalogue
        self.uploads = Uploads(store.folder)
        self.mappings = SavedMappings(store.folder)

    def receive(self, name: str, size_bytes: int, read: Callable[[int], bytes]) -> Brought:
        """Take a file in, as `Uploads.receive`, and begin to look at it."""
        self.tidy()
        brought = self.uploads.receive(name, size_bytes, read)
        self._begin(brought.token, {"kind": "look"})
        return brought

    def tidy(self) -> None:
        """Remove what nobody worked at for a day; where the folder can not be written nothing is removed."""
        with suppress(OSError):
            self.uploads.tidy()

    def waiting(self) -> list[Brought]:
        """Return the files that were brought and neither kept nor dropped, latest first."""
        return self.uploads.waiting()

    def stage(self, token: str) -> Stage:
        """Say how far a file is.

        Raises
        ------
        UnknownRecord
            When there is no such file.
        """
        running = bringing_work.runs(self.uploads, token)
        brought = self.uploads.about(token)
        noted = {
            name: self.uploads.read(token, name) or {} for name in ("look", "suggested", "known", "work")
        }
        answers = self.uploads.read(token, "answers")
        work = noted["work"]
        stage = Stage(
            STUCK,
            brought,
            noted["look"],
            noted["suggested"],
            Answers(**answers) if answers else None,
            work,
            known=noted["known"],
        )
        if kept := self.uploads.read(token, "kept"):
            return _with(stage, step=KEPT, report=kept)
        if running:
            return _with(stage, step=_RUNNING[work["kind"]])
        if not work.get("ended"):
            return _with(stage, problem=CUT_OFF)
        if work.get("problem"):
            step = ASKING if work.get("columns") and stage.suggested else STUCK
            return _with(stage, step=step, problem=work["problem"])
        if tried := self.uploads.read(token, "tried"):
            return _with(stage, step=TRIED, report=tried)
        return _with(stage, step=ASKING)

    def read_as(self, token: str, table: str = "", sheet: int | None = None) -> None:
        """Look at a file once more: as another table, or at another sheet of a workbook.

        Raises
        ------
        BadQuestion
            When there is no such table, or work on the file goes on.
        """
        self.uploads.about(token)
        if table:
            table_named(table)
        self._begin(token, {"kind": "look", "table": table} | ({} if sheet is None else {"sheet": sheet}))

    def ask(self, token: str) -> Stage:
        """Return a file to be asked about, also where it was tried already or a kept mapping knew it."""
        stage = self.stage(token)
        if stage.step not in (TRIED, STUCK, ASKING) or not stage.look:
            return stage
        if not stage.suggested:
            self._suggest(token, stage)
        elif set(stage.work.get("columns", ())) - {*stage.suggested["dates"], *stage.suggested["decimals"]}:
            assert stage.answers
            asked = stage.suggested | self._questions(token, stage, stage.answers)
            self.uploads.write(token, "suggested", asked)
        else:
            return _with(stage, step=ASKING)
        stage = self.stage(token)
        return _with(stage, step=ASKING)

    def answer(self, token: str, sent: Mapping[str, str]) -> list[str]:
        """Take in what a person says about a file; begin the trial, or say what is still to be answered.

        Parameters
        ----------
        token : str
        sent : mapping of str to str
            The fields of the form, see `bringing_answers.read_form`.

        Returns
        -------
        list of str
            What is to be mended or looked at, in sentences; empty when the trial has begun.

        Raises
        ------
        BadQuestion
            When a value is none of those the form offers, or work on the file goes on.
        """
        stage = self.ask(token)
        if stage.step != ASKING or stage.answers is None:
            raise BadQuestion("This file can not be answered for now. Look at its page for what goes on.")
        header, asked = stage.look["header"], stage.suggested
        answers = read_form(sent, stage.answers, asked, header, self.catalogue())
        said = []
        if answers.columns != asked["asked_about"]:
            before, asked = asked, asked | self._questions(token, stage, answers)
            self.uploads.write(token, "suggested", asked)
            if news := _news(before, asked, header, answers):
                said.append(f"Other columns are chosen now. Look once more at {', '.join(news)} below.")
        self.uploads.write(token, "answers", answers.to_dict())
        said = missing(answers, asked, header, date.today()) + said
        if not said:
            self.try_it(token)
        return said

    def try_it(self, token: str) -> None:
        """Begin a trial: everything is read, judged and counted, and nothing is kept."""
        self._ready(token)
        self._forget(token, "tried")
        self._begin(token, {"kind": "try"})

    def keep(self, token: str, who: str = "") -> None:
        """Begin the load of a file that was tried.

        Parameters
        ----------
        token : str
        who : str
            Who loads it, for the audit.

        Raises
        ------
        BadQuestion
            When it was not tried as it is to be read now.
        """
        self._ready(token)
        if self.uploads.read(token, "tried") is None:
            raise BadQuestion("This file was not tried yet as it is to be read now. Try it first.")
        self._begin(token, {"kind": "keep", "who": who})

    def drop(self, token: str) -> None:
        """Remove a file; work on it is ended."""
        bringing_work.stop(self.uploads, token)
        self.uploads.drop(token)

    def catalogue(self) -> Catalogue:
        """Return the catalogue that words are compared with."""
        self._catalogue = self._catalogue or load_catalogue()
        return self._catalogue

    def _ready(self, token: str) -> None:
        self.uploads.about(token)
        if self.uploads.read(token, "answers") is None or self.uploads.read(token, "kept") is not None:
            raise UnknownRecord("This file was not mapped yet, or is loaded already. Look at its page.")

    def _begin(self, token: str, work: dict[str, Any]) -> None:
        with bringing_work.held(self.uploads, token) as handle:
            self.uploads.write(token, "work", {"stage": "", "share": 0.0, "ended": False} | work)
            self._start(self._store, token, handle)

    def _forget(self, token: str, name: str) -> None:
        (self.uploads.place(token) / f"{name}.json").unlink(missing_ok=True)

    def _suggest(self, token: str, stage: Stage) -> None:
        """Make what the form needs for a file that a kept mapping knew: its own columns, asked about."""
        sample, sign = self.uploads.place(token) / bringing_work.SAMPLE, stage.look["sign"]
        if stage.answers is None:
            found = looking.suggest(sample, sign, catalogue=self.catalogue())
            self.uploads.write(token, "answers", begun(found, stage.brought.name).to_dict())
        else:
            found = looking.suggest(sample, sign, stage.answers.table, self.catalogue())
            found |= self._questions(token, stage, stage.answers)
        self.uploads.write(token, "suggested", found)

    def _questions(self, token: str, stage: Stage, answers: Answers) -> dict[str, Any]:
        return looking.questions(
            self.uploads.place(token) / bringing_work.SAMPLE,
            stage.look["sign"],
            table_named(answers.table),
            answers.columns,
            self.catalogue(),
            tuple(stage.work.get("columns", ())),
        )


def _with(stage: Stage, **changes: Any) -> Stage:
    return Stage(**{**stage.__dict__, **changes})


def _news(
    before: Mapping[str, Any], after: Mapping[str, Any], header: list[str], answers: Answers
) -> list[str]:
    """Say which columns are asked about now and were not before."""
    moved = [
        column
        for column, place in answers.columns.items()
        if before["asked_about"].get(column) != place
        and (
            column in after["dates"]
            or column in after["decimals"]
            or column in after["units"]
            or any(column in each["columns"] and each["unknown"] for each in after["words"].values())
        )
    ]
    return [f"'{header[answers.columns[column]]}'" for column in moved]
