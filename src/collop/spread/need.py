"""How much food is enough: nested needs and the chance of running short.

Need is counted in *meals*: W ounces of raw boneless-equivalent meat in dish style s are
W / need_oz[s] meals, and a group of n eaters of appetite a needs n*a meals on average.

Appetites of eaters are taken as independent with standard deviation ``appetite_cv * a``, so the
need of a set T of groups is about normal with

    mean  mu_T    = sum n a
    sd    sigma_T = cv * sqrt(sum n a^2)

and S meals are enough for T with chance Phi((S - mu_T) / sigma_T).

That every group can be fed from what it may eat is Hall's condition: for every union T of groups,
the supply of offers that someone in T may eat covers the need of T.  Only the largest T of each
neighbourhood is kept, and unions of parts of the table that share no food are left out: they
follow from their parts.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from statistics import NormalDist

from collop.errors import BadValue
from collop.spread.diet import may_eat
from collop.spread.problem import Group, Offer, SpreadProblem

__all__ = [
    "Union",
    "chance_enough",
    "chance_everyone",
    "mean_and_sd",
    "need_meals",
    "planned_meals",
    "unions",
]

_MAX_TABLES = 12
_MICRO = 1_000_000


def mean_and_sd(groups: Sequence[Group], cv: float) -> tuple[Fraction, float]:
    """Return mean and standard deviation of the need of `groups` [meals]."""
    mean = sum((group.meals for group in groups), Fraction(0))
    square = sum(group.count * float(group.appetite) ** 2 for group in groups)
    return mean, cv * math.sqrt(square)


def need_meals(groups: Sequence[Group], cv: float, chance: float) -> Fraction:
    """Return the meals that are enough for `groups` with the stated chance.

    Examples
    --------
    >>> table = [Group("all", 40, Fraction(1), frozenset())]
    >>> float(need_meals(table, 0.0, 0.95)), round(float(need_meals(table, 0.25, 0.95)), 3)
    (40.0, 42.601)
    """
    mean, sd = mean_and_sd(groups, cv)
    if sd == 0:
        return mean
    # rounded up to a millionth of a meal, so that the exact check is never under the real need
    spare = Fraction(math.ceil(NormalDist().inv_cdf(chance) * sd * _MICRO), _MICRO)
    return max(mean + spare, Fraction(0))


def planned_meals(problem: SpreadProblem) -> Fraction:
    """Return the meals that are enough for the whole table with its stated chance."""
    return need_meals(problem.groups, problem.appetite_cv, problem.enough_chance)


def chance_enough(supply: Fraction, groups: Sequence[Group], cv: float) -> float:
    """Return the chance that `supply` meals are enough for `groups`.

    Examples
    --------
    >>> round(chance_enough(Fraction(42), [Group("all", 40, Fraction(1), frozenset())], 0.25), 3)
    0.897
    """
    mean, sd = mean_and_sd(groups, cv)
    if sd == 0:
        return 1.0 if supply >= mean else 0.0
    return NormalDist().cdf(float(supply - mean) / sd)


@dataclass(frozen=True, slots=True)
class Union:
    """A set of groups, the offers at least one of them may eat, and the meals they need.

    Unions of one `part` of the table share offers; different parts share none.
    """

    groups: tuple[Group, ...]
    offers: frozenset[str]
    mean: Fraction
    meals: Fraction
    part: int = 0

    @property
    def name(self) -> str:
        """Return the names of its groups."""
        return " + ".join(group.name for group in self.groups)


def unions(problem: SpreadProblem, offers: Sequence[Offer]) -> tuple[Union, ...]:
    """Return the unions of groups whose need must be covered, part by part of the table.

    Where the table falls into k parts that share no food (those who eat no meat, and the rest),
    each part is planned to the k-th root of the stated chance, so that all parts together keep it.

    Raises
    ------
    BadValue
        If there are more than twelve different tables of don't-eats.
    """
    tables: dict[frozenset[str], list[Group]] = {}
    for group in problem.groups:
        if group.count:
            reach = frozenset(offer.id for offer in offers if may_eat(group, offer))
            tables.setdefault(reach, []).append(group)
    if len(tables) > _MAX_TABLES:
        raise BadValue(
            f"$.groups holds {len(tables)} different don't-eats; at most {_MAX_TABLES} can be "
            "planned at once, join some of them.",
            where="$.groups",
        )
    parts = _parts(list(tables))
    chance = problem.enough_chance ** (1 / len(parts))
    found = [
        Union(
            groups=members,
            offers=reach,
            mean=sum((group.meals for group in members), Fraction(0)),
            meals=need_meals(members, problem.appetite_cv, chance),
            part=number,
        )
        for number, part in enumerate(parts)
        for reach, members in _largest(part, tables).items()
    ]
    return tuple(sorted(found, key=lambda union: (-len(union.offers), union.name)))


def _parts(reaches: Sequence[frozenset[str]]) -> list[list[frozenset[str]]]:
    """Split the tables into parts that share no offer."""
    parts: list[list[frozenset[str]]] = []
    for reach in reaches:
        touching = [part for part in parts if any(reach & other for other in part)]
        parts = [part for part in parts if part not in touching]
        parts.append([other for part in touching for other in part] + [reach])
    return parts


def _largest(
    part: Sequence[frozenset[str]], tables: Mapping[frozenset[str], Sequence[Group]]
) -> dict[frozenset[str], tuple[Group, ...]]:
    """Return the largest set of groups for each neighbourhood within one part."""
    found: dict[frozenset[str], tuple[Group, ...]] = {}
    for pick in range(1, 1 << len(part)):
        chosen = [reach for bit, reach in enumerate(part) if pick >> bit & 1]
        neighbourhood = frozenset[str]().union(*chosen)
        found[neighbourhood] = tuple(
            group for reach in part if reach <= neighbourhood for group in tables[reach]
        )
    return found


def chance_everyone(chances: Sequence[tuple[Union, float]]) -> float:
    """Return a lower bound of the chance that no group runs short.

    Parts of the table are independent, so their chances multiply; within a part the chances of
    running short are added, whatever ties them together.
    """
    total = 1.0
    for part in {union.part for union, _ in chances}:
        short = sum(1 - chance for union, chance in chances if union.part == part)
        total *= max(0.0, 1 - short)
    return total
