"""The line of the case that work leads to: one there is, or one made on the spot of its parent."""

from __future__ import annotations

import re
from contextlib import suppress
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from sqlalchemy import func, select

from collop.errors import BadValue
from collop.measures import UnitPrice, Weight, decimal_of, minor_places
from collop.shop.acts import Act
from collop.shop.board import board_at, price_text
from collop.shop.case_new import NewCaseLine, add_case_line
from collop.shop.store import AnyRow
from collop.shop.tables import case_lines
from collop.shop.ticket_facts import line_facts, set_facts
from collop.spread.contents import tags_of
from collop.spread.problem import Avoid

__all__ = ["kept_price", "line_of_work", "name_of_work"]

_PLACES = 3
_ADDS = re.compile(
    r"tenderi|needl|pierc|inject|marinad|marinat|rub|season|cur|brin|smok|stuff|coat"
)
_WHOLE = Decimal(1)


def kept_price(price: UnitPrice, before: Weight, after: Weight) -> UnitPrice:
    """Return the price of `after` that keeps the value of `before`, rounded up to the cent.

    Parameters
    ----------
    price : UnitPrice
        Of what was worked on.
    before, after : Weight
        What it weighed; both above zero.

    Examples
    --------
    >>> from collop.measures import WeightUnit
    >>> leg = UnitPrice.of("11.20", WeightUnit.LB)
    >>> weights = [Weight.of(one, WeightUnit.LB) for one in ("13.0", "9.36")]
    >>> str(kept_price(leg, *weights).amount)
    '15.56'
    """
    places = minor_places(price.currency)
    exact = Fraction(price.amount) * before.count / after.count * 10**places
    return UnitPrice.of(
        decimal_of(Fraction(-(-exact // 1), 10**places), places), price.per, price.currency
    )


def name_of_work(name: str, words: str) -> str:
    """Return what a new line is called: its parent without the bone, and what was done.

    Examples
    --------
    >>> name_of_work("Lamb leg, bone in", "boned and tied")
    'Lamb leg, boned and tied'
    """
    base = name.split(",", maxsplit=1)[0].split(" (", maxsplit=1)[0].strip()
    for tail in (" on the bone", " bone in", " whole"):
        base = base.removesuffix(tail)
    return f"{base}, {words}"


def _line(act: Act, case_id: str) -> AnyRow:
    return act.conn.execute(select(case_lines).where(case_lines.c.id == case_id)).one()


def _there_is(act: Act, into: str) -> AnyRow | None:
    """Return the line of an id or a name."""
    return act.conn.execute(
        select(case_lines).where(
            (case_lines.c.id == into.upper()) | (func.lower(case_lines.c.name) == into.lower())
        )
    ).first()


def _made_of(line: AnyRow) -> frozenset[Avoid]:
    return tags_of(line.species, line.casing, tuple(line.contains))


def _fits(parent: AnyRow, line: AnyRow) -> None:
    if line.id == parent.id:
        raise BadValue(f"{line.name} is the line it was made of; name another.", where="into")
    if line.species != parent.species:
        raise BadValue(f"{line.name} is {line.species}, and this is {parent.species}.",
                       where="into")  # fmt: skip
    untold = _made_of(parent) - _made_of(line)
    if untold:
        names = ", ".join(sorted(one.name or one.kind for one in untold))
        raise BadValue(
            f"{line.name} does not tell of {names}, and {parent.name} holds it; name another line.",
            where="into",
        )
    if line.by_piece or line.form != parent.form:
        how = "sold by the whole piece" if line.by_piece else line.form
        raise BadValue(f"{line.name} is {how}; name another line.", where="into")


def line_of_work(
    act: Act, case_id: str, into: str, words: str, *, before: Weight, after: Weight
) -> AnyRow:
    """Return the line of the case that work leads to; a new one has its price on the board.

    A new line is what its parent is: contents, casing, dish styles, cooking. Its boneless share
    grows by what was taken off, and its price keeps the value of what it was made of.

    Raises
    ------
    BadValue
        If the line named cannot take it or does not tell of all that its parent holds, or the new
        name is taken or too long.
    """
    parent = _line(act, case_id)
    name = into.strip() or name_of_work(parent.name, words)
    found = _there_is(act, name)
    if found is not None:
        _fits(parent, found)
        return found
    price = board_at(act.conn, act.at, act.settings.currency).get(case_id)
    if price is None:
        raise BadValue(f"{parent.name} has no price; put one on the board first.", where="into")
    kept = kept_price(price, before, after)
    share = decimal_of(Fraction(parent.boneless_fraction) * before.count / after.count, _PLACES)
    unit = before.unit
    why = (
        f"{price_text(kept)} keeps the value of {before.text(unit)} at {price_text(price)},"
        f" {after.text(unit)} after {words}"
    )
    new = NewCaseLine(
        name=name, species=parent.species, price=kept,
        keeps_days=parent.keeps_days or 0, cook_as=parent.cook_as, form=parent.form,
        boneless_fraction=min(share, _WHOLE), contains=tuple(parent.contains),
        casing=parent.casing, grill_sq_in_per_lb=Decimal(parent.grill_sq_in_per_lb),
        minutes=(parent.minutes_low, parent.minutes_high), method=parent.method,
        styles=dict(parent.styles), slots=tuple(parent.slots),
    )  # fmt: skip
    made = add_case_line(act, new, why=why[:200])
    _label_as(act, case_id, made, words)
    return _line(act, made)


def _label_as(act: Act, parent_id: str, case_id: str, words: str) -> None:
    """Let the label of a new line say what its parent's does, but for its numbers at a till.

    Work that may add something or pierce the meat leaves the label to be told.
    """
    told = line_facts(act.conn, parent_id)
    if told.is_told and not told.missing and not _ADDS.search(words.casefold()):
        with suppress(BadValue):  # an old tax class is told anew with the label
            set_facts(act, case_id, replace(told.facts, item=None, gtin=None))
