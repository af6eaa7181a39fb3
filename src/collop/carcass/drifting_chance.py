"""Whether groups differ: one-way analysis of variance, contrasts with intervals, and shrinkage.

With groups j of n_j values each, N values in G groups, all of one spread sigma:

    sigma^2 = sum (y_ij - mean_j)^2 / (N - G)
    difference of group j from the others together: d = mean_j - mean_rest
    interval: d +- t(1 - a/2; N - G) sigma sqrt(1/n_j + 1/(N - n_j))
    spread between groups: tau^2 = max(0, (MSB - sigma^2) / n0),
        MSB = sum n_j (mean_j - mean)^2 / (G - 1),  n0 = (N - sum n_j^2 / N) / (G - 1)
    best guess of group j: b_j (mean_j - mu), b_j = tau^2 / (tau^2 + sigma^2 / n_j),
        mu = the mean of the group means weighted by 1 / (tau^2 + sigma^2 / n_j)

References
----------
.. [1] One-way analysis of variance, its contrasts and its moment estimate of the spread between
   groups: standard textbook forms, quoted from memory; tests hold them against scipy.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

__all__ = ["Contrast", "Groups", "contrasts", "degrees_of_freedom"]

Groups = Mapping[str, Sequence[float]]


@dataclass(frozen=True, slots=True)
class Contrast:
    """One group against the others together; all figures in the unit of the values.

    `low` and `high` bound the difference at the level asked for; `best_guess` is how far the
    group is from the usual of all groups, drawn towards nothing as far as chance may have it.
    """

    group: str
    count: int
    others: int
    mean: float
    others_mean: float
    low: float
    high: float
    best_guess: float

    @property
    def difference(self) -> float:
        """Return the mean of the group less that of the others."""
        return self.mean - self.others_mean


def degrees_of_freedom(groups: Groups) -> int:
    """Return how many values tell the spread: values less groups; 0 if one group stands alone."""
    if len(groups) < 2:
        return 0
    return sum(len(one) for one in groups.values()) - len(groups)


def _mean(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values)


def _within(groups: Groups) -> float:
    """Return the spread within groups, as a variance."""
    means = {name: _mean(values) for name, values in groups.items()}
    squares = math.fsum(
        (value - means[name]) ** 2 for name, values in groups.items() for value in values
    )
    return squares / degrees_of_freedom(groups)


def _between(groups: Groups, within: float) -> float:
    """Return the spread between groups, as a variance, by the method of moments."""
    sizes = [len(values) for values in groups.values()]
    whole = sum(sizes)
    grand = _mean([value for values in groups.values() for value in values])
    between = math.fsum(len(one) * (_mean(one) - grand) ** 2 for one in groups.values())
    effective = (whole - sum(size * size for size in sizes) / whole) / (len(sizes) - 1)
    return max(0.0, (between / (len(sizes) - 1) - within) / effective)


def _guesses(groups: Groups, within: float) -> dict[str, float]:
    """Return each group's best guess: its distance from the usual, shrunk."""
    tau = _between(groups, within)
    if not tau:
        return dict.fromkeys(groups, 0.0)
    spread = {name: tau + within / len(values) for name, values in groups.items()}
    weight = math.fsum(1 / one for one in spread.values())
    usual = math.fsum(_mean(groups[name]) / one for name, one in spread.items()) / weight
    return {name: tau / spread[name] * (_mean(groups[name]) - usual) for name in groups}


def contrasts(groups: Groups, level: float) -> list[Contrast]:
    """Compare each group with the others together.

    Parameters
    ----------
    groups : mapping of str to sequence of float
        Values by group; two groups or more, and one value more than groups at least.
    level : float
        Chance that one interval holds the true difference, 0 to 1.

    Returns
    -------
    list of Contrast
        In the order of the groups.
    """
    from scipy.special import stdtrit  # noqa: PLC0415 -- heavy, only needed with groups

    within, free = _within(groups), degrees_of_freedom(groups)
    quantile = float(stdtrit(free, (1 + level) / 2))
    guesses = _guesses(groups, within)
    found = []
    for name, values in groups.items():
        rest = [value for other, some in groups.items() if other != name for value in some]
        half = quantile * math.sqrt(within * (1 / len(values) + 1 / len(rest)))
        mean, others = _mean(values), _mean(rest)
        found.append(
            Contrast(name, len(values), len(rest), mean, others, mean - others - half,
                     mean - others + half, guesses[name])
        )  # fmt: skip
    return found
