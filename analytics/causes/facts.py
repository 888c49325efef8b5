"""What is known of the checks: minutes, set-ups, what each reveals, and how often it leads astray."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.errors import BadQuestion

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class CheckFacts:
    """Figures about n checks and k causes, on which every order of checks rests.

    Parameters
    ----------
    codes : tuple of str, length n
        The checks. Where two are worth the same, the one that stands first here goes first.
    causes : tuple of str, length k
        The causes.
    minutes : array of float, shape (n,)
        Hands-on minutes of each check, without its set-up; 0 or more.
    beside_minutes : array of float, shape (n,)
        Minutes after it until its result is there, during which other checks can be made; 0 for most.
    setups : tuple of tuple of str, length n
        The set-ups of which any one will do for the check; empty where it needs none.
    setup_minutes : mapping of str to float
        Minutes of each set-up, paid once a visit; 0 or more.
    reveals : array of float, shape (n, k)
        Chance, 0..1, that the check finds the fault when this is the cause.
    false_findings : array of float, shape (n,)
        Chance, 0..1, of a finding although the check did not show the cause.
    second_visit_minutes : float
        What a fault that is still unfound when work stops costs.

    Raises
    ------
    BadQuestion
        When shapes do not fit together, or a value lies outside its range.
    """

    codes: tuple[str, ...]
    causes: tuple[str, ...]
    minutes: Floats
    beside_minutes: Floats
    setups: tuple[tuple[str, ...], ...]
    setup_minutes: Mapping[str, float]
    reveals: Floats
    false_findings: Floats
    second_visit_minutes: float

    def __post_init__(self) -> None:
        n, k = len(self.codes), len(self.causes)
        shapes: dict[str, tuple[int, ...]] = {
            "minutes": (n,), "beside_minutes": (n,), "reveals": (n, k), "false_findings": (n,),
        }  # fmt: skip
        for name, shape in shapes.items():
            most = np.inf if name.endswith("minutes") else 1.0
            object.__setattr__(self, name, _within(name, getattr(self, name), shape, most))
        _within("setup_minutes", list(self.setup_minutes.values()), (len(self.setup_minutes),), np.inf)
        _within("second_visit_minutes", self.second_visit_minutes, (), np.inf)
        for name, listed in (("codes", self.codes), ("causes", self.causes)):
            if len(set(listed)) < len(listed):
                raise BadQuestion(f"Facts of checks: {name} holds one of {listed} twice; name each once.")
        if len(self.setups) != n:
            raise BadQuestion(f"Facts of checks: {len(self.setups)} lists of set-ups for {n} checks.")
        needed = {name for names in self.setups for name in names}
        if not needed <= set(self.setup_minutes):
            missing = ", ".join(sorted(needed - set(self.setup_minutes)))
            raise BadQuestion(f"Facts of checks: setup_minutes lacks {missing}; add it there.")

    @cached_property
    def place(self) -> dict[str, int]:
        """Where each check stands in `codes`."""
        return {code: at for at, code in enumerate(self.codes)}

    def places(self, codes: Iterable[str]) -> list[int]:
        """Return where checks stand in `codes`.

        Raises
        ------
        BadQuestion
            When a check is not among them.
        """
        listed = list(codes)
        unknown = [code for code in listed if code not in self.place]
        if unknown:
            raise BadQuestion(f"No check is called {unknown[0]!r}; there are {', '.join(self.codes)}.")
        return [self.place[code] for code in listed]

    def chances(self, posterior: ArrayLike) -> Floats:
        """Return a posterior as an array of shape (k,) that sums to 1.

        Raises
        ------
        BadQuestion
            When it has another shape, a value below 0, or nothing above 0.
        """
        p = _within("posterior", posterior, (len(self.causes),), np.inf)
        if not p.sum() > 0:
            raise BadQuestion("The chances of the causes are all 0; give at least one above 0.")
        return p / p.sum()


def _within(name: str, values: ArrayLike, shape: tuple[int, ...], most: float) -> Floats:
    """Return values as floats, or say which is out of shape or range."""
    array = np.asarray(values, dtype=np.float64)
    if array.shape != shape:
        raise BadQuestion(f"Facts of checks: {name} has the shape {array.shape}; it should be {shape}.")
    wrong = ~((array >= 0) & (array <= most) & np.isfinite(array))
    if wrong.any():
        limit = "0 or more" if most == np.inf else f"from 0 to {most:g}"
        raise BadQuestion(f"Facts of checks: {name} holds {array[wrong][0]:g}; it should be {limit}.")
    return array
