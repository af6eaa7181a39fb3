"""Where a product is from, in words that may stand on its label.

References
----------
.. [1] 7 USC 1638, 1638a: covered are lamb, goat, chicken and venison. Rules LB109 to LB114, LB123,
   LB124.
.. [2] 81 FR 10755: beef and pork are covered no longer. Rules LB117 to LB120.
.. [3] 9 CFR 412.3, proposal restated in the news: "Product of USA" only for meat born, raised,
   slaughtered and processed in the United States. Rule LB125.
"""

from __future__ import annotations

import re

from collop.errors import BadValue, Contradiction
from collop.rules.labelling import Origin, Product, cited

__all__ = ["covered_rule", "origin_cautions", "origin_rules", "origin_words"]

_COVERED = {"goat": "LB113", "chicken": "LB114"}
# the law's "lamb" is meat of sheep other than mutton (LB121)
_SHEEP = frozenset({"lamb", "hogget", "sheep"})
_LAMB, _VENISON = ("LB109", "LB110"), ("LB111", "LB112")
_STAGES = ("born", "raised", "slaughtered", "processed")
_USA = frozenset({"us", "usa", "united states", "united states of america", "u.s.", "u.s.a."})
# words that name the United States in any way; what is true of some stages is told by the stages
_CLAIM = re.compile(
    r"\b(usa|united states|(?<!south )(?<!central )(?<!latin )americ(a|an|ans|as)|"
    r"u\. ?s|u s a?)\b"
)
# in a name, "American" is also a breed or a manner
_CLAIM_OF_NAME = re.compile(r"\b(usa|united states|u\. ?s)\b")
_US = re.compile(r"\bUS\b")
# codes of the countries that sell meat in the United States or next to it; others are written out
_COUNTRIES = {
    "US": "USA", "CA": "Canada", "MX": "Mexico", "AU": "Australia", "NZ": "New Zealand",
    "GB": "United Kingdom", "IE": "Ireland", "UY": "Uruguay", "AR": "Argentina", "BR": "Brazil",
    "CL": "Chile", "IS": "Iceland", "NI": "Nicaragua", "JP": "Japan", "DK": "Denmark",
}  # fmt: skip


def covered_rule(product: Product) -> str:
    """Return the rule that covers a product, empty if none does.

    Examples
    --------
    >>> from datetime import date
    >>> covered_rule(Product(name="Lamb leg", species="lamb", product_class="raw whole",
    ...                      packed=date(2026, 6, 10)))
    'LB109'
    """
    # an ingredient of a processed food is not covered
    if product.product_class not in ("raw whole", "raw ground"):
        return ""
    ground = product.product_class == "raw ground"
    animals = product.species.casefold().split()
    if _SHEEP & set(animals) and "mutton" not in animals:
        return _LAMB[ground]
    if {"venison", "deer"} & set(animals):
        return _VENISON[ground]
    return next((_COVERED[one] for one in animals if one in _COVERED), "")


def _country(text: str, key: str) -> str:
    if re.fullmatch(r"[A-Z]{2}", text):
        if text not in _COUNTRIES:
            raise BadValue(
                f"$.product.origin.{key} is {text!r}; write the name of the country.",
                where=f"$.product.origin.{key}",
            )
        return _COUNTRIES[text]
    return "USA" if text.casefold() in _USA else text


def _claims(words: str) -> bool:
    # "raised by us" is no claim
    return bool(_CLAIM.search(words.casefold()) or _US.search(words))


def _names_usa(name: str) -> bool:
    return bool(_CLAIM_OF_NAME.search(name.casefold()) or _US.search(name))


def _is_all_usa(origin: Origin) -> bool:
    told = origin.stages()
    return set(told) == set(_STAGES) and all(_country(c, s) == "USA" for s, c in told.items())


def origin_words(product: Product) -> str:
    """Return the words of origin, empty if none were told.

    Raises
    ------
    BadValue
        If the United States are claimed, and not all four stages were told to be there.
    Contradiction
        If a country is told, and a stage in another one.

    Examples
    --------
    >>> from datetime import date
    >>> origin = Origin(born="CA", raised="US", slaughtered="US")
    >>> origin_words(Product(name="Lamb leg", species="lamb", product_class="raw whole",
    ...                      packed=date(2026, 6, 10), origin=origin))
    'Born in Canada, raised and slaughtered in USA'
    """
    origin = product.origin or Origin()
    country = _country(origin.country, "country") if origin.country else ""
    _check_stages(origin, country)
    claims = country == "USA" or _claims(origin.words) or _names_usa(product.name)
    if claims and not _is_all_usa(origin):
        missing = [s for s in _STAGES if _country(origin.stages().get(s, ""), s) != "USA"]
        raise BadValue(
            f"'Product of USA' is for meat born, raised, slaughtered and processed there, and "
            f"{', '.join(missing)} is not told to be; tell each, or leave the claim out "
            f"{cited('LB125')}.",
            where="$.product.origin",
        )
    if not (country or origin.words or origin.stages()):
        return ""
    if origin.words:
        return origin.words
    if _is_all_usa(origin):
        return "Product of USA"
    return _stage_words(origin) or f"Product of {country}"


def _check_stages(origin: Origin, country: str) -> None:
    for stage, told in origin.stages().items():
        if country and _country(told, stage) != country:
            raise Contradiction(
                f"The origin is {country}, but {stage} is {_country(told, stage)}; leave the "
                "country out and tell each stage, or correct one of the two.",
                where="$.product.origin",
            )


def _stage_words(origin: Origin) -> str:
    """Return e.g. ``Born in Canada, raised and slaughtered in USA``."""
    grouped: list[tuple[str, list[str]]] = []
    for stage, told in origin.stages().items():
        country = _country(told, stage)
        if grouped and grouped[-1][0] == country:
            grouped[-1][1].append(stage)
        else:
            grouped.append((country, [stage]))
    parts = [f"{_and(stages)} in {country}" for country, stages in grouped]
    text = ", ".join(parts)
    return text[:1].upper() + text[1:]


def _and(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def origin_rules(product: Product) -> tuple[str, ...]:
    """Return the rules behind the words of origin."""
    covered = covered_rule(product)
    found = [covered] if covered else []
    if product.origin is not None and _is_all_usa(product.origin):
        found += [*(["LB123"] if covered else []), "LB125"]
    return tuple(found)


def origin_cautions(product: Product) -> tuple[str, ...]:
    """Return a caution for a covered product without its origin, or for several countries."""
    rule = covered_rule(product)
    if not rule:
        return ()
    if not origin_words(product):
        said = f"{product.species.capitalize()} needs its country of origin"
        return (f"{said} if the shop is licensed under PACA {cited(rule)}.",)
    if product.product_class == "raw ground":
        return (f"Name every country that the ground meat is from {cited('LB124')}.",)
    return ()
