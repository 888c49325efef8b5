"""Technicians: posts and who fills them, skill that differs by cause and grows, habits of writing down."""

from dataclasses import dataclass

import numpy as np

from synthetic_data import calendar
from synthetic_data.assumptions import load
from synthetic_data.streams import Floats, Ints
from synthetic_data.trade import trade


@dataclass(frozen=True)
class Crew:
    """Posts, and the technicians who fill them one after the other.

    Parameters
    ----------
    post_depot, first, second : Ints, shape (posts,)
        Depot of each post, who holds it at first, and who takes over (the same when nobody does).
    handover : Floats, shape (posts,)
        Day of the change.
    depot_first, depot_posts : Ints, shape (depots,)
        First post of each depot, and how many.
    workload : Floats, shape (posts,)
        Running total of workload shares within the depot, ending at 1.
    depot, started : shape (technicians,)
        Depot, and first day with the company.
    years, skill, thorough, handful : Floats
        Years in the trade on `years_day`; logits, shape (technicians, groups); shares.
    habits : dict of str to Floats, shape (technicians,)
        Share of occasions on which each thing is written down.
    measures : dict of str to bool arrays, shape (technicians,)
        Units in which readings are noted.
    """

    post_depot: Ints
    first: Ints
    second: Ints
    handover: Floats
    depot_first: Ints
    depot_posts: Ints
    workload: Floats
    depot: Ints
    started: Floats
    years: Floats
    years_day: float
    skill: Floats
    thorough: Floats
    handful: Floats
    habits: dict[str, Floats]
    measures: dict[str, Floats]

    def holder(self, post: Ints, day: Floats) -> Ints:
        """Technician who fills a post on a day."""
        return np.where(day < self.handover[post], self.first[post], self.second[post])

    def draw_post(self, rng: np.random.Generator, depot: Ints) -> Ints:
        """Draw a post of each depot by workload."""
        edges = depot + rng.random(len(depot))
        post = np.searchsorted(self.post_depot + self.workload, edges, side="right")
        return np.clip(post, self.depot_first[depot], self.depot_first[depot] + self.depot_posts[depot] - 1)

    def skill_at(self, technician: Ints, cause: Ints, day: Floats) -> Floats:
        """Skill with a cause on a day, logit; 0 is an average, experienced technician."""
        assume = load()["technicians"]["skill"]
        years = np.maximum(self.years[technician] + (day - self.years_day) / calendar.YEAR_DAYS, 0)
        missing = assume["growth"] * np.exp(-years / assume["growth_years"])
        return self.skill[technician, trade().group[cause]] - missing


def hire(
    rng: np.random.Generator, calls_a_year: float, depots: int, first_day: float, last_day: float
) -> Crew:
    """Staff the depots for a number of calls a year between two days.

    Returns
    -------
    Crew
        At least two posts a depot.
    """
    assume = load()["technicians"]
    traits = list(load()["households"].under("depot").values())
    shares = np.array([traits[depot % len(traits)]["share"] for depot in range(depots)])
    wanted = calls_a_year / assume["calls_a_year"] * shares / shares.sum()
    posts = np.maximum(2, np.round(wanted)).astype(int)
    post_depot = np.repeat(np.arange(depots), posts)
    total = len(post_depot)
    changes = rng.random(total) < assume["turnover"]
    first = np.arange(total)
    second = np.where(changes, total + np.cumsum(changes) - 1, first)
    span = last_day - first_day
    handover = np.where(
        changes, np.floor(rng.uniform(first_day + 0.08 * span, last_day - 0.08 * span, total)), np.inf
    )
    experience = assume["experience"]
    old = rng.gamma(experience["shape"], experience["mean_years"] / experience["shape"], total)
    new = rng.exponential(assume["newcomer_experience"], int(changes.sum()))
    started = np.concatenate([first_day - old * calendar.YEAR_DAYS * rng.random(total), handover[changes]])
    depot = np.concatenate([post_depot, post_depot[changes]])
    n = len(depot)
    years_now = np.concatenate([old, new - (handover[changes] - first_day) / calendar.YEAR_DAYS])
    weights = np.exp(rng.normal(0, assume["workload_spread"], total))
    sums = np.array([weights[post_depot == one].sum() for one in range(depots)])
    running = np.cumsum(weights / sums[post_depot], dtype=np.float64) - post_depot.astype(float)
    between = np.array([traits[one % len(traits)]["skill"] for one in depot])
    between = between + rng.normal(0, assume["skill"]["between"], n)
    by_cause = rng.normal(0, assume["skill"]["by_cause"], (n, len(trade().groups)))
    thorough, handful = load()["checks"]["thoroughness"], load()["parts"]["handful"]
    return Crew(
        post_depot=post_depot,
        first=first,
        second=second,
        handover=handover,
        depot_first=np.concatenate([[0], np.cumsum(posts)[:-1]]),
        depot_posts=posts,
        workload=running,
        depot=depot,
        started=np.floor(started),
        years=years_now,
        years_day=first_day,
        skill=between[:, None] + by_cause,
        thorough=thorough["scale"] * rng.beta(thorough["a"], thorough["b"], n),
        handful=rng.beta(handful["a"], handful["b"], n),
        habits={name: rng.beta(a, b, n) for name, (a, b) in assume["recording"].items()},
        measures={name: rng.random(n) < share for name, share in assume["units_of_measure"].items()},
    )
