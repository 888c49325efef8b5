"""Steps that belong before a diagnosis, as data: when each applies, and what counts as recorded."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from analytics.catalogue import Catalogue, load_catalogue
from analytics.catalogues.model import STANDINGS
from analytics.catalogues.reading import Place, read_toml, records
from analytics.errors import BadCatalogue
from analytics.valve_evidence import valve_evidence

FILE = Path(__file__).with_name("catalogues") / "habits.toml"


@dataclass(frozen=True, kw_only=True)
class Habit:
    """One habit; fields are described on top of habits.toml."""

    code: str
    label: str
    before: str
    why: str
    standing: str
    families: tuple[str, ...] = ()
    causes: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    valves: bool = False
    filter_fitted: bool = False
    checks: tuple[str, ...] = ()
    evidence: bool = False
    proof: bool = False
    answer: str | None = None
    levels: tuple[str, ...] = ()
    but: tuple[str, ...] = ()

    @property
    def every_part(self) -> tuple[str, ...]:
        """Parts on the fitting of which it applies."""
        return self.parts + (valve_evidence().parts if self.valves else ())

    @property
    def every_check(self) -> tuple[str, ...]:
        """Checks of which one counts, whatever it found."""
        return self.checks + (valve_evidence().checks if self.evidence else ())


@cache
def habits() -> tuple[Habit, ...]:
    """Read and check the file that comes with the program, once a process."""
    return read_habits(FILE, load_catalogue())


def read_habits(path: Path, catalogue: Catalogue) -> tuple[Habit, ...]:
    """Read a file of habits.

    Parameters
    ----------
    path : Path
    catalogue : Catalogue
        Whose codes it uses.

    Raises
    ------
    BadCatalogue
        When it does not hold together; the message names the file and the key.
    """
    place = Place(path.name)
    raw = read_toml(path)
    if unknown := sorted(set(raw) - {"habits"}):
        raise place.wrong(f"unknown key '{unknown[0]}'.", "Known: habits.")
    found = tuple(records(Habit, raw.get("habits", {}), place.below("habits")).values())
    for habit in found:
        for key, code, legal in _references(habit, catalogue):
            if code not in legal:
                raise BadCatalogue(
                    f"{path.name}: habits.{habit.code}.{key}: '{code}' is not known. "
                    f"Legal: {', '.join(sorted(legal))}."
                )
        if not (habit.every_check or habit.answer or habit.proof):
            raise BadCatalogue(
                f"{path.name}: habits.{habit.code}: nothing counts as recorded. Name checks or an answer, or "
                f"set evidence or proof."
            )
        if habit.answer is None and (habit.levels or habit.but):
            raise BadCatalogue(f"{path.name}: habits.{habit.code}: levels of no answer. Name the answer.")
    return found


def _references(habit: Habit, c: Catalogue) -> Iterator[tuple[str, str, Mapping[str, object]]]:
    named = {"families": c.families, "causes": c.causes, "parts": c.parts, "checks": c.checks}
    for key, legal in named.items():
        for code in getattr(habit, key):
            yield key, code, legal
    yield "standing", habit.standing, STANDINGS
    if habit.answer is not None:
        yield "answer", habit.answer, c.levels
        for key in ("levels", "but"):
            for code in getattr(habit, key):
                yield key, code, c.levels.get(habit.answer, {})
