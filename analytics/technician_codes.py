"""Codes that stand for technicians: drawn by lot, the same for good, kept beside the decisions."""

import json
import re
import secrets
import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from analytics import queries
from analytics.decisions import Decisions

LETTERS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
"""None that is taken for another when it is read aloud or copied by hand."""

LENGTH = 3
MOST_SHARE_TAKEN = 0.25
"""Of the codes of one length; beyond it they are drawn a letter longer: a free one is found at once."""

NOT_SHOWN = "(not shown)"
SHORTEST_IN_TEXT = 3
"""Characters that a name must have to be looked for in texts; "7" is everywhere there."""


class TechnicianCodes:
    """The codes of one store.

    Parameters
    ----------
    folder : Path
        The folder of the store.
    """

    def __init__(self, folder: Path) -> None:
        self._file = Decisions(folder)

    def all(self) -> dict[str, str]:
        """Return the code of each technician who has one.

        Raises
        ------
        StoreProblem
            When the decisions can not be read.
        """
        with self._file.reading() as connection:
            return {} if connection is None else _read(connection)

    def give(self, technicians: Iterable[str]) -> list[str]:
        """Give a code to each who has none, and return who got one.

        Raises
        ------
        StoreProblem
            When the decisions can not be written.
        """
        with self._file.writing() as connection:
            connection.execute(queries.statement("coding/make_codes"))
            known = _read(connection)
            wanted = sorted(set(technicians) - known.keys())
            taken = {code.casefold() for code in known.values()} | {each.casefold() for each in known}
            taken |= {each.casefold() for each in wanted}
            for technician in wanted:
                code = _drawn(taken, len(known) + len(wanted))
                taken.add(code.casefold())
                values = {"technician": technician, "code": code}
                connection.execute(queries.statement("coding/add_code"), values)
        return wanted

    def forget(self, technicians: Sequence[str]) -> None:
        """Take codes away so that the file holds no trace of the names.

        Raises
        ------
        StoreProblem
            When the decisions can not be written, or others read for too long.
        """
        with self._file.erasing() as connection:
            if connection is not None and _is_made(connection):
                values = {"technicians": json.dumps(list(technicians))}
                connection.execute(queries.statement("coding/forget_codes"), values)


def mention(names: Iterable[str]) -> str:
    r"""Return a pattern that finds one of the names within a text, for RE2 and for Python.

    Short names it does not find. Case does not matter, nor how wide the spaces in a name are; the longest
    name that fits is found. RE2 takes letters beyond ASCII for the end of a word: there a name is found
    rather too often than too seldom.

    Examples
    --------
    >>> import re
    >>> re.sub(mention(["T018", "Jo Sample"]), "?", "t018 and Jo  Sample, not T0181")
    '? and ?, not T0181'
    """
    long = sorted({spoken(each) for each in names if len(each.strip()) >= SHORTEST_IN_TEXT}, key=len)
    words = [_edge(each[0]) + re.escape(each).replace(r"\ ", r"\s+") + _edge(each[-1]) for each in long]
    return f"(?i:{'|'.join(reversed(words))})" if words else r"x\Ax"


def spoken(name: str) -> str:
    """Return a name as it is compared within texts."""
    return " ".join(name.lower().split())


def within_texts(codes: Mapping[str, str]) -> dict[str, str]:
    """Return the codes by names as they are compared within texts."""
    return {spoken(name): code for name, code in codes.items()}


def _edge(sign: str) -> str:
    return r"\b" if re.fullmatch(r"\w", sign, re.ASCII) else ""


def _drawn(taken: set[str], wanted: int) -> str:
    length = LENGTH
    while wanted > MOST_SHARE_TAKEN * len(LETTERS) ** length:
        length += 1
    while True:
        drawn = "".join(secrets.choice(LETTERS) for _ in range(length))
        code = f"tech-{drawn}"
        # neither may look like somebody's name: codes are looked through for names, by people and by tests
        if taken.isdisjoint({code.casefold(), drawn.casefold()}):
            return code


def _read(connection: sqlite3.Connection) -> dict[str, str]:
    if not _is_made(connection):
        return {}
    return dict(connection.execute(queries.statement("coding/codes")).fetchall())


def _is_made(connection: sqlite3.Connection) -> bool:
    values = {"name": "technician_codes"}
    return bool(connection.execute(queries.statement("coding/is_made"), values).fetchone()[0])
