"""One measured line of the table: its values, the limit it is held to, and how both are printed."""

from dataclasses import dataclass
from statistics import median


@dataclass(frozen=True)
class Line:
    """What was measured, run by run.

    Parameters
    ----------
    part, what : str
        Part of the benchmark, and what the values are.
    unit : str
        "s", "ms", "MiB" or "times".
    values : tuple of float
        One value a run.
    limit : float, optional
        The target, for the median; None for a value that only explains others.
    at_least : bool
        Whether the limit is a least value; else it is a most.
    """

    part: str
    what: str
    unit: str
    values: tuple[float, ...]
    limit: float | None = None
    at_least: bool = False

    @property
    def median(self) -> float:
        return median(self.values)

    @property
    def worst(self) -> float:
        return min(self.values) if self.at_least else max(self.values)

    @property
    def passed(self) -> bool | None:
        """Whether the median keeps to the limit; None without one."""
        if self.limit is None:
            return None
        return self.median >= self.limit if self.at_least else self.median <= self.limit

    @property
    def target(self) -> str:
        if self.limit is None:
            return ""
        return f"{'at least' if self.at_least else 'at most'} {self.limit:g}"


def table(lines: list[Line]) -> str:
    """The lines as a Markdown table."""
    rows = ["| part | measured | unit | median | worst | target | |", "|---|---|---|---:|---:|---|---|"]
    verdict = {True: "kept", False: "**missed**", None: ""}
    for line in lines:
        middle, worst = (f"{value:,.{3 if line.median < 10 else 0}f}" for value in (line.median, line.worst))
        named = f"| {line.part} | {line.what} | {line.unit} "
        rows.append(f"{named}| {middle} | {worst} | {line.target} | {verdict[line.passed]} |")
    return "\n".join(rows)
