"""The name of a product on its label: what it must say, and words that may not stand there.

Which words tell an animal or a made-up cut is common practice, no published source; the rules they
serve are cited where they refuse.
"""

from __future__ import annotations

import re

from collop.errors import BadValue, Contradiction
from collop.reference.allergens import allergen_named
from collop.rules.labelling import TENDERISED, Product, cited

__all__ = ["check_class", "check_name", "kind_of_meat", "label_name"]

_NAME = "$.product.name"
_NO_MEAT = frozenset({"", "none", "plant", "cheese", "vegetable", "egg"})
_OF_THE_WATER = frozenset({"fish", "crustaceans", "molluscs", "shellfish", "seafood"})
_FRESH = re.compile(r"\b(fresh|freshly|never frozen)\b")
# words that make a weight sound larger than it is
_QUALIFYING = re.compile(
    r"\b(when packed|minimum|(jumbo|giant|full|large) (pound|lb|kilo|kg)|approx(imately|\.)?)(?!\w)"
)
_PIERCED = re.compile(r"\b(tenderi[sz]ed|jaccard(ed)?|needled|pinned)\b")
_TENDERISED = re.compile(r"\b(mechanically|blade|needle)[ -]tenderi[sz]ed\b")
# another word for the animal in the name is as good
_SAYS = {
    "beef": "beef|beefburger|hamburger|veal|oxtail|ox",
    "veal": "veal",
    "pork": "pork|ham|bacon|hog|pig|gammon",
    "pig": "pork|ham|bacon|hog|pig|gammon",
    "hog": "pork|ham|bacon|hog|pig|gammon",
    "lamb": "lamb|hogget",
    "mutton": "mutton",
    "goat": "goat|kid|chevon",
    "venison": "venison|deer",
    "chicken": "chicken|hen|capon|poussin",
}
_MEAT_OF = {"pig": "pork", "hog": "pork", "swine": "pork", "cattle": "beef", "ox": "beef",
            "cow": "beef", "deer": "venison"}  # fmt: skip
# classes whose name alone tells what is in them; a sausage has its list of ingredients
_NAMED_BY_MEAT = ("raw whole", "raw ground")


def has_meat(species: str) -> bool:
    """Tell whether a species is meat."""
    return species.strip().casefold() not in _NO_MEAT


def check_class(product: Product) -> None:
    """Refuse a class that contradicts the species, the cooking, the casing or the treatment.

    Raises
    ------
    Contradiction
        Naming the two that cannot both hold.
    BadValue
        If it is raw fish or shellfish: the safe-handling words are for meat and poultry.
    """
    kind = product.product_class
    meat = has_meat(product.species)
    if kind == "meat-free" and meat:
        raise _against("species", f"is {product.species}, but the class is meat-free")
    if product.is_raw and not meat:
        raise _against("species", f"tells no animal, but the class is {kind}")
    if product.is_raw and allergen_named(product.species) in _OF_THE_WATER:
        where = "$.product.species"
        raise BadValue(
            f"{where} is {product.species}; raw fish and shellfish have rules of their own that "
            "are not known here, so write that ticket by hand.",
            where=where,
        )
    if product.is_raw and product.cook_as == "none":
        raise _against("cook_as", f"is none, but {kind} is cooked before it is eaten")
    if not product.is_raw and product.cook_as not in (None, "none"):
        raise _against("cook_as", f"is {product.cook_as}, but {kind} has no safe-cooking minimum")
    if product.casing and kind in ("raw whole", "raw ground", "raw marinated"):
        raise _against("casing", f"is {product.casing}, but {kind} has no casing")
    if product.tenderised != "no" and kind not in ("raw whole", "raw marinated"):
        raise _against("tenderised", f"is {product.tenderised}, but the class is {kind}")
    if product.frozen and product.previously_frozen:
        raise _against("previously_frozen", "is true, and so is frozen")


def _against(key: str, problem: str) -> Contradiction:
    where = f"$.product.{key}"
    return Contradiction(f"{where} {problem}; correct one of the two.", where=where)


def check_name(product: Product) -> None:
    """Refuse words in the name that a label of this product may not have.

    Raises
    ------
    BadValue
        If the name praises the weight (WM058, from memory).
    Contradiction
        If thawed or frozen goods are called fresh, or the name tells a treatment that was not
        told.
    """
    _check_fresh(product)
    called = product.name.casefold()
    if found := _QUALIFYING.search(called):
        raise BadValue(
            f"The name says {found[0]!r}, and words that praise a weight may not stand near it; "
            f"leave them out {cited('WM058')}.",
            where=_NAME,
        )
    found = _TENDERISED.search(called)
    if found and product.is_raw and found[1] != product.tenderised:
        raise Contradiction(
            f"The name says {found[0]!r}, but tenderised is {product.tenderised!r}; correct one "
            "of the two.",
            where=_NAME,
        )
    bare = _PIERCED.search(called)
    if bare and product.is_raw and product.tenderised == "no":
        raise Contradiction(
            f"The name says {bare[0]!r}, but tenderised is 'no'; tell how it was pierced, or leave "
            f"the word out {cited('LB092')}.",
            where=_NAME,
        )


def _check_fresh(product: Product) -> None:
    """Refuse frozen or thawed goods that are called fresh anywhere on the label."""
    if not (product.previously_frozen or product.frozen):
        return
    said = {"The name": (product.name, _NAME), "date_words": (product.date_words, "$.date_words")}
    if product.origin is not None:
        said["origin"] = (product.origin.words, "$.product.origin.words")
    for key, (text, where) in said.items():
        if found := _FRESH.search(text.casefold()):
            state = "frozen" if product.frozen else "thawed"
            raise Contradiction(
                f"{key} says {found[0]!r}, but it is {state}; leave the word out {cited('LB008')}.",
                where=where,
            )


def label_name(product: Product) -> str:
    """Return the name as it is printed: with the descriptive designation of pierced meat.

    Notes
    -----
    80 FR 28153 (LB092): the designation is part of the product name. In the same line and size it
    is at least one third as high as the largest letter (LB093).

    Examples
    --------
    >>> from datetime import date
    >>> label_name(Product(name="Beef rump", species="beef", product_class="raw whole",
    ...                    packed=date(2026, 6, 10), tenderised="blade"))
    'Beef rump, blade tenderized'
    """
    designation = TENDERISED[product.tenderised]
    called = product.name
    if not designation:
        return called
    if found := _TENDERISED.search(called.casefold()):  # the law's spelling in place of another
        first = called[found.start()]
        words = designation.capitalize() if first.isupper() else designation
        return called[: found.start()] + words + called[found.end() :]
    return f"{called}, {designation}"


def kind_of_meat(product: Product) -> str:
    """Return the animal if the name leaves it out, else an empty text (LB001: kind and cut)."""
    if product.product_class not in _NAMED_BY_MEAT:
        return ""
    animal = product.species.strip()
    words = _SAYS.get(animal.casefold(), re.escape(animal.casefold()))
    # whole words: a kidney is no kid, a hamburger no ham, a hogget no hog
    if re.search(rf"\b({words})(s|es)?\b", product.name.casefold()):
        return ""
    # "goat kid" is named by either word
    if any(re.search(rf"\b{re.escape(one)}s?\b", product.name.casefold()) for one in
           animal.casefold().split()):  # fmt: skip
        return ""
    meat = _MEAT_OF.get(animal.casefold(), animal)
    return meat[:1].upper() + meat[1:]
