"""Signing in and out: sessions that end, and delays that grow for whoever guesses."""

import hashlib
import ipaddress
import secrets
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from analytics import audit_lines, passwords, queries
from analytics.accounts import Accounts, Person, find, name_key
from analytics.audit import Audit
from analytics.decisions import Decisions
from analytics.errors import BadQuestion

IDLE_S = 30 * 60.0
LONGEST_S = 12 * 3600.0
TOUCHED_EVERY_S = 60.0
"""How much later a session has to be in use for it to be noted again: not every request writes."""

FREE_TRIES = {"account": 5, "address": 20}
"""Passwords that may be wrong before anybody has to wait; several people can share an address."""

FIRST_DELAY_S, LONGEST_DELAY_S = 15.0, 900.0
FORGOTTEN_AFTER_S = 24 * 3600.0
UNKNOWN = "(no such account)"


@dataclass(frozen=True)
class SignedIn:
    """A sign-in that succeeded; the token goes into the browser and nowhere else."""

    person: Person
    token: str


@dataclass(frozen=True)
class Refused:
    """A sign-in that did not; `wait_s` is 0 where the next may come at once."""

    wait_s: float


class Doors:
    """Who may come in.

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
        self.accounts = Accounts(folder, now)
        self.audit = Audit(folder, now)

    def sign_in(self, name: str, password: str, address: str, old_token: str = "") -> SignedIn | Refused:
        """Let somebody in whose password fits.

        Parameters
        ----------
        name, password : str
            As typed.
        address : str
            Where the request comes from.
        old_token : str
            Of a session that the browser still has; it ends.

        Notes
        -----
        A try counts before the password is compared, so that tries at the same time count each. A name that
        does not exist waits and takes as long as one that does.
        """
        wait = self._count(name, address)
        if wait > 0:
            return Refused(wait)
        with self._file.reading() as connection:
            found = find(connection, name) if connection is not None else None
        fits = passwords.matches(found[1] if found else None, password)
        with self._file.writing() as connection:
            if not fits or found is None:
                who = found[0].name if found else UNKNOWN  # what was typed may be a password
                audit_lines.write(connection, self._now(), who, "sign-in refused", f"from {address}")
                return Refused(0.0)
            person, kept = found
            self._end_tries(connection, name, address)
            if passwords.is_outdated(kept):
                values = {"number": person.number, "password_hash": passwords.hashed(password)}
                connection.execute(queries.statement("access/set_password"), values)
            token = self._begin(connection, person, old_token)
            audit_lines.write(connection, self._now(), person.name, "signed in", f"from {address}")
        return SignedIn(person, token)

    def person(self, token: str) -> Person | None:
        """Return whose session a token is, or None where it has ended."""
        if not token:
            return None
        now, key = self._seconds(), {"token_hash": _hash(token)}
        with self._file.reading() as connection:
            if connection is None or not audit_lines.is_made(connection):
                return None
            row = connection.execute(queries.statement("access/session"), key).fetchone()
        if row is None or self._ended(row[0], row[1], now):
            return None
        if now - row[1] > TOUCHED_EVERY_S:
            with self._file.writing() as connection:
                connection.execute(queries.statement("access/touch_session"), key | {"now": now})
        return Person(*row[2:])

    def sign_out(self, token: str) -> None:
        """End a session."""
        person = self.person(token)
        with self._file.writing() as connection:
            audit_lines.make(connection)
            connection.execute(queries.statement("access/end_session"), {"token_hash": _hash(token)})
            if person:
                audit_lines.write(connection, self._now(), person.name, "signed out")

    def change_password(self, person: Person, old: str, new: str, address: str) -> Refused | None:
        """Give the person another password, when the old one fits; every session of theirs ends.

        Raises
        ------
        BadQuestion
            When the new one can not be.
        """
        wait = self._count(person.name, address)
        if wait > 0:
            return Refused(wait)
        with self._file.reading() as connection:
            found = find(connection, person.name) if connection is not None else None
        if not passwords.matches(found[1] if found else None, old):
            self.audit.note(person.name, "sign-in refused", f"from {address}, to change the password")
            return Refused(0.0)
        with self._file.writing() as connection:
            self._end_tries(connection, person.name, address)
        if old == new:
            raise BadQuestion("The new password is the old one; choose another.")
        self.accounts.set_password(person.name, new, person.name)
        return None

    def _ended(self, made_at: float, seen_at: float, now: float) -> bool:
        return not (made_at <= now + TOUCHED_EVERY_S and now - made_at < LONGEST_S and now - seen_at < IDLE_S)

    def _begin(self, connection: sqlite3.Connection, person: Person, old_token: str) -> str:
        token, now = secrets.token_urlsafe(32), self._seconds()
        connection.execute(
            queries.statement("access/end_old_sessions"),
            {"made_before": now - LONGEST_S, "seen_before": now - IDLE_S},
        )
        connection.execute(queries.statement("access/end_session"), {"token_hash": _hash(old_token)})
        values = {"token_hash": _hash(token), "number": person.number, "now": now}
        connection.execute(queries.statement("access/add_session"), values)
        return token

    def _count(self, name: str, address: str) -> float:
        """Count a try as one in vain, and return how long to wait before it is looked at, in seconds."""
        now = self._seconds()
        with self._file.writing() as connection:
            audit_lines.make(connection)
            keys = {kind: _try_key(kind, name, address) for kind in FREE_TRIES}
            known = {kind: self._tried(connection, key, now) for kind, key in keys.items()}
            wait = max(
                _delay_s(kind, failures) - (now - last_at) if now >= last_at else 0.0
                for kind, (failures, last_at) in known.items()
            )
            if wait > 0:
                return wait
            for kind, key in keys.items():
                values = {"key": key, "failures": known[kind][0] + 1, "now": now}
                connection.execute(queries.statement("access/set_attempts"), values)
        return 0.0

    def _tried(self, connection: sqlite3.Connection, key: str, now: float) -> tuple[int, float]:
        row = connection.execute(queries.statement("access/attempts"), {"key": key}).fetchone()
        return (0, now) if row is None or now - row[1] > FORGOTTEN_AFTER_S else (row[0], row[1])

    def _end_tries(self, connection: sqlite3.Connection, name: str, address: str) -> None:
        """Take back that a try counted as one in vain; of an account, all before it as well."""
        values = {"key": _try_key("account", name, ""), "before": self._seconds() - FORGOTTEN_AFTER_S}
        connection.execute(queries.statement("access/end_attempts"), values)
        key = _try_key("address", name, address)
        failures, last_at = self._tried(connection, key, self._seconds())
        taken_back = {"key": key, "failures": max(failures - 1, 0), "now": last_at}
        connection.execute(queries.statement("access/set_attempts"), taken_back)

    def _seconds(self) -> float:
        return self._now().timestamp()


def _delay_s(kind: str, failures: int) -> float:
    """How long after so many tries in vain the next is looked at."""
    over = failures - FREE_TRIES[kind]
    return 0.0 if over < 0 else min(FIRST_DELAY_S * 2.0 ** min(over, 10), LONGEST_DELAY_S)


def _try_key(kind: str, name: str, address: str) -> str:
    return _hash(f"{kind}:{name_key(name) if kind == 'account' else _network(address)}")


def _network(address: str) -> str:
    """Return the address, of IPv6 the network of one household: within it addresses cost nothing."""
    try:
        known = ipaddress.ip_address(address)
    except ValueError:
        return address
    return str(ipaddress.ip_network((known, 64), strict=False)) if known.version == 6 else str(known)


def _hash(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
