"""What one more of a cut is worth by the newest cutting plan, beside what the board asks for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from collop.bench.reading_case import USUAL_ELASTICITY
from collop.measures import UnitPrice, Weight, WeightUnit
from collop.shop.bench_worth import worth_sold

if TYPE_CHECKING:
    from collop.shop import Shop
    from collop.web.rendering import Shown

__all__ = ["LineWorth", "PlanWorths", "plan_worths"]

#: Worth under this share of the price: selling the cut helps the shop much.
LOW_SHARE = Fraction(1, 2)
#: What is over is told from this weight on [lb]; less is a trifle.
LEAST_OVER_LB = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class LineWorth:
    """One line of the plan, looked at on one day.

    Parameters
    ----------
    day : date
        Day of the plan.
    worth : UnitPrice
        Of one more legal unit that comes in that day.
    elsewhere : UnitPrice
        What a legal unit that is sold for that day would bring otherwise.
    off, left : Weight
        Over by the plan's last day: what does not sell at the board's price (what a lower price
        sells more, ground, past its days), and what is still there, sound, when the plan ends.
    name : str
        Of the cut, as it stands in a sentence.
    last : date
        The plan's last day.
    """

    day: date
    worth: UnitPrice
    elsewhere: UnitPrice
    off: Weight
    left: Weight
    name: str
    last: date

    @property
    def over(self) -> Weight:
        """Return all that is over what sells at the board's price."""
        return self.off + self.left

    def is_low(self, price: UnitPrice) -> bool:
        """Tell whether it is worth less than half its price elsewhere."""
        return _per_lb(self.elsewhere) < LOW_SHARE * _per_lb(price)

    def helps(self, price: UnitPrice) -> bool:
        """Tell whether selling it helps much: it is low, or the plan sells part of it off."""
        is_under = _per_lb(self.elsewhere) < _per_lb(price)
        return self.is_low(price) or (is_under and _is_told(self.off))

    def why(self, price: UnitPrice, show: Shown) -> str:
        """Return in one sentence why selling it helps; empty if it does not help much."""
        if not self.helps(price):
            return ""
        worth, asks = show.price(self.elsewhere), show.price(price)
        if _is_told(self.over):
            return (
                f"{self._over(show)} more than sells at the board by {self.last:%a}: it is worth"
                f" {worth} elsewhere, the board asks {asks}."
            )
        return f"It is worth {worth} elsewhere, the board asks {asks}."

    def hint(self, price: UnitPrice, show: Shown) -> str:
        """Return in one sentence that the price is far over the worth while weight is over."""
        if not (self.is_low(price) and _is_told(self.over)):
            return ""
        return (
            f"{self._over(show)} is over what sells at {show.price(price)} by {self.last:%a}, and"
            f" it is worth {show.price(self.elsewhere)} elsewhere: a lower price may move it."
        )

    def _over(self, show: Shown) -> str:
        return f"{show.weight(self.over)} of {self.name}"


@dataclass(frozen=True, slots=True)
class PlanWorths:
    """The worths of the newest plan on one day.

    Parameters
    ----------
    number : int
        Of the plan.
    at : datetime
        When it was made, shop-local.
    lines : mapping of str to LineWorth
        By case line; lines that the plan does not know are not in it.
    """

    number: int
    at: datetime
    lines: Mapping[str, LineWorth]

    def line(self, case_id: str) -> LineWorth | None:
        """Return a line, None if the plan does not know it."""
        return self.lines.get(case_id)

    def why(self, case_id: str, price: UnitPrice | str, show: Shown) -> str:
        """Return why selling a line helps much, empty if not; a price as text is per pound."""
        found = self.lines.get(case_id)
        if found is None:
            return ""
        asked = price if isinstance(price, UnitPrice) else UnitPrice.of(price, WeightUnit.LB)
        return found.why(asked, show)


def plan_worths(shop: Shop, on: date, number: int | None = None) -> PlanWorths | None:
    """Return the worths of a kept plan.

    Parameters
    ----------
    shop : Shop
        The open shop.
    on : date
        Day of use; outside the plan, its nearest day.
    number : int, optional
        Of the plan, by default the newest.

    Returns
    -------
    PlanWorths or None
        None without a plan, or if its days are over.
    """
    kept = shop.bench.latest(number)
    if kept is None:
        return None
    days = [date.fromisoformat(day) for day in kept.plan["days"]]
    if days[-1] < shop.now().date():
        return None
    at = min(len(days) - 1, max(0, (on - days[0]).days))
    asked = {cut["id"]: cut for cut in kept.problem["cuts"]}
    unit, currency = WeightUnit(kept.plan["unit"]), str(kept.plan["currency"])

    def price(amount: Decimal) -> UnitPrice:
        # below zero it is in the way: nothing can be had for it
        return UnitPrice(max(amount, Decimal(0)), unit, currency)

    lines = {
        cut["id"]: LineWorth(
            days[at], price(Decimal(cut["worth"][at])), price(worth_sold(cut, at)),
            _off(cut, asked[cut["id"]].get("elasticity"), unit), Weight.of(cut["left"], unit),
            _in_sentence(cut["name"], asked[cut["id"]].get("species")), days[-1],
        )
        for cut in kept.plan["cuts"]
    }  # fmt: skip
    return PlanWorths(kept.number, kept.at, lines)


def _off(cut: Mapping[str, Any], elasticity: object, unit: WeightUnit) -> Weight:
    """Return what does not sell at the board's price.

    A weight w sold at a share r of the price would have been w x r^elasticity at the whole price;
    only the rest is over.
    """
    answers = float(USUAL_ELASTICITY if elasticity is None else str(elasticity))
    found = Weight.of(cut["ground"], unit) + Weight.of(cut["spoilt"], unit)
    for part in (part for one in cut["days"] for part in one["at"]):
        more = 1 - min(1.0, float(part["step"]) ** answers)
        found += Weight.of(f"{float(part['weight']) * more:.3f}", unit)
    return found


def _in_sentence(name: str, species: object) -> str:
    """Return a name's first part, its animal in small letters.

    Examples
    --------
    >>> _in_sentence("Lamb leg, bone in", "lamb")
    'lamb leg'
    >>> _in_sentence("Denver cut", "beef")
    'Denver cut'
    """
    name = name.partition(",")[0]
    starts = bool(species) and name.casefold().startswith(str(species).casefold())
    return name[:1].lower() + name[1:] if starts else name


def _per_lb(price: UnitPrice) -> Fraction:
    return Fraction(price.amount) / Weight.of(1, price.per).exact(WeightUnit.LB)


def _is_told(weight: Weight) -> bool:
    return weight.exact(WeightUnit.LB) >= LEAST_OVER_LB
