"""Animals that a name or an ingredient tells of, against the species and the class.

A name that tells another animal would be printed with that animal's cooking line, and raw or
meaty goods in the wrong class would lack the safe-handling block. Which words tell an animal, and
which cuts only sound like one, is common practice, no published source.
"""

from __future__ import annotations

import re

from collop.errors import Contradiction
from collop.rules.labelling import Product, cited

__all__ = ["check_animals"]

_FAMILY = {
    "cattle": "beef|veal|ox|oxtail|cow|cattle|bullock|steer|calf",
    "pig": "pork|pig|hog|swine",
    "sheep": "lamb|mutton|hogget|sheep",
    "goat": "goat|kid|chevon",
    "deer": "venison|deer",
    "chicken": "chicken|hen|capon|poussin|cockerel",
    "turkey": "turkey",
    "duck": "duck|duckling",
    "goose": "goose",
    "rabbit": "rabbit",
}
# cuts and ways of cooking with the name of an animal they are not of, and what only tastes of it
_SOUNDS = re.compile(
    r"\bchicken[ -](fried|steak)\b|\bgoose skirt\b|\bhog (casings?|ring)\b|"
    r"\b\w+[ -](style|fed|free|flavou?red|flavou?r|cheese)\b"
)
# of another animal, without making the meat its own; in meat-free food it counts
_WITH_IT = re.compile(r"\b\w+[ -](fat|casings?)\b")
_MEAT = re.compile(
    r"\b(beef|veal|pork|ham|bacon|gammon|lamb|mutton|venison|chicken|turkey|duck|goose|lard|"
    r"suet|tallow)\b"
)
_NO_MEAT = re.compile(
    r"\b(chicken|duck|goose|turkey)s?('s)? eggs?\b|\b(beef|ox)[ -]?(heart )?tomato(es)?\b|"
    r"\blamb'?s'? lettuce\b|\bvegetable (suet|lard)\b|\bfrom turkey\b|\bchicken of the woods\b"
)
_MEANT_SO = re.compile(
    r"\b(vegan|vegetarian|veggie|plant[ -]?based|plant|mock|meatless|meat[ -]free|not|no)\b"
)
_RAW = re.compile(r"\b(raw(?! (milk|ham|cured))|uncooked|oven[ -]ready|ready to cook)\b")


def _families(text: str) -> set[str]:
    return {family for family, words in _FAMILY.items() if re.search(rf"\b({words})s?\b", text)}


def check_animals(product: Product) -> None:
    """Refuse a name of another animal, meat in meat-free food, raw goods that are ready to eat.

    Raises
    ------
    Contradiction
        Naming the word and what it contradicts.
    """
    called = _SOUNDS.sub(" ", product.name.casefold().replace("-cured", " cured"))
    told = _families(product.species.casefold())
    named = _families(_WITH_IT.sub(" ", called))
    if told and named and not told & named:
        raise Contradiction(
            f"The name {product.name!r} tells of another animal than the species, "
            f"{product.species}; correct one of the two {cited('LB001')}.",
            where="$.product.name",
        )
    if product.product_class == "ready to eat" and (found := _RAW.search(called)):
        raise Contradiction(
            f"The name says {found[0]!r}, but the class is ready to eat; correct one of the two.",
            where="$.product.class",
        )
    if product.product_class == "meat-free":
        _check_meat_free(product)


def _check_meat_free(product: Product) -> None:
    said = [] if _MEANT_SO.search(product.name.casefold()) else [("name", product.name)]
    said += [(f"ingredients[{at}]", one) for at, one in enumerate(product.ingredients or ())]
    for key, text in said:
        plain = _NO_MEAT.sub(" ", _SOUNDS.sub(" ", text.casefold()))
        if (found := _MEAT.search(plain)) and not _MEANT_SO.search(plain):
            raise Contradiction(
                f"{text!r} tells of {found[0]}, but the class is meat-free; correct one of the "
                "two.",
                where=f"$.product.{key}",
            )
