"""From the shop's books to the problem of a ticket: what is in the pack, and what it says."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound, WrongState
from collop.fire.methods import cook_as_of
from collop.measures import UnitPrice, Weight, WeightUnit, decimal_of
from collop.rules.choosing import in_force
from collop.shop.board import board_at, price_text
from collop.shop.fire_cooks import load_cooks
from collop.shop.fire_model import CaseCook
from collop.shop.hook import booking_id, load_booking
from collop.shop.ledger import held_by
from collop.shop.model import Settings, State
from collop.shop.quotes import number_in
from collop.shop.store import AnyRow
from collop.shop.tables import booking_lines
from collop.shop.ticket_facts import facts_as_json
from collop.shop.ticket_model import LabelFacts, NewTicket, Scale, ticket_id
from collop.shop.week_tables import line_works
from collop.shop.works_case import kept_price
from collop.shop.works_reading import standing_works
from collop.spread.contents import tags_of

__all__ = ["BookedLine", "Parts", "board_price", "booked_line", "problem_of",
           "usual_codes", "usual_scale", "weight_text"]  # fmt: skip

#: Step and capacity of a usual counter scale: common practice, no published source. What stands
#: on the plate of the shop's own scale comes first.
_SCALES = {WeightUnit.LB: ("0.01", "30.00"), WeightUnit.KG: ("0.005", "15.000")}
_PLACES = 6


class BookedLine(NamedTuple):
    """The promised line a ticket is for: its row, lots, what was weighed, day of collection.

    `made` is what its work became, by line of the case: what that weighed before and after.
    """

    row_id: int
    case_id: str
    name: str
    price: UnitPrice
    lots: tuple[str, ...]
    weight: Weight
    weighed: Weight | None
    collect_on: date
    made: Mapping[str, tuple[Weight, Weight]]

    def price_as(self, case_id: str) -> UnitPrice:
        """Return the promised price; of what work became, the one that keeps its value."""
        if case_id not in self.made:
            return self.price
        return kept_price(self.price, *self.made[case_id])


def usual_scale(unit: WeightUnit) -> Scale:
    """Return the scale that is taken where nobody said what stands on its plate."""
    division, capacity = _SCALES[unit]
    return Scale(Weight.of(division, unit), Weight.of(capacity, unit))


def weight_text(weight: Weight, unit: WeightUnit) -> str:
    """Return a weight as decimal text in `unit`: two decimals at least, none lost.

    Raises
    ------
    BadValue
        If it is finer than six decimals.
    """
    exact = weight.exact(unit)
    value = decimal_of(exact, _PLACES)
    if Fraction(value) != exact:
        told = weight.text(places=6)
        raise BadValue(f"{told} is no reading of a scale in {unit}; read it again.", where="gross")
    value = value.normalize()
    exponent = value.as_tuple().exponent
    assert isinstance(exponent, int)
    return f"{value.quantize(Decimal(1).scaleb(min(exponent, -2))):f}"


def booked_line(conn: Connection, name: str, chosen: Settings) -> BookedLine:
    """Return the line of a booking, such as ``H2-1``.

    Raises
    ------
    NotFound
        If there is none.
    WrongState
        If its booking is only asked for, or off.
    """
    booked, _, place = name.strip().upper().partition("-")
    number = number_in("H", booked, "booking")
    booking = load_booking(conn, number, chosen)
    line = next((one for one in booking.lines if one.id == f"{booking.id}-{place}"), None)
    if line is None:
        raise NotFound(f"{booking.id} has no line {name[:40]!r}; look at its slip.",
                       where="booking_line")  # fmt: skip
    if booking.state in {State.ASKED, State.OFF}:
        raise WrongState(f"{booking.id} is {booking.state}, so there is no ticket for it.")
    if line.off:
        raise WrongState(f"{line.name} ({line.id}) is off, so there is no ticket for it.")
    where = (booking_lines.c.booking_number == number, booking_lines.c.position == int(place))
    row_id: int = conn.execute(select(booking_lines.c.id).where(*where)).scalar_one()
    lots = tuple(dict.fromkeys(one.lot_id for one in held_by(conn, row_id)))
    return BookedLine(row_id, line.case_id, f"{booking_id(number)}-{place}", line.unit_price,
                      lots or line.lots, line.weight, line.weighed,
                      booking.collect_at.date(), _made(conn, row_id))  # fmt: skip


def _made(conn: Connection, row_id: int) -> dict[str, tuple[Weight, Weight]]:
    """Return what work on a booked line became, by line of the case, before and after."""
    found: dict[str, tuple[Weight, Weight]] = {}
    for row in standing_works(conn, line_works.c.booking_line_id == row_id):
        unit = WeightUnit(row.unit)
        before, after = found.get(row.into_case, (Weight.zero(unit), Weight.zero(unit)))
        found[row.into_case] = (before + Weight(row.before, unit), after + Weight(row.after, unit))
    return found


def board_price(conn: Connection, case_id: str, at: datetime, currency: str) -> UnitPrice | None:
    """Return the price on the board now; None if the line has none."""
    return board_at(conn, at, currency).get(case_id)


def usual_codes(facts: LabelFacts) -> tuple[str, ...]:
    """Return the bar codes of a ticket nobody chose: the till's, if it has one, and ours."""
    return (*(("upc-a",) if facts.item else ()), "qr")


class Parts(NamedTuple):
    """What a ticket is made of, all of it read from the shop's books."""

    line: AnyRow
    facts: LabelFacts
    price: UnitPrice | None
    tare: Weight | None
    use_by: date | None
    today: date
    rules: Mapping[str, str]


def problem_of(
    conn: Connection, new: NewTicket, parts: Parts, chosen: Settings, *, number: int | None
) -> dict[str, Any]:
    """Return the ``collop.ticket/1`` problem of a ticket; what nobody told is null.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    new : NewTicket
        What somebody wants.
    parts : Parts
        What the books say of it.
    chosen : Settings
        The shop's.
    number : int or None
        Of the ticket; None before it is printed.
    """
    unit, scale = chosen.legal_unit, new.scale or usual_scale(chosen.legal_unit)
    ticket = None if number is None else ticket_id(number)
    return {
        "schema": "collop.ticket/1",
        "ticket": ticket,
        "form": {"size": new.size, "dpi": new.dpi},
        "shop": {"name": chosen.name, "place": chosen.place, "establishment": None},
        "product": _product(conn, parts),
        "weight": {
            "gross": None if new.gross is None else weight_text(new.gross, unit),
            "tare": None if parts.tare is None else weight_text(parts.tare, unit),
            "unit": unit.value,
            "division": weight_text(scale.division, unit),
            "capacity": weight_text(scale.capacity, unit),
        },
        "price": None
        if parts.price is None
        else {
            "amount": price_text(parts.price),
            "per": parts.price.per.value,
            "currency": chosen.currency,
        },
        "lot": new.lot,
        "packed": parts.today.isoformat(),
        "use_by": None if parts.use_by is None else parts.use_by.isoformat(),
        "date_words": in_force("date_words", parts.rules),
        "codes": list(usual_codes(parts.facts) if new.codes is None else new.codes),
        "trace": ticket,
        "rounding": chosen.rounding.value,
        "weight_unit_also": True,
        "keep_at_most_f": in_force("cold_limit_f", parts.rules),
        "vacuum_days": int(in_force("pack_days", parts.rules)),
    }


def _product(conn: Connection, parts: Parts) -> dict[str, Any]:
    line, kept = parts.line, facts_as_json(parts.facts)
    return {
        "name": line.name,
        "species": line.species,
        "class": kept["class"],
        "cook_as": _cook_as(conn, line, parts.facts),
        **{key: kept[key] for key in ("item", "gtin", "ingredients", "contains")},
        "casing": line.casing,
        **{key: kept[key] for key in ("lean_pct", "fat_pct", "tenderised")},
        "frozen": line.form == "frozen" and not parts.facts.previously_frozen,
        "previously_frozen": parts.facts.previously_frozen,
        "vacuum": parts.facts.vacuum,
        "origin": kept["origin"],
    }


def _cook_as(conn: Connection, line: AnyRow, facts: LabelFacts) -> str:
    """Return by which published minimum the food is cooked; none for what is ready to eat."""
    if facts.product_class in {"ready to eat", "meat-free"}:
        return "none"
    cook = load_cooks(conn).get(line.id) or CaseCook()
    tags = tags_of(line.species, line.casing, line.contains)
    pierced = "tenderised" if facts.tenderised != "no" else "whole"
    return cook_as_of(
        line.cook_as, name=line.name, casing=line.casing, form=cook.form,
        treatment=cook.treatment or pierced,
        species={tag.name for tag in tags if tag.kind == "species"} or {"meat"},
    )  # fmt: skip
