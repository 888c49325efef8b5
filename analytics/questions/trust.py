"""What a model of causes is for, and what it can not do: the words of its card."""

USE = (
    "It tells the likely causes of a fault on the ice and water side of a refrigerator from what is known "
    "when the telephone rings, so that questions, checks and parts can be put in order. It is an aid to a "
    "qualified technician, who looks with their own eyes; the maker's service sheet comes first. It is not "
    "made to judge people, customers or makers, nor to refuse a visit."
)
LIMITS = (
    "It learned from calls whose cause was confirmed by a check that reveals it, or by one part alone that "
    "was fitted and held. Causes that are hard to confirm are rarer among them than among all calls; calls "
    "whose cause is only probable are judged apart.",
    "It knows the causes of its catalogue, and nothing beyond them. Causes of fewer than 30 confirmed calls "
    "are learned together and told apart by their shares alone.",
    "Checks were made because their cause was suspected; how often they find it holds where they would be "
    "made again.",
    "What is true of these households, makes and technicians may not be true of others: fit it on your own "
    "records.",
)
