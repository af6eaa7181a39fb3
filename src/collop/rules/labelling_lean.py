"""Lean and fat on a label: the two percentages, and the published standards behind a name.

References
----------
.. [1] 75 FR 82148: a lean percentage only with the fat percentage beside it. Rule LB024.
.. [2] 2VAC5-590-10: ground beef, fat 30 percent at the most. Rule LB065. The other standards are
   named by their rows.
"""

from __future__ import annotations

import re
from decimal import Decimal

from collop.errors import BadValue, Contradiction
from collop.reference import composition_rows
from collop.rules.labelling import Product, cited

__all__ = ["check_lean_and_fat", "fat_cautions", "lean_words"]

_WHOLE = Decimal(100)
_CLASSES = ("raw ground", "raw sausage")
# the name that calls for a standard, and the row with its most fat; the first that fits rules.
# "mince" is the shop's word for what the standards call ground: common practice, no source
_STANDARDS = (
    (r"\bwhole hog sausages?\b", "LB076"),
    (r"\bbreakfast sausages?\b", "LB080"),
    (r"\bitalian sausages?\b", "LB084"),
    (r"\b(fresh )?beef sausages?\b", "LB078"),
    (r"\b(fresh )?pork sausages?\b", "LB073"),
    (r"\bbeef (patty|patties)\b", "LB071"),
    (r"\bhamburgers?\b", "LB067"),
    (r"\b(ground|chopped|minced) (beef|chuck|round|sirloin)\b|\bbeef mince\b", "LB065"),
)
# "97% fat free" says as much of the lean
_LEAN = re.compile(r"(\d{1,3}(?:\.\d)?) ?% ?(?:lean|fat[ -]free)\b")
_FAT = re.compile(r"(\d{1,3}(?:\.\d)?) ?% ?fat\b(?![ -]free)")
_PAIR = re.compile(r"\b(\d{2}) ?/ ?(\d{2})\b")


def check_lean_and_fat(product: Product) -> None:
    """Refuse percentages that are incomplete, do not add up, or break the name's standard.

    Raises
    ------
    BadValue
        If a percentage is missing, or over the standard that was read in its source.
    Contradiction
        If the two do not add to 100, or the name claims others.
    """
    lean, fat = product.lean, product.fat
    if (lean is not None or fat is not None) and product.product_class not in _CLASSES:
        raise Contradiction(
            f"$.product.lean_pct and fat_pct are for ground meat, but the class is "
            f"{product.product_class}; leave them out.",
            where="$.product.lean_pct",
        )
    if lean is not None and fat is None:
        raise BadValue(
            f"The label says {lean:f} % lean without the fat; give fat_pct beside it "
            f"{cited('LB024')}.",
            where="$.product.fat_pct",
        )
    if lean is not None and fat is not None and lean + fat != _WHOLE:
        raise Contradiction(
            f"{lean:f} % lean and {fat:f} % fat make {lean + fat:f}, not 100; correct one of "
            "the two.",
            where="$.product.lean_pct",
        )
    _check_claims_of_name(product)
    _check_standard(product)


def _check_claims_of_name(product: Product) -> None:
    """Refuse percentages in the name that were not told, or not so."""
    called = product.name.casefold()
    pair = _PAIR.search(called)
    if pair and Decimal(pair[1]) + Decimal(pair[2]) != _WHOLE:
        pair = None  # some other fraction
    lean = _LEAN.search(called) or pair
    fat = _FAT.search(called)
    if lean and (product.lean is None or Decimal(lean[1]) != product.lean):
        raise Contradiction(
            f"The name says {lean[0]!r}; give that as lean_pct with the fat_pct beside it "
            f"{cited('LB024')}.",
            where="$.product.name",
        )
    if fat and product.fat is not None and Decimal(fat[1]) != product.fat:
        raise Contradiction(
            f"The name says {fat[0]!r}, but fat_pct is {product.fat:f}; correct one of the two.",
            where="$.product.name",
        )


def _told_fat(product: Product) -> Decimal | None:
    """Return the fat of the label, from the name alone if that is where it stands."""
    if product.fat is not None:
        return product.fat
    found = _FAT.search(product.name.casefold())
    return Decimal(found[1]) if found else None


def _limit_of(product: Product) -> tuple[str, Decimal, bool] | None:
    """Return rule, most fat [percent] and whether it was read in its source."""
    if product.product_class not in _CLASSES:
        return None
    called = product.name.casefold()
    for pattern, rule in _STANDARDS:
        if re.search(pattern, called):
            (row,) = composition_rows(rule)
            return None if row.percent is None else (rule, row.percent, row.is_cited)
    return None


def _check_standard(product: Product) -> None:
    limit, fat = _limit_of(product), _told_fat(product)
    if limit and fat is not None and limit[2] and fat > limit[1]:
        raise BadValue(
            f"{fat:f} % fat is over the {limit[1]:f} % that {product.name!r} may have; give it "
            f"another name, or less fat {cited(limit[0])}.",
            where="$.product.fat_pct",
        )


def fat_cautions(product: Product) -> tuple[str, ...]:
    """Return what to heed of a standard that is only known from memory, and of bare "lean"."""
    found = []
    limit, fat = _limit_of(product), _told_fat(product)
    if limit and fat is not None and not limit[2] and fat > limit[1]:
        found.append(
            f"{fat:f} % fat may be over the {limit[1]:f} % that this name allows {cited(limit[0])}."
        )
    called = _LEAN.sub("", product.name.casefold())
    if re.search(r"\blean\b", called):
        rule = "LB087" if "extra lean" in called else "LB088"
        found.append(f"'Lean' without a percentage is a claim with limits of fat {cited(rule)}.")
    return tuple(found)


def lean_words(product: Product) -> str:
    """Return e.g. ``80 % lean, 20 % fat``; empty if nothing was told."""
    if product.fat is None:
        return ""
    fat = f"{product.fat:f} % fat"
    return fat if product.lean is None else f"{product.lean:f} % lean, {fat}"
