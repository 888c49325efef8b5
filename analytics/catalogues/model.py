"""What a catalogue is made of: one frozen record for each kind of thing in the TOML file."""

from collections.abc import Mapping
from dataclasses import dataclass, field

STANDINGS = {"CP": "common practice", "FM": "from memory"}
WHOSE = ("home", "owner", "part", "us")
READS = ("time", "temperature")


@dataclass(frozen=True)
class Coded:
    """Anything with a code and a label that a text can stand for."""

    code: str
    label: str
    phrases: tuple[str, ...] = ()


@dataclass(frozen=True)
class Family:
    """Symptoms that count as the same trouble; bit is a power of two."""

    code: str
    label: str
    bit: int


@dataclass(frozen=True, kw_only=True)
class Symptom(Coded):
    """What is complained of; without a family it matches no other."""

    family: str | None = None
    standing: str


@dataclass(frozen=True, kw_only=True)
class Cause(Coded):
    """What lies behind a complaint.

    Parameters
    ----------
    signs : str
        What is typically seen.
    goes_deeper_than : tuple of str
        Causes that this one may lie behind.
    flow_linked : bool
        Linked to the flow through the filter.
    whose : tuple of str
        Of `WHOSE`: the home's plumbing, the owner's use, a part, our work.
    consequence : bool
        Recorded only when nothing deeper was proved.
    can_be_final : bool
        False where it never overturns another cause.
    other_catalogue : bool
        The reason behind it belongs to another catalogue.
    """

    signs: str
    whose: tuple[str, ...]
    standing: str
    goes_deeper_than: tuple[str, ...] = ()
    flow_linked: bool = False
    consequence: bool = False
    can_be_final: bool = True
    other_catalogue: bool = False


@dataclass(frozen=True)
class Setup:
    """Work paid once per visit before any check that needs it, in minutes for one person."""

    code: str
    label: str
    minutes: float
    built_in_minutes: float
    standing: str


@dataclass(frozen=True, kw_only=True)
class Check(Coded):
    """Something a technician looks at, measures or tries.

    Parameters
    ----------
    setup, setup_or : str
        Code of the set-up, and of another that does as well.
    minutes, beside_minutes : float
        For one person without the set-up; and waiting that runs beside other checks.
    caution : str
        Class a, b or c; `cautions` lists what the class does not say.
    reveals : mapping of str to float
        Share of times the check finds the cause when it is there.
    tells : str
        What else it says.
    """

    minutes: float
    caution: str
    standing: str
    setup: str | None = None
    setup_or: str | None = None
    beside_minutes: float = 0.0
    cautions: tuple[str, ...] = ()
    reveals: Mapping[str, float] = field(default_factory=dict)
    tells: str = ""


@dataclass(frozen=True, kw_only=True)
class Limit:
    """What a healthy reading is.

    Parameters
    ----------
    unit : str
        Unit of `low`, `high` and `stop`, as in units_of_measure.toml.
    low, high : float, optional
        Both still healthy.
    stop : float, optional
        Beyond it there is no doubt.
    also : mapping, optional
        The same limit in another unit, rounded as the trade rounds it: a reading is judged in its own unit.
    """

    code: str
    label: str
    unit: str
    says: str
    standing: str
    check: str | None = None
    state: str | None = None
    low: float | None = None
    high: float | None = None
    stop: float | None = None
    also: Mapping[str, str | float] | None = None


@dataclass(frozen=True, kw_only=True)
class Part(Coded):
    """A part that may be fitted; answers lists the causes that it mends."""

    van_stock: str
    answers: tuple[str, ...]
    standing: str
    is_filter: bool = False
    water_side: bool = False


@dataclass(frozen=True, kw_only=True)
class Outcome(Coded):
    """How a call ended; work_done false: never a completed call."""

    work_done: bool


@dataclass(frozen=True, kw_only=True)
class JobKind(Coded):
    """What a call was for; only repairs feed callbacks."""

    is_repair: bool


@dataclass(frozen=True, kw_only=True)
class VisitResult(Coded):
    """How a visit ended."""

    work_done: bool
    let_in: bool
    waits_for_part: bool


@dataclass(frozen=True)
class Field:
    """A column whose texts are taken to mean codes; see the remarks in the TOML file."""

    code: str
    label: str
    codes: str | None = None
    several: bool = False
    reads: str | None = None


@dataclass(frozen=True, kw_only=True)
class Amount:
    """The level of a field that a quantity in the answer stands for: the first entry that fits.

    Parameters
    ----------
    kind : str
        day, time or temperature.
    below_days : float, optional
        The time must be shorter than this.
    words, none : tuple of str
        One of `words` must occur, if there are any; none of `none` may.
    bare : str, optional
        Unit of a number that stands alone.
    """

    field: str
    code: str
    kind: str
    below_days: float | None = None
    words: tuple[str, ...] = ()
    none: tuple[str, ...] = ()
    bare: str | None = None


@dataclass(frozen=True, kw_only=True)
class Rule:
    """Patterns of words, written as patterns.py says: one of `any` must occur, each of `all`, none of `none`.

    Parameters
    ----------
    field : str
        The field that the rule reads.
    code : str, optional
        The code it gives.
    same_again : bool
        The text says that it is the trouble of the last call.
    yields_to : tuple of str
        The code is dropped where one of these is found too.
    implied_field, implied_code : str, optional
        An intake answer that the text gives away.
    """

    field: str
    any: tuple[str, ...]
    all: tuple[str, ...] = ()
    none: tuple[str, ...] = ()
    code: str | None = None
    same_again: bool = False
    yields_to: tuple[str, ...] = ()
    implied_field: str | None = None
    implied_code: str | None = None


@dataclass(frozen=True, kw_only=True)
class Words:
    """Everyday words and abbreviations by which texts are folded before they are compared."""

    fillers: tuple[str, ...]
    breaks: tuple[str, ...]
    plain: tuple[str, ...]
    common_phrases: Mapping[str, tuple[str, ...]]
    times: Mapping[str, str]
    numbers: Mapping[str, float]
    months: Mapping[str, int]
    classes: Mapping[str, tuple[str, ...]]
    healthy: Mapping[str, tuple[str, ...]]
    foreign: Mapping[str, tuple[str, ...]]
    abbreviations: Mapping[str, tuple[str, tuple[str, ...]]]


@dataclass(frozen=True)
class Unit:
    """A unit of measure: canonical value = value * scale + offset."""

    code: str
    quantity: str
    canonical: str
    scale: float
    offset: float
    spellings: tuple[str, ...]
