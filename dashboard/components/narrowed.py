"""What an address narrows a list of calls to, beside the filters: a wrong turn, part or habit."""

from collections.abc import Callable, Mapping

from analytics.errors import BadQuestion
from analytics.questions import filter_failures
from analytics.questions.subsets import OF_A_HABIT, OF_A_PART, OF_A_TURN
from analytics.questions.wrong_turn_subsets import BETWEEN
from dashboard.address import Address

Labels = Callable[[str], Mapping[str, str]]


def narrowed(address: Address, subset: str, labels: Labels, habits: Mapping[str, str]) -> tuple[str, str]:
    """Return what `only` of the address narrows a subset to, and the words for it; "" where it does not.

    Parameters
    ----------
    address : Address
    subset : str
        One of `SUBSETS`.
    labels : callable
        `Fleet.labels`.
    habits : mapping of str to str
        As from `Fleet.habit_labels`.
    """
    asked = address.options.get("only", "")
    if not asked:
        return "", ""
    if subset == filter_failures.SUBSET:
        return _of_filters(asked, labels)
    if subset in OF_A_HABIT:
        return (asked, habits[asked]) if asked in habits else ("", "")
    if subset in OF_A_PART:
        parts = labels("parts")
        return (asked, parts[asked]) if asked in parts else ("", "")
    if subset in OF_A_TURN and asked.count(BETWEEN) == 1:
        causes = {**labels("causes"), "": ""}
        first, final = asked.split(BETWEEN)
        if first in causes and final in causes and (first or final):
            words = [f"thought: {causes[first]}" if first else "", f"was: {causes[final]}" if final else ""]
            return asked, "; ".join(word for word in words if word)
    return "", ""


def _of_filters(asked: str, labels: Labels) -> tuple[str, str]:
    kinds = {"all": "all failures", "flow_linked": "filter-linked"}
    kinds |= {f"family:{code}": label for code, label in labels("families").items()}
    try:
        measure, span, what = filter_failures.read_narrowing(asked)
    except BadQuestion:
        return "", ""
    if what not in kinds:
        return "", ""
    ages = {filter_failures.UP_TO_SIX: "up to six months", filter_failures.PAST_SIX: "past six months"}
    age = ages.get(span) or f"{span.replace('-', '–')}{'' if 'weeks' in span else ' months'}"
    when = "when the trouble began" if measure == "began" else "at the call"
    return asked, f"{kinds[what]}; filter {age} {when}"
