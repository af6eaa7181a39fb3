"""Cards for learning today's case, with the cousins the spread would name."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from collop.carcass.cards import Card, CardLine, cards_of
from collop.measures import Weight, WeightUnit
from collop.shop.offers import offers_of
from collop.spread.cousins import cousins_of, serving_cost, usual_style
from collop.spread.reading import SCHEMA_ID, read_problem

if TYPE_CHECKING:
    from collop.shop.front import Shop
    from collop.shop.model import CaseLine

__all__ = ["cards"]

_SOME = Weight.of(1, WeightUnit.LB)
#: A table that eats everything: whoever learns the case asks for nobody's don't-eats.
_ANYBODY = [{"name": "eaters", "count": 10}]


def cards(shop: Shop) -> tuple[Card, ...]:
    """Return a card for each line of today's case of which anything can be asked.

    Parameters
    ----------
    shop : Shop
        Opened; nothing is written.
    """
    lines = shop.case()
    near = _cousins(lines, shop.settings().currency)
    return cards_of(_line(one, *near.get(one.id, ("", ""))) for one in lines)


def _line(line: CaseLine, cousin: str, reason: str) -> CardLine:
    cook = line.cook
    return CardLine(
        id=line.id, name=line.name, species=line.species,
        form=(cook.form or "") if cook else "", role=line.slots[0] if line.slots else "",
        carve=cook.carve if cook else "", cousin=cousin, cousin_reason=reason,
    )  # fmt: skip


def _cousins(lines: tuple[CaseLine, ...], currency: str) -> dict[str, tuple[str, str]]:
    """Return the nearest neighbour of each line, and what a serving of both costs."""
    # whoever learns looks at the cuts, so a line counts whether or not any of it is free today
    offers = offers_of(replace(one, cook=None, free=_SOME, piece_lb=None) for one in lines)
    if not offers:
        return {}
    problem = read_problem(
        {"schema": SCHEMA_ID, "currency": currency, "groups": _ANYBODY, "offers": offers}
    )
    found = {}
    for offer in problem.offers:
        style = usual_style(offer)
        near = next(iter(cousins_of(problem, offer, style)), None)
        if near is not None:
            own, other = serving_cost(problem, offer, style), near.serving_cost
            found[offer.id] = near.name, f"A serving costs {own}; a serving of the cousin {other}."
    return found
