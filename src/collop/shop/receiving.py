"""At the door: invoice against scale, temperature against limit, papers, days since kill."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime, timedelta
from fractions import Fraction

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Money, Temperature, Weight, WeightUnit, round_fraction
from collop.rules.choosing import NOTHING_CHOSEN
from collop.rules.limits import receiving_limit
from collop.shop.acts import Act
from collop.shop.board import price_from, price_text
from collop.shop.knife_model import Delivery, NewDelivery, NewPiece
from collop.shop.knife_tables import deliveries
from collop.shop.ledger import receive
from collop.shop.lots import NewLot, cut_from, make_lot
from collop.shop.model import Settings
from collop.shop.rule_choices import load_rule_choices
from collop.shop.store import AnyRow

__all__ = ["COOL_WITHIN", "MARK", "cold_limit", "cost_of", "load_delivery", "take_in"]

#: The paper nothing is taken in without.
MARK = "inspection mark"
#: Wisconsin Food Code 3-501.14(C), source WI501_14.
COOL_WITHIN = timedelta(hours=4)
_LONGEST_SINCE_KILL = timedelta(days=366)
_MOST = Weight.of(5_000, WeightUnit.LB)
# beyond this the paper and the scale do not speak of the same animal
_WIDEST_GAP = Fraction(1, 4)


def cold_limit(chosen: Mapping[str, str] = NOTHING_CHOSEN) -> Temperature:
    """Return the highest temperature of chilled meat at the door.

    The published figure is the US Food Code's 41 degF (3-202.11), marked as from memory; the shop
    may have chosen a stricter one, and local codes come first.
    """
    return receiving_limit(chosen).temperature


def _text(temperature: Temperature) -> str:
    return f"{temperature.in_fahrenheit(1)} °F ({temperature.in_celsius(1)} °C)"


def _checked_temperature(act: Act, new: NewDelivery, at: datetime) -> datetime | None:
    """Return until when a warm piece must be cooled, None for a cold one."""
    limit = cold_limit(load_rule_choices(act.conn))
    if new.temperature is None:
        if not new.not_measured_because.strip():
            raise BadValue(
                f"Measure {new.tag} before it is taken in, or say why it was not measured.",
                where="temperature",
            )
        return None
    if new.temperature <= limit:
        return None
    if not new.arrived_warm_as_law_allows:
        raise WrongState(
            f"{new.tag} is {_text(new.temperature)} and the limit at the door is {_text(limit)}:"
            " do not take it in, or say that the law allows it to arrive warm.",
        )
    return at + COOL_WITHIN


def _checked_pieces(new: NewDelivery) -> Weight:
    if not new.pieces:
        raise BadValue("Weigh at least one piece.", where="pieces")
    tags = [piece.tag for piece in new.pieces]
    if len(set(tags)) < len(tags):
        raise BadValue("Two pieces have the same tag; give each its own.", where="pieces")
    for tag in (new.tag, *tags):
        if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,39}", tag) or tag != tag.strip():
            raise BadValue(
                "A tag has 1 to 40 letters, digits, points or dashes, and begins with a letter or"
                " digit.",
                where="tag",
            )
    for piece in new.pieces:
        if not Weight.zero() < piece.weight < _MOST:
            raise BadValue(f"{piece.tag}: weigh more than 0 and under {_MOST.text()}.",
                           where=piece.tag)  # fmt: skip
    total = Weight(sum(piece.weight.count for piece in new.pieces), new.pieces[0].weight.unit)
    if len(tags) == 1 and tags[0] != new.tag:
        raise BadValue(f"One piece hangs whole: its tag is {new.tag}.", where="pieces")
    if len(tags) > 1 and new.tag in tags:
        raise BadValue(f"{new.tag} is the animal; give each piece a tag of its own.",
                       where="pieces")  # fmt: skip
    return total


def _checked_days(new: NewDelivery, act: Act, at: datetime) -> None:
    if at > act.at:
        raise BadValue("It cannot have been hung later than now.", where="hung_at")
    if new.killed_on is None:
        return
    if new.killed_on > at.date():
        raise BadValue(f"{new.tag}: the day of kill lies ahead; correct it.", where="killed_on")
    if at.date() - new.killed_on > _LONGEST_SINCE_KILL:
        raise BadValue(f"{new.tag}: the day of kill is over a year ago; correct it.",
                       where="killed_on")  # fmt: skip


def _checked(new: NewDelivery, act: Act, at: datetime) -> Weight:
    total = _checked_pieces(new)
    if not 1 <= len(new.farm.strip()) <= 120 or not new.farm.isprintable():
        raise BadValue("Name the farm, in 1 to 120 characters.", where="farm")
    if len(new.establishment.strip()) > 40 or not new.establishment.isprintable():
        raise BadValue("Write the number on the inspection mark in at most 40 characters.",
                       where="establishment")  # fmt: skip
    if not 1 <= len(new.species.strip()) <= 40 or not new.species.isprintable():
        raise BadValue("Say what animal it is, in 1 to 40 characters.", where="species")
    _checked_days(new, act, at)
    if not Weight.zero() < new.invoiced < _MOST:
        raise BadValue("The invoice weight must be more than 0.", where="invoiced")
    gap = Fraction(total.count - new.invoiced.count, new.invoiced.count)
    if abs(gap) > _WIDEST_GAP:
        raise BadValue(
            f"{new.tag}: the invoice says {new.invoiced.text()} and the scale {total.text()};"
            " weigh again, or check the unit on the paper.",
            where="invoiced",
        )
    for money, where in ((new.haulage, "haulage"), (new.price, "price")):
        if money is not None and money.currency != act.settings.currency:
            raise BadValue(f"{where.capitalize()} is in {act.settings.currency} here.", where=where)
    if new.haulage is not None and new.haulage.minor < 0:
        raise BadValue("Haulage is zero or more.", where="haulage")
    return total


def _checked_papers(new: NewDelivery, act: Act) -> list[str]:
    came = {paper.strip().casefold() for paper in new.papers}
    missing = [paper for paper in act.settings.papers if paper.casefold() not in came]
    if MARK not in came:
        raise WrongState(
            f"The inspection mark of {new.tag} is not ticked: meat without one is not taken in."
            " Look again, or send it back and call the supplier."
        )
    return missing


def _piece_lot(new: NewDelivery, piece: NewPiece, at: datetime, number: int) -> NewLot:
    return NewLot(
        id=piece.tag, kind="piece", species=new.species, what=piece.what, weight=piece.weight,
        since=at, farm=new.farm, piece=piece.piece, delivery_number=number,
    )  # fmt: skip


def _hang(act: Act, new: NewDelivery, number: int, total: Weight, at: datetime) -> None:
    first = new.pieces[0]
    if len(new.pieces) == 1:
        make_lot(act, _piece_lot(new, first, at, number))
        receive(act, first.tag, first.weight, "rail")
        return
    animal = NewLot(
        id=new.tag, kind="animal", species=new.species, what=f"{new.species}, whole animal",
        weight=total, since=at, farm=new.farm, delivery_number=number,
    )  # fmt: skip
    make_lot(act, animal)
    receive(act, new.tag, total, "rail")
    for piece in new.pieces:
        cut_from(act, new.tag, ("rail", "rail"), _piece_lot(new, piece, at, number), "hung apart")


def take_in(act: Act, new: NewDelivery, *, hung_at: datetime | None = None) -> int:
    """Write a delivery and hang its pieces; return its number.

    Raises
    ------
    WrongState
        If it is over the limit, or bears no inspection mark.
    BadValue
        If a field is out of its range.
    """
    price, at = new.price, hung_at or act.at
    total = _checked(new, act, at)
    cool_by = _checked_temperature(act, new, at)
    missing = _checked_papers(new, act)
    said = f"not measured: {new.not_measured_because.strip()}" if new.temperature is None else ""
    note = "; ".join(text for text in (new.note, said) if text)
    result = act.conn.execute(
        insert(deliveries).values(
            lot_id=new.tag, farm=new.farm, species=new.species, killed_on=new.killed_on,
            invoiced=new.invoiced.count, unit=new.invoiced.unit.value, weighed=total.count,
            is_hot=new.is_hot,
            temperature=None if new.temperature is None else new.temperature.count,
            cool_by=cool_by, papers=list(new.papers), papers_missing=missing,
            price_amount=None if price is None else price_text(price),
            price_per=None if price is None else price.per.value,
            haulage=0 if new.haulage is None else new.haulage.minor, note=note[:400],
            at=at, by_id=act.by, key=act.key, establishment=new.establishment.strip() or None,
        )
    )  # fmt: skip
    key = result.inserted_primary_key
    assert key is not None
    _hang(act, new, int(key[0]), total, at)
    return int(key[0])


def cost_of(row: AnyRow, chosen: Settings) -> Fraction | None:
    """Return what a delivery cost in minor units, exactly: invoice weight x price + haulage."""
    if row.price_amount is None:
        return None
    price = price_from(row.price_amount, row.price_per, chosen.currency)
    haulage: int = row.haulage
    return Weight(row.invoiced).exact(price.per) * price.minor + haulage


def load_delivery(conn: Connection, number: int, chosen: Settings) -> Delivery:
    """Return one delivery, or raise `NotFound`."""
    row = conn.execute(select(deliveries).where(deliveries.c.number == number)).first()
    if row is None:
        raise NotFound(f"There is no delivery {number}.", where="delivery")
    unit, cost = WeightUnit(row.unit), cost_of(row, chosen)
    price = None
    if row.price_amount is not None:
        price = price_from(row.price_amount, row.price_per, chosen.currency)
    money = None if cost is None else Money(round_fraction(cost, chosen.rounding), chosen.currency)
    return Delivery(
        number=row.number, tag=row.lot_id, species=row.species, farm=row.farm,
        killed_on=row.killed_on, invoiced=Weight(row.invoiced, unit),
        weighed=Weight(row.weighed, unit), is_hot=row.is_hot,
        temperature=None if row.temperature is None else Temperature(row.temperature),
        cool_by=row.cool_by, papers=tuple(row.papers), papers_missing=tuple(row.papers_missing),
        price=price, haulage=Money(row.haulage, chosen.currency), cost=money, note=row.note,
        at=row.at, by=row.by_id, establishment=row.establishment or "",
    )  # fmt: skip
