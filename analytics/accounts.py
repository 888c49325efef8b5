"""Accounts of the dashboard: names, roles and passwords, kept beside the decisions."""

import sqlite3
import unicodedata
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import polars as pl

from analytics import audit_lines, passwords, queries
from analytics.decisions import Decisions
from analytics.errors import BadQuestion

ROLES = ("look", "settle", "manage")
"""Each may do what those before it may: look at every page; load files, settle and decide; read the audit."""

SEE_NAMES = ("look", "settle")
"""Least roles that can be said to see technicians' names: everybody, or not whoever may only look."""

_NAMES = "names"
LONGEST_NAME = 60
SCHEMA: dict[str, pl.DataType | type[pl.DataType]] = {
    "name": pl.String,
    "role": pl.String,
    "made_at": pl.String,
}


@dataclass(frozen=True)
class Person:
    """Somebody who has an account.

    Parameters
    ----------
    number : int
        Of the account.
    name, role : str
    """

    number: int
    name: str
    role: str

    def may(self, role: str) -> bool:
        """Say whether the person's role covers this one."""
        return ROLES.index(self.role) >= ROLES.index(role)


class Accounts:
    """The accounts of one store.

    Parameters
    ----------
    folder : Path
        The folder of the store.
    now : callable
        Gives the time, UTC.
    """

    def __init__(self, folder: Path, now: Callable[[], datetime] = lambda: datetime.now(UTC)) -> None:
        self._file = Decisions(folder, now)
        self._now = now

    def exist(self) -> bool:
        """Say whether there is any account: only then does the dashboard ask who is there.

        Raises
        ------
        StoreProblem
            When it can not be told.
        """
        with self._file.reading() as connection:
            if connection is None or not audit_lines.is_made(connection):
                return False
            return bool(connection.execute(queries.statement("access/any_user")).fetchone()[0])

    def all(self) -> pl.DataFrame:
        """Return every account.

        Returns
        -------
        pl.DataFrame
            Columns name, role, made_at (UTC).
        """
        with self._file.reading() as connection:
            if connection is None or not audit_lines.is_made(connection):
                return pl.DataFrame(schema=SCHEMA)
            rows = connection.execute(queries.statement("access/users")).fetchall()
        return pl.DataFrame(rows, schema=SCHEMA, orient="row")

    def add(self, name: str, role: str, password: str, by: str) -> None:
        """Add an account.

        Parameters
        ----------
        name : str
            1 to 60 characters; case and spaces do not tell two accounts apart.
        role : str
            One of `ROLES`.
        password : str
            At least 12 characters.
        by : str
            Who does it, for the audit.

        Raises
        ------
        BadQuestion
            When the name is taken, or something is not as it must be.
        """
        name = _checked_name(name)
        _check_role(role)
        kept = passwords.hashed(password, name)
        with self._writing() as connection:
            if _row(connection, name) is not None:
                raise BadQuestion(f"There is an account '{name}' already. Choose another name.")
            at = self._now().astimezone(UTC).replace(tzinfo=None).isoformat(sep=" ", timespec="seconds")
            values = {
                "name": name,
                "name_key": name_key(name),
                "role": role,
                "password_hash": kept,
                "made_at": at,
            }
            connection.execute(queries.statement("access/add_user"), values)
            audit_lines.write(connection, self._now(), by, "account added", f"{name}, {role}")
        # Hashes and tokens are nobody else's business; group rights stay, for those who load.
        self._file.path.chmod(self._file.path.stat().st_mode & ~0o007)

    def set_role(self, name: str, role: str, by: str) -> None:
        """Give an account another role; whoever is signed in with it has to sign in again."""
        _check_role(role)
        with self._writing() as connection:
            person = _known(connection, name)
            connection.execute(queries.statement("access/set_role"), {"number": person.number, "role": role})
            _end_sessions(connection, person)
            audit_lines.write(connection, self._now(), by, "role changed", f"{person.name}, {role}")

    def set_password(self, name: str, password: str, by: str) -> None:
        """Give an account another password; whoever is signed in with it has to sign in again."""
        kept = passwords.hashed(password, name)
        with self._writing() as connection:
            person = _known(connection, name)
            values = {"number": person.number, "password_hash": kept}
            connection.execute(queries.statement("access/set_password"), values)
            _end_sessions(connection, person)
            audit_lines.write(connection, self._now(), by, "password changed", person.name)

    def remove(self, name: str, by: str) -> None:
        """Remove an account; whoever is signed in with it is signed out."""
        with self._writing() as connection:
            person = _known(connection, name)
            connection.execute(queries.statement("access/remove_user"), {"number": person.number})
            _end_sessions(connection, person)
            audit_lines.write(connection, self._now(), by, "account removed", person.name)

    def names_from(self) -> str:
        """Return the least role that sees technicians' names; look, which is everybody, unless set.

        Raises
        ------
        StoreProblem
            When it can not be told.
        """
        with self._file.reading() as connection:
            if connection is None or not _has_settings(connection):
                return SEE_NAMES[0]
            row = connection.execute(queries.statement("coding/setting"), {"name": _NAMES}).fetchone()
        if row is None:
            return SEE_NAMES[0]
        return row[0] if row[0] in SEE_NAMES else ROLES[-1]

    def show_names_from(self, role: str, by: str) -> None:
        """Say which role sees technicians' names; those below it see codes, from their next click on.

        Parameters
        ----------
        role : str
            One of `SEE_NAMES`.
        by : str
            Who does it, for the audit.
        """
        if role not in SEE_NAMES:
            raise BadQuestion(f"Names can be shown from {' or '.join(SEE_NAMES)} on, not from '{role}'.")
        with self._writing() as connection:
            connection.execute(queries.statement("coding/make_settings"))
            connection.execute(queries.statement("coding/set_setting"), {"name": _NAMES, "value": role})
            about = f"technicians' names are shown to {role} and above"
            audit_lines.write(connection, self._now(), by, "setting changed", about)

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        with self._file.writing() as connection:
            audit_lines.make(connection)
            yield connection


def name_key(name: str) -> str:
    """Return a name as it is compared."""
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


def find(connection: sqlite3.Connection, name: str) -> tuple[Person, str] | None:
    """Return an account and what is kept of its password, or None."""
    row = _row(connection, name)
    return None if row is None else (Person(*row[:3]), row[3])


def _row(connection: sqlite3.Connection, name: str) -> tuple[int, str, str, str] | None:
    row: tuple[int, str, str, str] | None = connection.execute(
        queries.statement("access/user"), {"name_key": name_key(name)}
    ).fetchone()
    return row


def _known(connection: sqlite3.Connection, name: str) -> Person:
    found = find(connection, name)
    if found is None:
        raise BadQuestion(f"There is no account '{name}'. `service-calls users list` shows those there are.")
    return found[0]


def _has_settings(connection: sqlite3.Connection) -> bool:
    return bool(connection.execute(queries.statement("coding/is_made"), {"name": "settings"}).fetchone()[0])


def _end_sessions(connection: sqlite3.Connection, person: Person) -> None:
    connection.execute(queries.statement("access/end_sessions_of"), {"number": person.number})


def _check_role(role: str) -> None:
    if role not in ROLES:
        raise BadQuestion(f"There is no role '{role}'. Choose one of {', '.join(ROLES)}.")


def _checked_name(name: str) -> str:
    name = " ".join(name.split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise BadQuestion(f"The name of an account has 1 to {LONGEST_NAME} characters that can be printed.")
    return name
