"""What became of every row of every file of a load."""

from dataclasses import asdict, dataclass, field
from typing import Any

from analytics.intake.reasons import reasons


@dataclass
class FileReport:
    """What became of the rows of one file.

    Parameters
    ----------
    file : str
        Name of the file, without folders.
    table, source : str
        The table it holds, and who sent it.
    rows : int
        Rows below the header, blank lines not counted.
    loaded, updated, set_aside : int
        New rows; rows that replaced an older one of the same id; rows that could not be loaded.
    repeated_exact, repeated_older : int
        Rows that were known already; rows older than the known one of the same id.
    withdrawn : int
        Live rows of earlier files that a full extract no longer has.
    already_loaded : bool
        The same file was loaded in the same way before, and nothing was done.
    reasons : dict of str to int
        Rows set aside by their first reason.
    unrecognised : dict of str to int
        Rows whose words were not recognised, by coding field.
    messages : list of str
        What a person should know about how the file was read.
    seconds : float
        Time taken, without the marts.
    examples : list of dict
        After a trial: the first rows set aside, each with line, reason, column_name and found.
    """

    file: str
    table: str
    source: str = ""
    file_id: int | None = None
    rows: int = 0
    loaded: int = 0
    updated: int = 0
    repeated_exact: int = 0
    repeated_older: int = 0
    set_aside: int = 0
    withdrawn: int = 0
    already_loaded: bool = False
    reasons: dict[str, int] = field(default_factory=dict)
    unrecognised: dict[str, int] = field(default_factory=dict)
    messages: list[str] = field(default_factory=list)
    seconds: float = 0.0
    examples: list[dict[str, Any]] = field(default_factory=list)

    @property
    def repeated(self) -> int:
        """Rows that changed nothing: exact repeats and older ones."""
        return self.repeated_exact + self.repeated_older

    def check(self) -> None:
        """Raise AssertionError unless every row is accounted for."""
        accounted = self.loaded + self.updated + self.repeated + self.set_aside
        if self.rows != accounted:
            raise AssertionError(
                f"{self.file}: {self.rows} rows in the file, but {self.loaded} loaded + {self.updated} "
                f"updated + {self.repeated} repeated + {self.set_aside} set aside = {accounted}. "
                "Nothing was loaded."
            )

    def to_dict(self) -> dict[str, Any]:
        """Return the report as plain values, for JSON."""
        plain = asdict(self)
        plain["repeated"] = self.repeated
        if not self.examples:
            del plain["examples"]
        return plain

    def to_text(self) -> str:
        """Return the report as a paragraph with the sum of the rows."""
        lines = [f"{self.file} ({self.table}, source '{self.source}')"]
        if self.already_loaded:
            lines[0] += ": already loaded, nothing changed"
        lines.append(
            f"  {self.rows:,} rows = {self.loaded:,} loaded + {self.updated:,} updated + "
            f"{self.repeated:,} repeated + {self.set_aside:,} set aside"
        )
        if self.repeated_older:
            lines.append(f"  of the repeated, {self.repeated_older:,} are older than what is known")
        if self.withdrawn:
            lines.append(f"  {self.withdrawn:,} rows of earlier files are gone from this extract: withdrawn")
        for code, count in self.reasons.items():
            reason = reasons()[code]
            lines.append(f"  set aside, {count:,}: {reason.explain()}")
        for name, count in self.unrecognised.items():
            lines.append(f"  {name}: the words of {count:,} rows were not recognised")
        lines += [f"  {message}" for message in self.messages]
        return "\n".join(lines)


@dataclass
class LoadReport:
    """What became of the files of one load.

    Parameters
    ----------
    files : list of FileReport
        In the order in which they were given.
    load_id : int or None
        Number of the load; None when there was nothing to do.
    seconds : float
        Time taken in all, with the marts.
    """

    files: list[FileReport]
    load_id: int | None = None
    seconds: float = 0.0

    def to_dict(self) -> dict[str, Any]:
        """Return the report as plain values, for JSON."""
        return {
            "load_id": self.load_id,
            "seconds": round(self.seconds, 3),
            "files": [file.to_dict() for file in self.files],
        }

    def to_text(self) -> str:
        """Return the report as text, one paragraph a file."""
        return "\n".join(file.to_text() for file in self.files)
