"""The model card, as Markdown: what it is for, what it was made of, how good it is."""

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from analytics.questions.trust import LIMITS, USE

if TYPE_CHECKING:
    from analytics.fleet_causes import ModelCard

Labels = Callable[[str], dict[str, str]]
MOST_CAUSES = 40


def card(found: "ModelCard", labels: Labels) -> str:
    """Return the card.

    Parameters
    ----------
    found : ModelCard
    labels : callable
        Field -> labels by code.
    """
    about, judged = found.about, found.evaluation
    counts, causes = about["counts"], labels("causes")
    names = "multinomial logistic regression" if about["classifier"] == "CauseClassifier" else "boosted trees"
    lines = [
        "# Model card: causes from intake answers",
        "",
        f"Made by `service-calls fit` on data that reach to {(about['data_of'] or '')[:10]}; nothing in "
        f"it is written by hand.",
        "",
        "## What it is for",
        "",
        USE,
        "",
        "## What it was made of",
        "",
        f"{counts['mature']:,} strings of returns were old enough to judge. Of them "
        f"{counts['learned_from']:,} have a confirmed cause and were learned from; {counts['probable']:,} "
        f"have one that is only probable, {counts['no_fault_found']:,} ended with no fault found, and of "
        f"{counts['not_recognised']:,} no cause was recognised. Model: {names}, temperature "
        f"{_taken(judged.tried)['temperature']:.2f}.",
        "",
        "## How good it is on the future",
        "",
        f"Learned from {judged.earlier:,} whose cause was known before {judged.cut}, judged on "
        f"{judged.later:,} opened from that day on; 95% intervals by a bootstrap over units. Log loss in "
        "nats (a chance below one in a million counts as that); Brier score summed over causes, 0 to 2.",
        "",
        *_table(
            ["who", "among", "calls", "log loss", "Brier", "named first", "among three"],
            [
                [
                    row["who"],
                    row["among"],
                    f"{row['episodes']:,}",
                    _between(row, "log_loss"),
                    _between(row, "brier"),
                ]
                + [_between(row, name, percent=True) for name in ("top1", "top3")]
                for row in judged.scores
            ],
        ),
        "",
        *[
            f"{'Better' if row['beaten'] else 'Not better'} than {row['over']} by {row['gain']:.3f} nats "
            f"({row['low']:.3f} to {row['high']:.3f}).  "
            for row in judged.gains
        ],
        "",
        "## Whether its chances can be taken at their word",
        "",
        f"Expected calibration error {100 * judged.calibration_error:.2f} percentage points, over the "
        f"chances of all causes.",
        "",
        *_table(
            ["chance given", "how often", "mean chance", "was there", "95% interval"],
            [
                [
                    f"{100 * row['low']:.0f} to {100 * row['high']:.0f}%",
                    f"{row['given']:,}",
                    f"{100 * row['mean_chance']:.1f}%",
                    f"{100 * row['share']:.1f}%",
                    f"{100 * row['share_low']:.1f} to {100 * row['share_high']:.1f}%",
                ]
                for row in judged.calibration
            ],
        ),
        "",
        "## Cause by cause",
        "",
        *_table(
            ["cause", "calls", "named first", "among three", "mean chance given"],
            [
                [
                    causes.get(str(row["cause"]), str(row["cause"])),
                    f"{row['episodes']:,}",
                    _share(row, "first"),
                    _share(row, "among_three", "three"),
                    f"{100 * row['mean_chance']:.0f}%",
                ]
                for row in judged.recalls[:MOST_CAUSES]
            ],
        ),
        "",
        "## What each answer is worth",
        "",
        "Log loss more where the model is fitted and asked without the answer.",
        "",
        *_table(
            ["answer", "given", "lost", "95% interval"],
            [
                [
                    row["answer"].replace("_", " "),
                    f"{100 * row['given']:.0f}%",
                    f"{row['lost']:.3f}",
                    f"{row['low']:.3f} to {row['high']:.3f}",
                ]
                for row in judged.worth
            ],
        ),
        "",
        "## How much more calls would help",
        "",
        *_table(
            ["learned from", "log loss", "95% interval"],
            [
                [f"{row['episodes']:,}", f"{row['log_loss']:.3f}", f"{row['low']:.3f} to {row['high']:.3f}"]
                for row in judged.learning
            ],
        ),
        "",
        "## How it was chosen",
        "",
        *_table(
            ["model", "log loss on later calls", "gain over the simplest", "taken"],
            [
                [
                    row["name"],
                    f"{row['log_loss']:.3f}",
                    ""
                    if row["gain"] is None
                    else f"{row['gain']:.3f} ({row['gain_low']:.3f} to {row['gain_high']:.3f})",
                    "yes" if row["taken"] else "no",
                ]
                for row in judged.tried
            ],
        ),
        "",
        "A gain that may be below 0.02 nats is a tie, and the simpler is taken. None of these calls was "
        "judged on above.",
        "",
        *_orders(judged.orders),
        "## What it can not do",
        "",
        *[f"- {words}" for words in LIMITS],
        "",
    ]
    return "\n".join(lines)


def _orders(orders: Mapping[str, Any]) -> list[str]:
    if not orders:
        return []
    said = {
        "model": "by this model",
        "technicians": "as technicians went, then the best fixed order",
        "fixed": "the best fixed order",
        "clairvoyant": "at least, had one known the cause",
    }
    return [
        "## What its order of checks would save",
        "",
        f"Expected minutes to the fault on {orders['calls']:,} held-out calls with checks recorded, by "
        f"the shares that checks "
        f"found until then; a fault that is missed costs {orders['second_visit_minutes']:.0f} minutes.",
        "",
        *_table(
            ["order", "minutes", "95% interval"],
            [
                [said[name], f"{mean['minutes']:.1f}", f"{mean['low']:.1f} to {mean['high']:.1f}"]
                for name, mean in orders["means"].items()
            ],
        ),
        "",
    ]


def _taken(tried: Sequence[Mapping[str, Any]]) -> Mapping[str, Any]:
    return next(row for row in tried if row["taken"])


def _between(row: Mapping[str, Any], name: str, percent: bool = False) -> str:
    value, low, high = row[name], row[f"{name}_low"], row[f"{name}_high"]
    if percent:
        return f"{100 * value:.1f}% ({100 * low:.1f} to {100 * high:.1f})"
    return f"{value:.3f} ({low:.3f} to {high:.3f})"


def _share(row: Mapping[str, Any], name: str, limits: str | None = None) -> str:
    prefix = limits or name
    return f"{100 * row[name]:.0f}% ({100 * row[f'{prefix}_low']:.0f} to {100 * row[f'{prefix}_high']:.0f})"


def _table(header: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    lines = [header, ["---"] * len(header), *rows]
    return ["| " + " | ".join(line) + " |" for line in lines]
