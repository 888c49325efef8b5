"""What a view about people can not say; it stands first wherever technicians are shown beside each other."""

from analytics.filters import Filters

CAN_NOT_SAY = (
    "These figures can not say who works well. They are not adjusted for the mix of work: whoever gets the "
    "hard calls looks worse, and few calls differ by chance alone. They are not fit for pay or discipline; "
    "use them to choose which calls to read together."
)

COMPARED_CAN_NOT_SAY = (
    "These figures can not say who works well. They are adjusted for what was known before the visit, "
    "but not for what the records do not hold: a hard round, a bad batch of parts, who gets sent back to the "
    "worst cases. They are evidence for a conversation, not a verdict, and not fit for pay or discipline."
)

LISTED_CAN_NOT_SAY = (
    "A return can not say who works well: it may be the part, the home's plumbing or a new fault, and "
    "whoever gets the hard calls gets more returns. This list is evidence for a conversation, not a verdict, "
    "and not fit for pay or discipline; beside each return there is a place for the technician's own remark."
)


WATCHED_CAN_NOT_SAY = (
    "These figures can not say who works well. The rates are not adjusted for the mix of work; the sums "
    "against what was expected are, but not for what the records do not hold. Few calls differ by chance "
    "alone. They are evidence for a conversation, not a verdict, and not fit for pay or discipline."
)
LESSONS_CAN_NOT_SAY = (
    "These figures are about lessons and not about people: who attended is compared as a group with who did "
    "not. They are not adjusted for the mix of work, are evidence for a conversation and not a verdict, and "
    "are not fit for pay or discipline."
)


TAUGHT_CAN_NOT_SAY = (
    "These figures can not say who works well. They are adjusted for the mix of work, but not for what the "
    "records do not hold, and pulled towards the average because calls are few. They are for a conversation "
    "about what somebody would like to learn, or could show to others; they are not a verdict, and not fit "
    "for "
    "pay or discipline."
)


def about_people_taught() -> list[str]:
    """Return the sentence that opens a list of who would gain from a lesson."""
    return [TAUGHT_CAN_NOT_SAY]


def about_people_watched(filters: Filters) -> list[str]:
    """Return the sentence that opens the course of technicians' rates, else nothing."""
    return [WATCHED_CAN_NOT_SAY] if filters.technicians else []


def about_people_compared() -> list[str]:
    """Return the sentence that opens a comparison of technicians."""
    return [COMPARED_CAN_NOT_SAY]


def about_people(filters: Filters, by: str = "") -> list[str]:
    """Return the sentence where a view is about one technician or compares several, else nothing."""
    return [CAN_NOT_SAY] if by == "technician" or filters.technicians else []
