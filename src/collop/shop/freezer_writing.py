"""Freezer orders written down: booked with a claim on the piece, settled when packs are weighed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sqlalchemy import func, insert, select
from sqlalchemy.engine import Connection

from collop.carcass.freezer import freezer_order
from collop.errors import BadValue, NotEnoughFree, NotFound, WrongState
from collop.measures import Money, UnitPrice, Weight, WeightUnit, decimal_of
from collop.shop.acts import Act
from collop.shop.booking import enter, note_event
from collop.shop.case_new import NewCaseLine, add_case_line
from collop.shop.freezer_given import given_to
from collop.shop.freezer_model import NewFreezerOrder, Packed
from collop.shop.freezer_pieces import one_piece, packed_from
from collop.shop.freezer_words import freezer_line_name, shouts
from collop.shop.hook import booking_id, load_booking
from collop.shop.knife_tables import breaks
from collop.shop.ledger import Pick, move
from collop.shop.lines import line_row
from collop.shop.lots import NewLot, cut_from, lot_row, next_name, places_of
from collop.shop.made_of import apportion
from collop.shop.model import Booking, NewBooking, QuoteLine, State
from collop.shop.quotes import checked_json, number_in
from collop.shop.railing import claim, claims_on
from collop.shop.store import AnyRow
from collop.shop.tables import booking_lines, case_lines
from collop.shop.week_tables import freezer_orders

__all__ = ["KEEPS_DAYS", "book_order", "newest_row", "settle_order"]

#: Days a frozen pack of an order stands in the books: the low end of the chart for mince (SF102).
KEEPS_DAYS = 90
_MOST_PACKED = 200
_PER_PLACES = 6


def newest_row(conn: Connection, number: int) -> AnyRow | None:
    """Return the newest freezer order of a booking; None if it has none."""
    query = select(freezer_orders).where(freezer_orders.c.booking_number == number)
    return conn.execute(query.order_by(freezer_orders.c.number.desc()).limit(1)).first()


def _write(act: Act, number: int, problem: Mapping[str, Any], plan: Mapping[str, Any]) -> None:
    total = Money.of(plan["money"]["total"], act.settings.currency)
    tag = problem["parts"][0].get("tag") or None
    act.conn.execute(
        insert(freezer_orders).values(
            booking_number=number, lot_id=tag, problem=checked_json(problem, "problem"),
            plan=checked_json(plan, "plan"), total=total.minor, at=act.at, by_id=act.by,
            key=act.key,
        )
    )  # fmt: skip


def book_order(act: Act, new: NewFreezerOrder) -> str:
    """Book an order and hang it on its pieces; return the booking's id.

    Raises
    ------
    BadValue
        If a part names no piece or more than is free, or the total is not what was shown.
    WrongState
        If the booking has gone, is off, or its packs were weighed already.
    """
    plan = freezer_order(new.problem)
    _check_money(act, new, plan)
    number = _booking(act, new)
    for part, told in zip(new.problem["parts"], plan["parts"], strict=True):
        tag = str(part.get("tag") or "")
        if not tag:
            raise BadValue("A part names no piece; choose it from the rail.", where="tag")
        row = lot_row(act.conn, tag)
        if row.species != told["species"]:
            raise BadValue(f"{tag} is {row.species}, not {told['piece']}; choose it again.",
                           where="tag")  # fmt: skip
        if not row.piece or not _is_broken(act.conn, tag):
            _give(act, number, row, Weight.of(told["weight"], WeightUnit(plan["unit"])),
                  shouts(told))  # fmt: skip
    _write(act, number, new.problem, plan)
    return booking_id(number)


def _give(act: Act, number: int, row: AnyRow, weight: Weight, words: str) -> None:
    """Keep the weight of a piece for an order: by a claim if it hangs, else by the order itself.

    A claim that is there already stays as it is; it is more than the order wants, or as much.
    """
    mine = booking_id(number)
    if not row.piece:
        given = sum(one.weight.count for one in given_to(act.conn).get(row.id, ())
                    if one.booking_number == number)  # fmt: skip
        free = Weight(one_piece(act.conn, row.id).free.count + given, weight.unit)
        if weight > free:
            raise BadValue(f"{free.text()} of {row.id} is given to no other order, not"
                           f" {weight.text()}; take less.", where="weight")  # fmt: skip
        return
    held = [one.weight.count for one in claims_on(act.conn).get(row.id, ())
            if one.booking_id == mine]  # fmt: skip
    if not held:
        claim(act, number, row.id, weight, words)
    elif weight.count > sum(held):
        hangs = Weight(sum(held), weight.unit).text()
        raise BadValue(f"{mine} hangs on {hangs} of {row.id}, and this order wants {weight.text()}:"
                       f" ask for {hangs} by weight, or make a booking of its own.",
                       where="weight")  # fmt: skip


def _check_money(act: Act, new: NewFreezerOrder, plan: Mapping[str, Any]) -> None:
    if plan["currency"] != act.settings.currency:
        raise BadValue(f"The shop counts in {act.settings.currency}; work it out again.")
    if plan["is_weighed"]:
        raise BadValue("The packs are weighed already; book the choices, then weigh.")
    unpriced = [part["tag"] for part in plan["parts"] if not Decimal(part["hanging_money"])]
    if unpriced:
        raise BadValue(f"{unpriced[0]} has no price; agree on one by hanging weight.",
                       where="price")  # fmt: skip
    if str(new.total) != plan["money"]["total"]:
        raise WrongState(f"The order comes to {plan['money']['total']} now, not {new.total}: look"
                         " at it again before it is booked.")  # fmt: skip


def _is_broken(conn: Connection, tag: str) -> bool:
    return conn.scalar(select(breaks.c.number).where(breaks.c.lot_id == tag).limit(1)) is not None


def _check_day(act: Act, when: datetime) -> None:
    if when.tzinfo is not None or when.date() < act.at.date():
        raise BadValue("The day of collection is over; choose one from today on.",
                       where="collect_at")  # fmt: skip
    if not act.settings.is_open(when.date()):
        raise BadValue(f"The shop is shut on {when:%A} {when.day} {when:%B}; choose another day.",
                       where="collect_at")  # fmt: skip


def _booking(act: Act, new: NewFreezerOrder) -> int:
    """Return the number of the booking that gets the order; made if there is none."""
    if not new.booking_id:
        if new.collect_at is None:
            raise BadValue("Say when it is collected.", where="collect_at")
        booking = NewBooking(
            name=new.name, collect_at=new.collect_at, by=act.by or "", phone_end=new.phone_end,
            note=new.note, deposit=new.deposit, kind="freezer",
        )  # fmt: skip
        _check_day(act, new.collect_at)
        return enter(act, booking, None, None)
    found = load_booking(act.conn, number_in("H", new.booking_id, "booking"), act.settings)
    if not found.state.holds:
        raise WrongState(f"{found.id} is {found.state}; make a new booking.")
    number = number_in("H", found.id, "booking")
    before = newest_row(act.conn, number)
    if before is not None and before.plan["is_weighed"]:
        raise WrongState(f"The packs of {found.id} are weighed; the order stands as it is.")
    if before is None and found.lines:
        raise WrongState(f"{found.id} has lines of the case; make a booking of its own.")
    note_event(act, number, "freezer order", found.state, "choices of the household")
    return number


def settle_order(act: Act, number: int, packed: Mapping[int, Sequence[Packed]]) -> str:
    """Take the packs of an order out of the stock, at the scale's weight; return its id.

    The hanging price stays on the weight it was agreed on. All packs of a piece become one line of
    the booking, at what the piece comes to, so that the slip and the ledger tell of them.

    Parameters
    ----------
    act : Act
        The write.
    number : int
        The booking.
    packed : mapping of int to sequence of Packed
        By the place of the part in the order.

    Raises
    ------
    WrongState
        If there is no order, it is settled, or the piece is not broken yet.
    BadValue
        If the packs weigh more than the household's share.
    NotEnoughFree
        If a lot has less than was packed.
    """
    row = newest_row(act.conn, number)
    booking = load_booking(act.conn, number, act.settings)
    if row is None:
        raise NotFound(f"{booking.id} has no freezer order; make one first.", where="booking")
    if not booking.state.holds or row.plan["is_weighed"]:
        state = "weighed" if row.plan["is_weighed"] else booking.state
        raise WrongState(f"{booking.id} is {state} already; nothing more is packed for it.")
    parts = row.problem["parts"]
    for at, part in enumerate(parts):
        if not packed.get(at):
            raise BadValue(f"Nothing is packed of {part['tag']}; weigh its packs first.",
                           where=f"part-{at}")  # fmt: skip
        _checked_packed(act, part["tag"], packed[at])
    problem = _weighed_problem(act, row, packed)
    plan = freezer_order(problem)
    shares = _money_of_parts(plan, act.settings.currency)
    for at, part in enumerate(parts):
        _take(act, booking, part["tag"], packed[at], shares[at])
        _leave_rest(act, part["tag"], plan["parts"][at], WeightUnit(plan["unit"]))
    _write(act, number, problem, plan)
    note_event(act, number, "packs weighed", State.PACKED, f"{plan['packs']} packs")
    return booking.id


def _checked_packed(act: Act, tag: str, packed: Sequence[Packed]) -> None:
    if len(packed) > _MOST_PACKED:
        raise BadValue(f"{len(packed)} lines are too many; {_MOST_PACKED} is the most.")
    there = {(one.lot_id, one.place): one.weight for one in packed_from(act.conn, tag)}
    asked: dict[tuple[str, str], int] = {}
    for one in packed:
        spot = one.lot_id, one.place
        free = there.get(spot)
        if free is None:
            raise NotFound(f"{one.lot_id[:60]} is no free lot of {tag}; break the piece first, or"
                           " choose again.", where=one.lot_id[:60])  # fmt: skip
        asked[spot] = asked.get(spot, 0) + one.weight.count
        if one.weight <= Weight.zero() or not 1 <= one.packs <= 10_000:
            raise BadValue(f"{one.lot_id}: give a weight over 0 and 1 pack or more.",
                           where=one.lot_id)  # fmt: skip
        if asked[spot] > free.count:
            told = f"{free.text()} of {one.lot_id} is free, not {one.weight.text()}; weigh again."
            raise NotEnoughFree(told, where=one.lot_id)


def _weighed_problem(
    act: Act, row: AnyRow, packed: Mapping[int, Sequence[Packed]]
) -> dict[str, Any]:
    """Return the order with its packs, on the weight the break began with; the price stays."""
    unit = WeightUnit(row.problem.get("unit", "lb"))
    parts = []
    for at, part in enumerate(row.problem["parts"]):
        weighed = [
            {"cut": lot_row(act.conn, one.lot_id).what, "packs": one.packs,
             "weight": _decimal_text(one.weight, unit)}
            for one in packed[at]
        ]  # fmt: skip
        agreed = row.plan["parts"][at]
        price = {
            **(part.get("price") or {}), "weight": agreed["hanging_weight"],
            "weight_is": agreed["hanging_is"],
        }  # fmt: skip
        start = _at_the_break(act.conn, part["tag"])
        whole = part["weight"] if start is None else _decimal_text(start, unit)
        parts.append({**part, "weight": whole, "price": price, "weighed": weighed})
    return {**row.problem, "parts": parts}


def _at_the_break(conn: Connection, tag: str) -> Weight | None:
    """Return what a piece weighed when its newest break began; None if it has none."""
    query = select(breaks.c.start, breaks.c.unit).where(breaks.c.lot_id == tag)
    found = conn.execute(query.order_by(breaks.c.number.desc()).limit(1)).first()
    return None if found is None else Weight(found.start, WeightUnit(found.unit))


def _decimal_text(weight: Weight, unit: WeightUnit) -> str:
    return f"{weight.decimal(unit, 11).normalize():f}"


def _money_of_parts(plan: Mapping[str, Any], currency: str) -> list[Money]:
    """Return the total by part: its own hanging money, and fees by its weight, to the cent."""
    total = Money.of(plan["money"]["total"], currency)
    own = [Money.of(part["hanging_money"], currency).minor for part in plan["parts"]]
    weights = [Weight.of(part["weight"], WeightUnit(plan["unit"])) for part in plan["parts"]]
    fees = apportion(total.minor - sum(own), [one.exact(one.unit) for one in weights])
    return [Money(mine + fee, currency) for mine, fee in zip(own, fees, strict=True)]


def _freezer_line(act: Act, species: str, price: UnitPrice) -> str:
    """Return the case line that freezer packs of a species are booked on; added once."""
    name = freezer_line_name(species)
    found = act.conn.scalar(select(case_lines.c.id).where(case_lines.c.name == name))
    if found is not None:
        return str(found)
    shown = UnitPrice(decimal_of(Fraction(price.amount), 2), price.per, price.currency)
    return add_case_line(
        act, NewCaseLine(name, species, shown, KEEPS_DAYS, "whole", form="frozen"),
        why="sold by hanging weight; see the freezer order",
    )  # fmt: skip


def _take(act: Act, booking: Booking, tag: str, packed: Sequence[Packed], money: Money) -> None:
    """Make a lot of each line of packs and promise all of them as one line of the booking."""
    unit = act.settings.legal_unit
    whole = Weight(sum(one.weight.count for one in packed), unit)
    scale = UnitPrice(Decimal(1), unit, money.currency).minor
    price = UnitPrice(decimal_of(money.minor / whole.exact(unit) / scale, _PER_PLACES), unit,
                      money.currency)  # fmt: skip
    case_id = _freezer_line(act, lot_row(act.conn, tag).species, price)
    picks = []
    for one in packed:
        source = lot_row(act.conn, one.lot_id)
        packs = "1 pack" if one.packs == 1 else f"{one.packs} packs"
        lot = NewLot(
            id=next_name(act.conn, one.lot_id), kind="cut", species=source.species,
            what=f"{source.what}, {packs} for {booking.id}"[:120], weight=one.weight,
            since=act.at, farm=source.farm, case_id=case_id,
            use_by=act.at.date() + timedelta(days=KEEPS_DAYS),
            delivery_number=source.delivery_number,
        )  # fmt: skip
        cut_from(act, one.lot_id, (one.place, "case"), lot, "packed for the freezer")
        picks.append(Pick(lot.id, one.weight.count, one.weight.unit.value))
    line = QuoteLine(case_id, "", whole, None, None, price, money)
    number = number_in("H", booking.id, "booking")
    last = select(func.max(booking_lines.c.position)).where(
        booking_lines.c.booking_number == number
    )
    position = int(act.conn.scalar(last) or 0) + 1
    values = line_row(line, position) | {"booking_number": number}
    key = act.conn.execute(insert(booking_lines).values(values)).inserted_primary_key
    assert key is not None
    move(act, picks, ("case", "booked"), "booked", int(key[0]))


def _leave_rest(act: Act, tag: str, told: Mapping[str, Any], unit: WeightUnit) -> None:
    """Put away what is left on the block of a lot that was cut for the order: bone, and saw dust.

    A piece that went over the knife closed by its break; its bone and trim lie in their bins.
    """
    row = lot_row(act.conn, tag)
    if row.piece is not None:
        return
    rest = min(
        Weight.of(told["weighed"]["left_and_loss"], unit).count,
        places_of(act.conn, tag).get("block", 0),
    )
    lost = min(rest, Weight.of(told["loss"], unit).count)
    move(act, [Pick(tag, lost, row.unit)], ("block", "drip"), "saw dust and drip")
    move(act, [Pick(tag, rest - lost, row.unit)], ("block", "bone"), "bone of a freezer order")
