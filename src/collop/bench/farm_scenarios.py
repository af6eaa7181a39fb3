"""The weeks that may come: what each cut would sell at the board price, and with what chance.

A drawn week has one factor that all cuts share (weather, the town) and one of each cut's own, both
lognormal with a mean of 1.  Over the drawn weeks each cut's factors are scaled to a mean of 1, so
that few draws do not shift what a usual week sells.
"""

from __future__ import annotations

import math
from fractions import Fraction

from collop.bench.farm_problem import Drawn, FarmCut, FarmProblem, Listed, Scenario

__all__ = ["index_of", "scenarios_of"]

_PLACES = 6


def index_of(problem: FarmProblem, cut: FarmCut) -> Fraction:
    """Return the product of every season and holiday figure that touches a cut."""
    found = Fraction(1)
    for one in problem.seasons:
        if one.what in (cut.id, cut.species, "all"):
            found *= one.index
    return found


def scenarios_of(problem: FarmProblem) -> tuple[Scenario, ...]:
    """Return the weeks that are reckoned with; their chances sum to 1 exactly.

    Returns
    -------
    tuple of Scenario
        In `wants`, by cut: usual week x season x the factor of that week, exact.
    """
    base = {cut.id: cut.week * index_of(problem, cut) for cut in problem.cuts.values()}
    if isinstance(problem.scenarios, Drawn):
        factors = _drawn(problem.scenarios, tuple(problem.cuts.values()))
        chance = Fraction(1, problem.scenarios.count)
        return tuple(
            Scenario(str(at + 1), chance, {cut: base[cut] * row[cut] for cut in base})
            for at, row in enumerate(factors)
        )
    return tuple(
        Scenario(
            one.name,
            one.chance,
            {cut.id: base[cut.id] * _factor(one, cut) for cut in problem.cuts.values()},
        )
        for one in problem.scenarios
    )


def _factor(scenario: Listed, cut: FarmCut) -> Fraction:
    found = Fraction(1)
    for what in dict.fromkeys((cut.id, cut.species, "all")):
        found *= scenario.factors.get(what, 1)
    return found


def _drawn(drawn: Drawn, cuts: tuple[FarmCut, ...]) -> list[dict[str, Fraction]]:
    import numpy as np  # noqa: PLC0415 -- heavy, and a listed week does not need it

    normal = np.random.Generator(np.random.PCG64(drawn.seed)).standard_normal(
        (drawn.count, 1 + len(cuts))
    )
    found: list[dict[str, Fraction]] = [{} for _ in range(drawn.count)]
    for at, cut in enumerate(cuts):
        factors = [
            _lognormal(float(row[0]), drawn.common_cv) * _lognormal(float(row[at + 1]), cut.cv)
            for row in normal
        ]
        mean = math.fsum(factors) / drawn.count
        for row, factor in zip(found, factors, strict=True):
            row[cut.id] = Fraction(round(factor / mean * 10**_PLACES), 10**_PLACES)
    return found


def _lognormal(normal: float, cv: Fraction) -> float:
    """Return a factor with mean 1 and standard deviation `cv`, of a standard normal draw."""
    variance = math.log1p(float(cv) ** 2)
    return math.exp(math.sqrt(variance) * normal - variance / 2)
