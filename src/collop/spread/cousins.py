"""Cost per serving, and the neighbours a customer would have asked for.

A serving is one portion of the dish style: what a guest eats of it, not a pound.  A price per
pound never ranks anything here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from collop.measures import Money, Rounding, round_fraction
from collop.reference import ChickenPart, chicken_parts, cite
from collop.spread.diet import anyone_eats
from collop.spread.options import Option
from collop.spread.plan import Cousin
from collop.spread.problem import Offer, SpreadProblem

__all__ = [
    "BirdAgainstParts", "bird_against_parts", "cousins", "cousins_of", "serving_cost",
    "usual_style",
]  # fmt: skip

_MOST = 4


def serving_cost(problem: SpreadProblem, offer: Offer, style: str) -> Money:
    """Return the cost of one portion of `offer` in a dish style, rounded once.

    Price per pound / 16 / boneless fraction x portion.  `offer.boneless` must not be zero.
    """
    exact = _exact_serving(problem, offer, style)
    return Money(round_fraction(exact, problem.rounding), problem.currency)


def _exact_serving(problem: SpreadProblem, offer: Offer, style: str) -> Fraction:
    cost: Fraction = offer.price.minor / 16 / offer.boneless * problem.portion_oz[style]
    return cost


def usual_style(offer: Offer) -> str:
    """Return how the cut is usually eaten: a plate if it can be, else its first style."""
    return "plate" if "plate" in offer.eating else next(iter(offer.eating))


def cousins(problem: SpreadProblem, option: Option) -> tuple[Cousin, ...]:
    """Return the neighbours of a line of a spread; see `cousins_of`."""
    return cousins_of(problem, option.offer, option.style)


def cousins_of(problem: SpreadProblem, own: Offer, own_style: str) -> tuple[Cousin, ...]:
    """Return the neighbours of a cut: the obvious one first, then dearer, then cheaper ones.

    A neighbour is of the same species and suits the same role or dish style.  The obvious one is
    what the shop says customers ask for by habit (`Offer.neighbour`), or else the nearest dearer
    one by price.
    """
    near = [
        offer
        for offer in problem.offers
        if offer.id != own.id
        and offer.species == own.species
        and offer.boneless
        and offer.eating
        and (offer.slots & own.slots or set(offer.eating) & set(own.eating))
    ]
    if own.neighbour is not None:
        near += [o for o in problem.offers if o.id == own.neighbour and o.boneless and o.eating]
    own_cost = serving_cost(problem, own, own_style)
    # nothing is spoken of that nobody at this table eats
    found = {
        offer.id: _cousin(problem, (own, own_style), own_cost, offer)
        for offer in near
        if anyone_eats(problem.groups, offer)
    }
    return tuple(
        sorted(
            found.values(),
            key=lambda c: (c.offer_id != own.neighbour, c.less_per_lb.minor <= 0,
                           abs(c.less_per_lb.minor), c.offer_id),
        )[:_MOST]
    )  # fmt: skip


def _cousin(
    problem: SpreadProblem, own: tuple[Offer, str], own_cost: Money, other: Offer
) -> Cousin:
    offer, own_style = own
    style = own_style if own_style in other.eating else usual_style(other)
    cost = serving_cost(problem, other, style)
    own_lb = _per_lb(problem, offer)
    per_lb = _per_lb(problem, other)
    less = cost - own_cost
    percent = round_fraction(Fraction(100 * less.minor, cost.minor)) if cost.minor else 0
    return Cousin(other.id, other.name, per_lb, style, cost, per_lb - own_lb, less, percent)


def _per_lb(problem: SpreadProblem, offer: Offer) -> Money:
    return Money(round_fraction(offer.price.minor, Rounding.HALF_UP), problem.currency)


@dataclass(frozen=True, slots=True)
class BirdAgainstParts:
    """What the parts of one whole bird would cost at their own prices.

    Attributes
    ----------
    bird, parts : Money
        Price of the bird, and of the same weight of parts priced as parts.
    priced_share : Fraction
        Share of the bird's weight that the priced parts make, 0 to 1.
    rest_per_lb : Money
        What the remaining weight of the bird costs per pound once the priced parts are taken at
        their own price; negative if the parts alone cost more than the bird.
    source : str
        Where the shares of the parts come from.
    """

    bird: Money
    parts: Money
    priced_share: Fraction
    rest_per_lb: Money
    source: str


def bird_against_parts(
    bird_lb: Fraction,
    bird_price: Fraction,
    part_prices: Iterable[tuple[str, Fraction]],
    *,
    currency: str = "USD",
) -> BirdAgainstParts:
    """Compare a whole chicken with its parts by the published shares of a ten-bird study.

    Parameters
    ----------
    bird_lb : Fraction
        Weight of the bird [lb].
    bird_price : Fraction
        Price of the whole bird [minor units/lb].
    part_prices : iterable of (part, price)
        ``breast``, ``drumstick``, ``thigh`` or ``wing`` with its price [minor units/lb].
    currency : str
        Of all prices.

    References
    ----------
    .. [1] Source id ``FSANZCHK``: half carcass 756 g = breast 310 + drumstick 125 + thigh with
       back 232 + wing 89.
    """
    rows = chicken_parts("CHICKEN_HALF_1998", kind="part")
    whole = sum((_grams(row) for row in rows), Fraction(0))
    shares = {_part_word(row.part): _grams(row) / whole for row in rows}
    money, taken = Fraction(0), Fraction(0)
    for part, price in part_prices:
        money += shares[part] * bird_lb * price
        taken += shares[part]
    bird = bird_lb * bird_price
    rest = (bird - money) / ((1 - taken) * bird_lb) if taken < 1 else Fraction(0)
    return BirdAgainstParts(
        Money(round_fraction(bird), currency),
        Money(round_fraction(money), currency),
        taken,
        Money(round_fraction(rest), currency),
        cite(rows[0]),
    )


def _grams(row: ChickenPart) -> Fraction:
    assert row.weight is not None  # every row of this table was weighed
    return Fraction(row.weight.low)


def _part_word(part: str) -> str:
    return next(word for word in ("breast", "drumstick", "thigh", "wing") if word in part)
