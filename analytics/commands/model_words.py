"""How good a model of causes is, as text for people."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from analytics.commands.printing import print_table

if TYPE_CHECKING:
    from analytics.causes.evaluation import Evaluation

ORDER_WORDS = {
    "model": "by this model",
    "technicians": "as technicians went",
    "fixed": "the best fixed order",
    "clairvoyant": "had one known the cause",
}


def between(row: Mapping[str, Any], name: str, digits: int = 3) -> str:
    """Write a value with its interval."""
    return f"{row[name]:.{digits}f} ({row[f'{name}_low']:.{digits}f} to {row[f'{name}_high']:.{digits}f})"


def print_evaluation(
    found: "Evaluation", counts: Mapping[str, int] | None, labels: Mapping[str, str]
) -> None:
    """Print an evaluation."""
    if counts:
        print(
            f"Learned from {counts['learned_from']:,} of {counts['mature']:,} strings of returns that "
            f"are old enough: their "
            f"cause is confirmed. Probable only: {counts['probable']:,}; no fault found: "
            f"{counts['no_fault_found']:,}; no "
            f"recognised cause: {counts['not_recognised']:,}."
        )
    print(
        f"Judged on {found.later:,} opened from {found.cut} on, learned from {found.earlier:,} known "
        f"before.\n"
    )
    print_table(
        ["who", "among", "calls", "log loss", "Brier", "first", "among three"],
        [
            [row["who"], row["among"], row["episodes"]]
            + [between(row, name) for name in ("log_loss", "brier", "top1", "top3")]
            for row in found.scores
        ],
    )
    for row in found.gains:
        said = "better" if row["beaten"] else "NOT better"
        print(f"{said} than {row['over']} by {row['gain']:.3f} nats ({row['low']:.3f} to {row['high']:.3f})")
    if found.orders:
        print("\nMinutes of checks to the fault, on held-out calls:")
        print_table(
            ["order", "minutes", "95% interval"],
            [
                [ORDER_WORDS[name], f"{mean['minutes']:.1f}", f"{mean['low']:.1f} to {mean['high']:.1f}"]
                for name, mean in found.orders["means"].items()
            ],
        )
    print("\nWhat each answer is worth (log loss more without it):")
    print_table(
        ["answer", "given", "lost", "95% interval"],
        [
            [
                row["answer"],
                f"{100 * row['given']:.0f}%",
                f"{row['lost']:.3f}",
                f"{row['low']:.3f} to {row['high']:.3f}",
            ]
            for row in found.worth
        ],
    )
    print("\nHow often each cause was found:")
    print_table(
        ["cause", "calls", "named first", "among three"],
        [
            [
                labels.get(row["cause"], row["cause"]),
                row["episodes"],
                f"{100 * row['first']:.0f}%",
                f"{100 * row['among_three']:.0f}%",
            ]
            for row in found.recalls
        ],
    )
