"""Numbers that the records do not hold: as data with their standing, to be replaced by one's own."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cache
from importlib import resources
from math import isfinite
from typing import Any, ClassVar, Self

from analytics.errors import BadQuestion


@dataclass(frozen=True)
class Assumption:
    """One assumption.

    Parameters
    ----------
    key, label : str
        Name in files, options and addresses; words for it.
    value : float
        In `unit`.
    unit, standing, why : str
        What it is counted in, where it comes from, and why it is what it is.
    least, most : float
        Legal values, both ends included.
    """

    key: str
    label: str
    value: float
    unit: str
    least: float
    most: float
    standing: str
    why: str

    def read(self, given: object, where: str) -> float:
        """Return a value that was given instead.

        Parameters
        ----------
        given : object
            A number, or one as text.
        where : str
            Where it stands, for the message.

        Raises
        ------
        BadQuestion
            When it is no number within the legal values.
        """
        try:
            number = float(given) if not isinstance(given, bool) else float("nan")  # type: ignore[arg-type]
        except (TypeError, ValueError):
            number = float("nan")
        if not isfinite(number) or not self.least <= number <= self.most:
            raise BadQuestion(
                f"{where}: {self.key} ({self.label}) is {str(given)[:40]!r}. Give a number from "
                f"{self.least:g} to {self.most:g}, in {self.unit}."
            )
        return number


@cache
def _described(file: str) -> dict[str, Assumption]:
    text = resources.files("analytics").joinpath(file).read_text(encoding="utf-8")
    return {key: Assumption(key=key, **entry) for key, entry in tomllib.loads(text).items()}


@dataclass(frozen=True)
class Assumptions:
    """Assumptions that belong together; each field is described in the file named by the class."""

    FILE: ClassVar[str]

    @classmethod
    def described(cls) -> dict[str, Assumption]:
        """Return the assumptions that come with the program, by key."""
        return _described(cls.FILE)

    @classmethod
    def usual(cls) -> Self:
        """Return those that come with the program."""
        return cls(**{key: float(each.value) for key, each in cls.described().items()})

    def but(self, given: Mapping[str, object], where: str) -> Self:
        """Return these with some replaced.

        Parameters
        ----------
        given : mapping of str to object
            New values, by key.
        where : str
            Where they stand, for messages.

        Raises
        ------
        BadQuestion
            When there is no such assumption, or the value is not legal.
        """
        known = self.described()
        if strangers := [key for key in given if key not in known]:
            raise BadQuestion(
                f"{where}: there is no assumption '{strangers[0][:40]}'. Choose from {', '.join(known)}."
            )
        return replace(self, **{key: known[key].read(value, where) for key, value in given.items()})

    def values(self) -> dict[str, float]:
        """Return the values by key."""
        return {field.name: getattr(self, field.name) for field in fields(self)}

    def changed(self) -> dict[str, float]:
        """Return those that differ from the ones that come with the program."""
        usual: dict[str, Any] = self.usual().values()
        return {key: value for key, value in self.values().items() if value != usual[key]}
