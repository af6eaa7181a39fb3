"""How much dry salt a piece takes, and when it is put on.

The range is from memory, no published source, but for turkey; so is the lead time. Grams and ounces
only: the one published figure in spoons is misprinted, at several times too much, and it takes two
spoons of coarse salt for one of fine (source id ``BRINE_RT``).

References
----------
.. [1] How much salt per pound for turkey: 0.5-1 % of the raw weight. Source id ``DRYBRINE_WEB``.
.. [2] Comment of a cook: salt goes in 1-1.5 cm in 24 h. Source id ``SALT_PEN``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from fractions import Fraction

from collop.errors import BadValue
from collop.fire.clocks import check_form, form_of
from collop.fire.clocks_thaw import moment_before
from collop.fire.problem import FireItem
from collop.measures import Weight, WeightUnit
from collop.measures.weight import decimal_of
from collop.reference.keepings import salt_share

__all__ = ["FROM_MEMORY_WORDS", "LEAD_H", "Salt", "salt_plan", "takes_salt"]

#: How a recalled figure is marked where people read it.
FROM_MEMORY_WORDS = "from memory, no published source"
#: Shortest and longest time between salt and fire [h]; from memory, no published source.
LEAD_H = {
    "roast": (24, 72), "bird-flat": (24, 72), "bird-whole": (24, 72),
    "steak": (1, 24), "thin": (1, 24), "joint": (1, 24), "skewer": (1, 24),
}  # fmt: skip
# what is salted, cured or dressed already, by its name
_DRESSED = (
    r"salted|cured|brined|smoked|bacon|ham|gammon|corned|pastrami|marinated|marinade|rubbed|rub|"
    r"seasoned|soy|yoghurt|yogurt|links?|sausages?|mince|minced|patty|patties|burgers?|ground"
)


@dataclass(frozen=True, slots=True)
class Salt:
    """Dry salt for one item.

    Attributes
    ----------
    grams, least_g, most_g : Decimal
        The usual amount and its range, whole grams [g].
    ounces : Decimal
        The usual amount to a tenth [oz].
    percent : Decimal
        Usual share of the raw weight [%].
    earliest, latest : datetime
        Between these it is put on.
    at : datetime or None
        When to put it on; None if there is no time for it to go in: then as it goes on the fire.
    source : str
        Where the range comes from; says so if it is from memory.
    """

    grams: Decimal
    least_g: Decimal
    most_g: Decimal
    ounces: Decimal
    percent: Decimal
    earliest: datetime
    latest: datetime
    at: datetime | None
    source: str


def takes_salt(item: FireItem) -> bool:
    """Tell whether an item may be salted ahead.

    Not food without meat, mince, links, injected meat, bones for the pot, what is cured, brined or
    marinated by its name, nor meat that declares an allergen: something was put on it.
    """
    return not (
        item.cook_as == "none"
        or item.treatment in {"injected", "ground"}
        or item.method == "pot"
        or item.allergens
        or form_of(item) not in LEAD_H
        or re.search(rf"\b({_DRESSED})\b", item.name.casefold())
    )


def salt_plan(
    weight: Weight,
    form: str,
    species: str | None,
    put_on_at: datetime,
    *,
    from_at: datetime | None = None,
) -> Salt:
    """Return how much dry salt, and when.

    Parameters
    ----------
    weight : Weight
        Raw weight of all that is salted.
    form : str
        One of the keys of `LEAD_H`.
    species : str or None
        Turkey has a published range.
    put_on_at : datetime
        When it goes on the fire.
    from_at : datetime or None
        Earliest moment it can be salted: now, or when it is thawed; None if not known.

    Raises
    ------
    BadValue
        If there is nothing to salt, or meat of that form is not salted ahead.

    Examples
    --------
    >>> lamb = Weight.of("8.2", WeightUnit.LB)
    >>> salt = salt_plan(lamb, "roast", "lamb", datetime(2026, 6, 13, 17))
    >>> str(salt.grams), str(salt.ounces), f"{salt.at:%d %H:%M}"
    ('37', '1.3', '12 17:00')
    """
    check_form(form)
    if form not in LEAD_H:
        raise BadValue(f"Meat of the form {form!r} is not salted ahead; leave it as it is.")
    if weight.count <= 0:
        raise BadValue(f"{weight.text()} takes no salt; give the raw weight.")
    share = salt_share(species)
    low_h, high_h = LEAD_H[form]
    latest, earliest = moment_before(put_on_at, low_h * 60), moment_before(put_on_at, high_h * 60)
    # at the short end, so that a plan made the day before can still be kept
    at = latest if from_at is None or from_at <= latest else None

    def amount(percent: Decimal, unit: WeightUnit, places: int) -> Decimal:
        return decimal_of(weight.exact(unit) * Fraction(percent) / 100, places)

    cited = share.row.is_cited
    return Salt(
        grams=amount(share.usual, WeightUnit.G, 0),
        least_g=amount(share.low, WeightUnit.G, 0),
        most_g=amount(share.high, WeightUnit.G, 0),
        ounces=amount(share.usual, WeightUnit.OZ, 1),
        percent=share.usual,
        earliest=earliest,
        latest=latest,
        at=at,
        source=share.row.citation() if cited else FROM_MEMORY_WORDS,
    )
