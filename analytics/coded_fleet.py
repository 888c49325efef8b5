"""The facade for whoever may not see names: the same questions, answered from the coded copy."""

import json
import re
import threading
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

import duckdb
import polars as pl

from analytics.coded_files import coded_copies, coded_path
from analytics.decisions import Decision, Decisions
from analytics.errors import BadQuestion, NotReady, StoreProblem
from analytics.fleet import Fleet
from analytics.intake.bringing import Bringing
from analytics.questions.reading import Kept
from analytics.store import Store
from analytics.store_files import Generation, generation_path, remove
from analytics.store_opening import open_for_reading
from analytics.store_pointer import read_pointer
from analytics.technician_codes import NOT_SHOWN, TechnicianCodes, mention, spoken, within_texts

NOT_READY = (
    "You see codes in place of technicians' names. The copy of the data that holds them is being made; this "
    "takes less than a minute for most, and is done again after each load. Open the page again in a moment."
)
_GROUP_KEY = re.compile(r"(technician:)(.*)(:\d{4}-W\d{2})", re.DOTALL)
_TRIES = 3


class CodedStore:
    """The coded copies of a store, as far as the facade needs a store; safe to share between threads.

    Parameters
    ----------
    store : Store
        Whose copies they are.
    """

    def __init__(self, store: Store) -> None:
        self.names = store
        self.folder = store.folder
        self._lock = threading.Lock()
        self._open: tuple[Generation, duckdb.DuckDBPyConnection] | None = None
        self.ready: int | None = None
        """The copy whose answers are there; a later one is shown only where that one is gone."""
        self.problem = ""
        """Why the copy could not be made, when it was last tried; "" where nothing went wrong."""

    def reader(self) -> "CodedStore":
        """Return where cursors come from."""
        return self

    def current(self) -> Generation | None:
        """Return the newest coded copy that is not newer than the data; None before the first load.

        Raises
        ------
        NotReady
            When no copy is there.
        """
        current = read_pointer(self.folder)
        if current is None:
            return None
        made = [number for number in coded_copies(self.folder) if number <= current.number]
        made = [number for number in made if number <= (self.ready or number)] or made
        try:
            made_at = generation_path(self.folder, made[-1]).stat().st_mtime
        except (IndexError, FileNotFoundError):
            raise NotReady(self.problem or NOT_READY) from None
        path, version = coded_path(self.folder, made[-1]), current.schema_version
        return Generation(made[-1], path, version, datetime.fromtimestamp(made_at))

    def now(self) -> tuple[duckdb.DuckDBPyConnection, Generation]:
        """Return a cursor of its own on the copy that is to be read now, and which that is.

        Raises
        ------
        NotReady
            When no copy is there.
        """
        with self._lock:
            for _ in range(_TRIES):
                named = self.current()
                if named is None:
                    break
                if self._open is None or self._open[0] != named:
                    try:
                        # dropped and not closed: cursors on the one before may be in use
                        self._open = (named, open_for_reading(named))
                    except FileNotFoundError:
                        continue  # removed in this very moment
                    except StoreProblem:
                        remove(named.path)  # damaged: it is made anew
                        continue
                return self._open[1].cursor(), named
        raise NotReady(self.problem or NOT_READY)

    def generations(self) -> list[Generation]:
        """Return the generations that are kept, newest first."""
        return self.names.generations()


class CodedDecisions(Decisions):
    """Decisions as they are read by whoever may not see names; nothing is decided here.

    Parameters
    ----------
    folder : Path
        The folder of the store.

    Notes
    -----
    Who wrote a note or remark is left out: a remark is a technician's own.
    """

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        self._codes = TechnicianCodes(folder).all()
        self._names = {code: name for name, code in self._codes.items()}
        self._within = within_texts(self._codes)
        self._mention = re.compile(mention(self._codes))

    def add(self, made: Sequence[Decision]) -> None:
        """Refuse."""
        raise BadQuestion("Whoever sees codes in place of names may look, and decides nothing.")

    def current(self, kind: str, keys: Sequence[str]) -> pl.DataFrame:
        """Return what holds now, see `Decisions.current`; keys hold codes, those asked and those returned."""
        return self._coded(super().current(kind, [self._named_key(key) for key in keys]))

    def history(self, kind: str) -> pl.DataFrame:
        """Return all that was ever decided, see `Decisions.history`."""
        return self._coded(super().history(kind))

    def _coded(self, rows: pl.DataFrame) -> pl.DataFrame:
        coded = [
            row
            | {
                "key": self._coded_key(row["key"]),
                "value": self._coded_value(row["matter"], row["value"]),
                "note": self._text(row["note"]),
                "who": "",
            }
            for row in rows.iter_rows(named=True)
        ]
        return pl.DataFrame(coded, schema=rows.schema)

    def _named_key(self, key: str) -> str:
        return _GROUP_KEY.sub(lambda at: at[1] + self._names.get(at[2], at[2]) + at[3], key)

    def _coded_key(self, key: str) -> str:
        return _GROUP_KEY.sub(lambda at: at[1] + self._codes.get(at[2], NOT_SHOWN) + at[3], key)

    def _coded_value(self, matter: str, value: str) -> str:
        if matter != "lesson" or not value:
            return self._text(value)
        attended = [self._codes.get(name, NOT_SHOWN) for name in json.loads(value)["attended"]]
        return json.dumps({"attended": attended})

    def _text(self, written: str) -> str:
        return self._mention.sub(lambda at: self._within.get(spoken(at[0]), NOT_SHOWN), written)


class CodedFleet(Fleet):
    """Questions as they are answered to whoever may not see names; nothing is changed through it.

    Parameters
    ----------
    store : CodedStore
        The coded copies of a store.
    kept : Kept, optional
        Where answers are kept.
    """

    _in_codes = True

    def __init__(self, store: CodedStore, kept: Kept | None = None) -> None:
        super().__init__(store, kept)
        self._coded = store

    def bringing(self) -> Bringing:
        """Return what takes files in, of which names of files alone are shown here."""
        return Bringing(self._coded.names)

    def learn_phrases(self) -> None:
        """Learn nothing: whoever sees codes settles no phrases."""

    def _loaded(self) -> Generation | None:
        return self._coded.names.current()

    def _move_on(self, number: int) -> None:
        self._coded.ready = number

    def _decisions(self) -> Decisions:
        return CodedDecisions(self._store.folder)
