"""Who may eat what: species, casing and allergen at any depth of a batch."""

from __future__ import annotations

from collections.abc import Iterable

from collop.fire.ruling import MEAT_FREE_SPECIES
from collop.spread.problem import Avoid, Group, Offer

__all__ = ["CASING_SPECIES", "MEAT_FREE_SPECIES", "anyone_eats", "may_eat", "why_not"]

#: Animal a casing comes from; common practice of the trade, no published source.  A collagen
#: casing may be of cattle or pigs, so it counts as both until the shop knows better.
CASING_SPECIES: dict[str, tuple[str, ...]] = {
    "hog": ("pork",),
    "sheep": ("lamb",),
    "lamb": ("lamb",),
    "goat": ("goat",),
    "beef": ("beef",),
    "collagen": ("beef", "pork"),
    "cellulose": (),
    "plant": (),
}


def casing_tags(casing: str) -> Iterable[Avoid]:
    """Yield what a casing is made of; an unknown casing counts as meat."""
    yield Avoid("casing", casing)
    species = CASING_SPECIES.get(casing)
    if species is None or species:
        yield Avoid("meat")
    for animal in species or ():
        yield Avoid("species", animal)


def may_eat(group: Group, offer: Offer) -> bool:
    """Tell whether an offer feeds a group.

    Those who eat no meat are fed by meat-free food only; meat-free food never counts towards the
    need of those who eat meat, although nobody stops them from tasting it.
    """
    eats_meat = Avoid("meat") not in group.avoids
    if eats_meat == offer.is_meat_free:
        return False
    return not (group.avoids & offer.tags)


def anyone_eats(groups: Iterable[Group], offer: Offer) -> bool:
    """Tell whether an offer feeds somebody of these groups."""
    return any(may_eat(group, offer) for group in groups if group.count)


def why_not(group: Group, offer: Offer) -> tuple[Avoid, ...]:
    """Return the group's avoids that the offer runs into, in a fixed order."""
    return tuple(sorted(group.avoids & offer.tags))
