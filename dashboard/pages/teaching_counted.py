"""How the page on teaching counts, and what it leaves out."""

from analytics.questions.teaching import Teaching
from dashboard.words import counted, number

HOW = (
    "Looked at are strings of returns that are over, since 30 days ago: was the trouble taken for something "
    "else at first (another cause that is not one the catalogue says goes deeper, or no fault found), by the "
    "technician who first recorded a diagnosis; and repairs that can be judged, by cause: did they come "
    "back, "
    "by the technician who made them.",
    "Each call's chance of going wrong is estimated, cause by cause, from the kind of complaint, the "
    "complaint, "
    "the product family, the water supply and the age of the filter (logistic regression with a weak "
    "penalty). How far technicians differ beyond that and beyond chance is the standard deviation of their "
    "levels in a random-intercept logistic model, by maximum likelihood, with its interval by profile "
    "likelihood; the test of no spread takes half of the chi-square tail (Self and Liang 1987), over all "
    "causes by Benjamini and Hochberg.",
    "The best quarter is that of the fitted distribution of skill, not the technicians who happened to do "
    "best: those were partly lucky. What it avoids is the mean share that goes wrong over the whole "
    "distribution, less that in its best quarter. The interval is that of the spread; how sure the number of "
    "calls, the returns of a wrong diagnosis and the assumptions are is not in it.",
    "A wrong diagnosis costs the returns that strings have beyond those that began with the right one, "
    "within "
    "causes. One return can stand in two rows: as a repair that came back, and as a wrong diagnosis of "
    "what it "
    "turned out to be; hours of several lessons do not add up. Skill that comes with the years is in the "
    "spread "
    "too.",
)


def facts(found: Teaching) -> list[tuple[str, str]]:
    """Return what was left out, and what a wrong diagnosis costs."""
    rows = [
        ("Cause or first diagnosis not known", f"{counted(found.not_known, 'string')} of returns, left out"),
        ("Nobody recorded for the diagnosis", f"{counted(found.nobody, 'string')} of returns, left out"),
        ("At work", f"{counted(found.at_work, 'technician')} with a diagnosis or repair in the last year"),
    ]
    if found.each:
        each = found.each
        rows.append(
            (
                "Returns of a wrong diagnosis",
                f"{each.value:.2f} more than of one that is right (95% interval {each.low:.2f} to "
                f"{each.high:.2f}; {number(each.wrong)} wrong ones)",
            )
        )
    return rows
