"""Dates and cold on a label: the phrase beside a date, vacuum packs, frozen and thawed goods.

References
----------
.. [1] FSIS on food product dating, in a reprint: a date is explained by a phrase. Rule LB128.
.. [2] Wisconsin Food Code 3-502.12(B): a vacuum pack of raw meat says to keep it at 41 degF or
   below, and to discard it within 30 days of packing. Rules SF061, SF063, SF064.
.. [3] 9 CFR 381.125(a): how to keep it; stock that was frozen says so. Rules LB007, LB008.
"""

from __future__ import annotations

import re
from datetime import date, timedelta
from decimal import ROUND_FLOOR, Decimal

from collop.errors import BadValue, Contradiction
from collop.measures import Temperature
from collop.reference.rulebook import rule_row
from collop.rules.labelling import Product, cited

__all__ = [
    "WAS_FROZEN", "check_dates", "date_cautions", "day_words", "discard_by", "keep_words",
]  # fmt: skip

#: Said of thawed stock; that it is said is LB008, the words themselves are from memory.
WAS_FROZEN = "Previously handled frozen for your protection, refreeze or keep refrigerated"
_KNOWN = frozenset({"use or freeze by", "use by", "best if used by", "best before", "sell by",
                    "freeze by", "use or discard by", "discard by", "eat by"})  # fmt: skip
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
# ready-to-eat food: the day of making is day 1 (SF015)
_READY_DAYS_AFTER = 6


def day_words(day: date, *, with_year: bool = False) -> str:
    """Return a day with its month, e.g. ``Wed 10 Jun`` (LB129; with the year for frozen goods)."""
    text = f"{_DAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]}"
    return f"{text} {day.year}" if with_year else text


def _last_vacuum_day(product: Product) -> date:
    return product.packed + timedelta(days=product.vacuum_days)


def check_dates(product: Product) -> None:
    """Refuse dates that contradict one another, have no phrase, or keep a vacuum pack too long.

    Raises
    ------
    BadValue
        If a vacuum pack is kept longer than the edition allows, or a phrase is missing.
    Contradiction
        If the last day is before the day of packing.
    """
    if product.use_by is None:
        return
    if product.use_by < product.packed:
        raise Contradiction(
            f"The last day, {product.use_by}, is before the day of packing, {product.packed}; "
            "correct one of the two.",
            where="$.use_by",
        )
    if not re.search(r"[a-z]", product.date_words):
        raise BadValue(
            f"$.date_words does not explain the date; write such as use or freeze by "
            f"{cited('LB128')}.",
            where="$.date_words",
        )
    last = _last_vacuum_day(product)
    if product.vacuum and product.is_raw and not product.frozen and product.use_by > last:
        days = str(product.vacuum_days)
        rule = "SF062" if days == rule_row("SF062").value else "SF061"
        raise BadValue(
            f"A vacuum pack is kept {product.vacuum_days} days from packing at the most, so to "
            f"{last}, not to {product.use_by}; shorten the date, or freeze it {cited(rule)}.",
            where="$.use_by",
        )


def date_cautions(product: Product) -> tuple[str, ...]:
    """Return what to heed of the dates."""
    found = []
    if product.use_by is not None and product.date_words.casefold() not in _KNOWN:
        found.append(
            f"'{product.date_words}' is no usual phrase for a date; it must be truthful "
            f"{cited('LB128')}."
        )
    ready = product.packed + timedelta(days=_READY_DAYS_AFTER)
    if product.product_class == "ready to eat" and not product.frozen:
        if product.use_by is None:
            found.append(f"Ready-to-eat food held over 24 h needs a last day {cited('SF015')}.")
        elif product.use_by > ready:
            found.append(
                f"Ready-to-eat food that must be kept cold is held 7 days with the day of making, "
                f"so to {day_words(ready)} if made on the day of packing {cited('SF015')}."
            )
    if product.use_by is None and product.product_class != "ready to eat":
        found.append("No last day is told; a state or local rule may ask for one.")
    return tuple(found)


def discard_by(product: Product) -> str:
    """Return the instruction of a vacuum pack, empty for any other."""
    if not product.vacuum or product.use_by is None:
        return ""
    day = day_words(product.use_by, with_year=product.frozen)
    return f"Discard if not used{'' if product.frozen else ' or frozen'} by {day}"


def keep_words(product: Product, *, celsius: bool) -> str:
    """Return how to keep it, e.g. ``Keep refrigerated at 41 F or below``.

    Parameters
    ----------
    product : Product
        Its `keep_at_most_f` is rounded down, so that the label is never laxer.
    celsius : bool
        Say it in degC.
    """
    if product.frozen:
        return "Keep frozen"
    most = Temperature.fahrenheit(product.keep_at_most_f)
    exact: Decimal = most.in_celsius(3) if celsius else most.in_fahrenheit(3)
    whole = exact.to_integral_value(ROUND_FLOOR)
    return f"Keep refrigerated at {whole} {'C' if celsius else 'F'} or below"
