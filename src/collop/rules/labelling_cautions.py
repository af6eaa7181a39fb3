"""Reminders about a label that block nothing: nutrition, voluntary claims, words of the trade."""

from __future__ import annotations

import re

from collop.reference import label_rows
from collop.rules.labelling import Product, cited

__all__ = ["claim_cautions", "nutrition_cautions"]

_CLAIMS = (
    (r"\b(natural|grass[ -]fed|no antibiotics|pasture[ -]?raised|free[ -]range|heritage)\b",
     "LB132", "keep the supplier's evidence on file"),
    (r"\b(prime|choice|select)\b(?! rib)", "LB133",
     "only if the carcass was officially graded; keep the grade with its record"),
    (r"\borganic\b", "LB134", "only with certification"),
)  # fmt: skip
# the major cuts of poultry stand in one row, from memory: bird and part
_BIRDS, _BIRD_PARTS = {"chicken", "turkey"}, {"whole", "breast", "wing", "drumstick", "thigh"}
_NO_WORD = frozenset({"or", "the", "half", "with", "without", "whole", "large", "small", "end"})


def _words(text: str) -> set[str]:
    """Return the words of a name in small letters, plurals cut, without those that say little."""
    found = re.findall(r"[a-z]+", text.casefold())
    return {word.removesuffix("s") for word in found} - _NO_WORD


def nutrition_cautions(product: Product) -> tuple[str, ...]:
    """Return a reminder where nutrition information may be due.

    Notes
    -----
    A cut is found by the words of its row (LB032 to LB063) standing in the name and species; one of
    chicken or turkey by its part (LB064).
    """
    if product.product_class == "raw ground":
        rule = cited("LB022")
        return (f"Ground meat has a nutrition label unless the shop is exempt: ask {rule}.",)
    if product.product_class != "raw whole":
        return ()
    told = _words(f"{product.species} {product.name}")
    for row in label_rows("major_cut"):
        cut = _words(row.requirement.partition("(")[0])
        if cut and cut <= told:
            said = f"This is a major cut ({row.requirement}): nutrition information stands on the"
            return (f"{said} label or at the counter unless the shop is exempt {cited('LB021')}.",)
    birds, parts = told & _BIRDS, set(re.findall(r"[a-z]+", product.name.casefold()))
    if birds and {part.removesuffix("s") for part in parts} & _BIRD_PARTS:
        said = "This is a major cut of poultry: nutrition information stands on the label or at the"
        return (f"{said} counter unless the shop is exempt {cited('LB064')}.",)
    return ()


def claim_cautions(product: Product) -> tuple[str, ...]:
    """Return a reminder for each voluntary claim in the name, and for the shop's word mince."""
    called = product.name.casefold()
    found = [
        f"The name says '{match[0]}': {what} {cited(rule)}."
        for pattern, rule, what in _CLAIMS
        if (match := re.search(pattern, called))
    ]
    if product.product_class == "raw ground" and re.search(r"\bminced?\b", called):
        found.append("The law's name is 'ground', not 'mince': use it on labels where it rules.")
    return tuple(found)
