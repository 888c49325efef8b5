"""First-time fix as counts, and what stands in for it where the fleet has no visits."""

from collections.abc import Callable, Mapping

from analytics.rates import Counted

FIRST_TIME_FIX = "first_time_fix_rate"
CLOSED_WITHOUT_RETURN = "closed_without_return"


def first_time_fix(
    counts: Mapping[str, int],
    has_visits: bool,
    left_out: dict[str, int],
    design_effect: Callable[[str], float | None],
) -> Counted:
    """Return what first-time fix is made from.

    Parameters
    ----------
    counts : mapping of str to int
        Columns of metrics/figures or metrics/figures_by.
    has_visits : bool
        Any visit was loaded. Without visits the share of calls closed without a return stands in, under
        another name, since a second visit can not be seen.
    left_out : dict of str to int
        Calls left out of the callback rate, by reason.
    design_effect : callable
        Gives the design effect of the rate with the named count as its numerator.
    """
    callbacks = {"is_callback": counts["callbacks_completed"]}
    if not has_visits:
        return Counted(
            numerator=counts["no_callback_held"],
            denominator=counts["no_callback_judged"],
            inside_window=counts["no_callback_young"],
            left_out=left_out | callbacks,
            design_effect=design_effect("no_callback_held"),
            name=CLOSED_WITHOUT_RETURN,
        )
    return Counted(
        numerator=counts["first_time_fixed"],
        denominator=counts["first_time_judged"],
        inside_window=counts["first_time_young"],
        left_out=left_out | callbacks | {"no_visit": counts["completed_without_visit"]},
        design_effect=design_effect("first_time_fixed"),
        name=FIRST_TIME_FIX,
    )


def first_time_fix_let_in(counts: Mapping[str, int]) -> Counted:
    """Return first-time fix among calls without a visit at which nobody was home."""
    return Counted(
        numerator=counts["let_in_fixed"], denominator=counts["let_in_judged"], name="first_time_fix_let_in"
    )
