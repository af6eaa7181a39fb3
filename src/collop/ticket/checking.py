"""Checking a product before its ticket is printed: contradictions refused, the rest told."""

from __future__ import annotations

import re
from dataclasses import dataclass

from collop.errors import BadValue, Contradiction
from collop.fire.ruling import ruling_cook_as
from collop.reference.limits import CookMinimum, cook_minimum
from collop.rules.labelling import Product, cited
from collop.rules.labelling_allergens import (
    Declared,
    check_ingredients,
    check_name_and_species,
    declared,
)
from collop.rules.labelling_animals import check_animals
from collop.rules.labelling_cautions import claim_cautions, nutrition_cautions
from collop.rules.labelling_dates import check_dates, date_cautions
from collop.rules.labelling_lean import check_lean_and_fat, fat_cautions
from collop.rules.labelling_names import check_class, check_name
from collop.rules.labelling_origin import origin_cautions, origin_words

__all__ = ["COOK_RULE", "Checked", "check_product"]

#: The row of home cooking behind each way a piece is made up.
COOK_RULE = {"whole": "SF055", "ground": "SF056", "poultry": "SF057"}
_ORDER = ("none", "whole", "ground", "poultry")
# species that the rows of minimums name, with their other names; goat and venison are common
# practice, no published source
_KNOWN = frozenset({
    "beef", "veal", "ox", "cow", "cattle", "bullock", "calf", "pork", "pig", "hog", "swine",
    "lamb", "mutton", "hogget", "sheep", "goat", "kid", "chevon", "venison", "deer", "and", "with",
})  # fmt: skip
# no row names these, and advice for kitchens at home is stricter: from memory, not checked
_GAME = frozenset({"venison", "deer", "rabbit", "hare"})
# opened meat is no intact piece: its outside may be inside
_OPENED = re.compile(
    r"\b(rolled|stuffed|injected|larded|tumbled|swissed|cubed? steaks?|minute steaks?|"
    r"steaks?, cubed)\b"
)


@dataclass(frozen=True, slots=True)
class Checked:
    """What the checks found.

    Parameters
    ----------
    declared : tuple of Declared
        Allergens of the label.
    origin : str
        Words of origin, empty if none.
    cook_as : str
        Which minimum rules; ``none`` if none does.
    least : CookMinimum or None
        That minimum.
    cautions : tuple of str
        What to heed; nothing in it blocks the ticket.
    """

    declared: tuple[Declared, ...]
    origin: str
    cook_as: str
    least: CookMinimum | None
    cautions: tuple[str, ...]


def check_product(product: Product) -> Checked:
    """Check everything of a product that its label rests on.

    Raises
    ------
    BadValue
        Or its kind Contradiction: the first thing that may not be printed so.
    """
    check_class(product)
    check_animals(product)
    check_name(product)
    check_lean_and_fat(product)
    check_dates(product)
    found = declared(product.contains)
    check_name_and_species(product.name, product.species, found, casing=product.casing or "")
    cautions = [*check_ingredients(product.ingredients, found)]
    origin = origin_words(product)
    ruled = _ruled(product)
    if product.cook_as and product.cook_as != ruled:
        cautions.append(
            f"It was said to be cooked as {product.cook_as}; the ticket says the minimum for "
            f"{ruled} {cited(COOK_RULE[ruled])}."
        )
    if ruled != "none" and not _is_known(product):
        cautions.append(
            f"No published minimum names {product.species}; that for {ruled} is printed, as told."
        )
    if ruled == "whole" and _GAME & set(re.split(r"[ -]+", product.species.casefold())):
        cautions.append(
            f"Advice for kitchens at home may ask 160 F of {product.species} (from memory, not "
            "checked); say cook_as ground to print it."
        )
    for more in (fat_cautions, date_cautions, origin_cautions, nutrition_cautions, claim_cautions):
        cautions += more(product)
    return Checked(
        declared=found,
        origin=origin,
        cook_as=ruled,
        least=None if ruled == "none" else cook_minimum(ruled),
        cautions=tuple(cautions),
    )


def _is_known(product: Product) -> bool:
    """Tell whether the species is a bird or one that the rows of minimums name."""
    words = set(re.split(r"[ -]+", product.species.casefold()))
    return words <= _KNOWN or ruling_cook_as(product.species, "whole") == "poultry"


def _of_unknown(product: Product, told: str | None) -> str | None:
    """Return how an animal is cooked that no row names: as it was told, or refuse to guess."""
    if product.cook_as is None:
        raise BadValue(
            f"$.product.species is {product.species!r}, for which no minimum is known here; say in "
            "cook_as whether it is cooked as whole, ground or poultry.",
            where="$.product.cook_as",
        )
    return told


def _ruled(product: Product) -> str:
    """Return which minimum rules; what is known only ever raises it."""
    if not product.is_raw:
        return "none"
    told = product.cook_as
    if product.product_class in ("raw ground", "raw sausage"):
        told = max(told or "ground", "ground", key=_ORDER.index)
    opened = "rolled" if _OPENED.search(product.name.casefold()) else "whole"
    treatment = "tenderised" if product.tenderised != "no" else opened
    if not _is_known(product):
        told = _of_unknown(product, told)
    ruled = ruling_cook_as(
        product.species, told, treatment=treatment, casing=product.casing, name=product.name
    )
    if product.product_class == "raw whole":
        by_name = ruling_cook_as(product.species, None, name=product.name)
        if by_name == "ground":
            raise Contradiction(
                f"The name {product.name!r} says that it is ground, but its class is raw whole; "
                "correct one of the two.",
                where="$.product.class",
            )
    return ruled
