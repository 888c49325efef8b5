"""What a finding of a check makes of the chances of the causes."""

from numpy.typing import ArrayLike

from analytics.causes.facts import CheckFacts, Floats
from analytics.causes.order_problem import LEAST
from analytics.errors import BadQuestion

FINDINGS = ("fault", "no_fault", "inconclusive")
"""The findings of a check, as in the records."""


def after_finding(facts: CheckFacts, posterior: ArrayLike, check: str, finding: str) -> Floats:
    """Return the chances of the causes after one more finding, shape (k,).

    Parameters
    ----------
    facts : CheckFacts
        The checks.
    posterior : array-like of float, shape (k,)
        Chances before it.
    check, finding : str
        The check, and one of `FINDINGS`.

    Returns
    -------
    array of float, shape (k,)
        By Bayes' rule: a fault is found with the chance that the check reveals the cause, or does not and
        leads astray. Inconclusive tells nothing. What no cause makes possible leaves the chances as they
        were.

    Raises
    ------
    BadQuestion
        When there is no such check or finding, or the posterior does not fit the facts.

    Examples
    --------
    >>> facts = CheckFacts(
    ...     codes=("look",), causes=("a", "b"), minutes=[5], beside_minutes=[0], setups=((),),
    ...     setup_minutes={}, reveals=[[0.8, 0]], false_findings=[0.1], second_visit_minutes=60)
    >>> after_finding(facts, [0.5, 0.5], "look", "no_fault").round(3).tolist()
    [0.167, 0.833]
    """
    before = facts.chances(posterior)
    at = facts.places([check])[0]
    shown, false = facts.reveals[at], facts.false_findings[at]
    if finding not in FINDINGS:
        raise BadQuestion(f"There is no finding {finding!r}; there are {', '.join(FINDINGS)}.")
    if finding == "inconclusive":
        return before
    fault = shown + (1 - shown) * false
    after = before * (fault if finding == "fault" else 1 - fault)
    return after / after.sum() if after.sum() > LEAST else before
