"""Sentences that say what the records lack and what stands in for it."""

from collections.abc import Mapping


def notes(counts: Mapping[str, int], has_visits: bool, sampled: bool) -> list[str]:
    """Return the sentences that belong under these figures.

    Parameters
    ----------
    counts : mapping of str to int
        As in `Figures.counts`.
    has_visits : bool
        Any visit was loaded.
    sampled : bool
        Design effects come from a sample of units.
    """
    told = []
    if n := counts["without_closing_column"]:
        told.append(
            f"{n:,} calls come from files without a closing time; the time of opening stands in for it. "
            "A column closed_at would mend that."
        )
    if n := counts["without_outcome_column"]:
        told.append(
            f"{n:,} calls come from files without an outcome; closed, they count as completed. "
            "A column outcome would mend that."
        )
    if n := counts["outcome_not_recognised"]:
        told.append(f"The outcome of {n:,} closed calls was not recognised; they count as completed.")
    if n := counts["symptom_not_recognised"]:
        told.append(
            f"The complaint of {n:,} completed calls was not recognised; it matches no kind of complaint, "
            "so that a return of theirs shows only under any symptom."
        )
    if not has_visits:
        told.append(
            "Without visits there is no first-time fix: shown is the share of calls closed without a return, "
            "and the technician of the call stands for the repair and the diagnosis. A file of visits would "
            "mend that."
        )
    if n := counts["retired_inside_window"]:
        told.append(f"{n:,} of the calls judged are of units replaced or scrapped inside the window.")
    if sampled:
        told.append("The design effects come from a sample of about 40,000 calls, always the same units.")
    return told
