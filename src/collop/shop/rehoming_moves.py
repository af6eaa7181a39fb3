"""The moves for meat that came back: whom it suits, the case, another price, the freezer, mince.

Each move is for the same weight. Money is what the weight brings by that move, from the shop's own
board, pace and demand; figures of freezing and grinding are those of `collop.shop.ageing`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, time
from decimal import Decimal
from fractions import Fraction

from sqlalchemy.engine import Connection

from collop.chalk import markdown
from collop.measures import Money, UnitPrice, Weight, minor_places, round_fraction
from collop.shop.ageing import (
    FREEZE_CHANCE,
    Ageing,
    CaseView,
    convert_of,
    freeze_of,
    markdown_problem,
    selling_days,
)
from collop.shop.bench_wants import load_wants
from collop.shop.hook import bookings_between, load_booking
from collop.shop.model import Booking, BookingLine, CaseLine, State
from collop.shop.pickup_stand_ins import bars, same_meat
from collop.shop.quotes import number_in
from collop.shop.rehoming_model import Homeless, HomeMove
from collop.shop.week_tables import line_works
from collop.shop.works_reading import standing_works

__all__ = ["Item", "moves_for"]

_MOST_BOOKINGS = 3
# the kernel of mark-downs looks no further
_MOST_PERIODS = 60
#: What else a mark-down would weigh up: each is a move of its own here.
_OTHER = ("convert", "freeze")


@dataclass(frozen=True, slots=True)
class Item:
    """What came back of one line of the case, and from which booking."""

    home: Homeless
    line: CaseLine
    number: int


def _money(exact: Fraction, view: CaseView) -> Money:
    scale = 10 ** minor_places(view.chosen.currency)
    return Money(round_fraction(exact * scale, view.chosen.rounding), view.chosen.currency)


def _worth(count: Fraction, price: UnitPrice) -> Fraction:
    """Return counts of weight at a price, in money."""
    return Fraction(count) / Weight.of(1, price.per).count * Fraction(price.amount)


def _plain(amount: str) -> str:
    """Return an amount with at least two decimals, none lost."""
    exponent = Decimal(amount).normalize().as_tuple().exponent
    assert isinstance(exponent, int)
    return f"{Decimal(amount).quantize(Decimal(1).scaleb(min(exponent, -2))):f}"


def _weight(count: Fraction | int, unit: object) -> Weight:
    return Weight(int(count), unit)  # type: ignore[arg-type]


def moves_for(
    conn: Connection, item: Item, view: CaseView, case: Mapping[str, CaseLine]
) -> tuple[HomeMove, ...]:
    """Return the moves for what came back of a line, most money first; none brings nothing.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    item : Item
        What came back; nothing is moved of what is left of it no more, or past its day.
    view : CaseView
        The case with its pace and demand.
    case : mapping of str to CaseLine
        The case by id.
    """
    home = item.home
    if not home.left or home.sell_by is None:
        return ()
    ways = (_feature(conn, item, view), _mark_down(item, view), _freeze(item, view),
            _mince(item, view))  # fmt: skip
    found = [*_suits(conn, item, view, case), *(one for one in ways if one is not None)]
    found = [one for one in found if one.weight and one.money.minor > 0]
    return tuple(sorted(found, key=lambda one: (-one.money.minor, one.way, one.words)))


def _older(item: Item, view: CaseView) -> int:
    """Return what of the line was free beside what came back, in counts: it sells first."""
    return max(0, view.free(item.line.id) - item.home.left.count)


def _sells(pace: Fraction, view: CaseView, item: Item) -> Fraction:
    assert item.home.sell_by is not None
    periods, share = selling_days(view.now, item.home.sell_by.date(), view.chosen)
    return pace * (periods - 1 + Fraction(str(share))) if periods else Fraction(0)


def _room(conn: Connection, item: Item, view: CaseView) -> tuple[Fraction, str]:
    """Return what more of a line sells in time at the board, in counts, and of which line's pace.

    What was made on the spot has no pace yet: it takes its part of what its parent would sell.
    """
    pace = view.pace_now(item.line.id)
    if pace is not None:
        return _sells(pace, view, item) - _older(item, view), item.line.name
    made = standing_works(conn, line_works.c.into_case == item.line.id)
    if not made:
        return Fraction(0), ""
    row = made[-1]
    parent = view.pace_now(row.from_case)
    if parent is None:
        return Fraction(0), ""
    more = _sells(parent, view, item) - view.free(row.from_case)
    return more * Fraction(row.after, row.before), view.lines[row.from_case].name


def _feature(conn: Connection, item: Item, view: CaseView) -> HomeMove | None:
    home = item.home
    room, of = _room(conn, item, view)
    count = min(Fraction(home.left.count), max(Fraction(0), room))
    weight = _weight(count, home.left.unit)
    if not weight:
        return None
    assert home.sell_by is not None
    pace = "its usual pace" if of == item.line.name else f"the usual pace of {of}"
    words = (
        f"Put it in front: {weight.text()} more sells at {home.price.amount:f} by"
        f" {home.sell_by:%a %H:%M} at {pace}."
    )
    return HomeMove("feature", weight, _money(_worth(Fraction(weight.count), home.price), view),
                    words)  # fmt: skip


def _mark_down(item: Item, view: CaseView) -> HomeMove | None:
    home, pace = item.home, view.pace_now(item.line.id)
    price = view.board.get(item.line.id)
    if not pace or price is None or home.sell_by is None:
        return None
    last = home.use_by or home.sell_by.date()
    periods, share = selling_days(view.now, last, view.chosen)
    if not 0 < periods <= _MOST_PERIODS:
        return None
    due = sum(count for day, count in view.stock.get(item.line.id, ()) if day <= last)
    count = max(due, home.left.count)
    one = Ageing(view.lines[item.line.id], price, count, last, periods, share, pace)
    elasticity = float(view.demand(item.line.id)["elasticity"])
    plan = markdown(markdown_problem(view, one, elasticity) | dict.fromkeys(_OTHER))
    now = plan["price_now"]
    if now is None or Fraction(now) >= Fraction(one.price.amount):
        return None
    sold = sum((Fraction(step["sells"]) for step in plan["steps"]), Fraction(0))
    unit, older = Weight.of(1, view.chosen.legal_unit).count, count - home.left.count
    part = min(Fraction(home.left.count), sold * unit - older)
    weight = _weight(max(part, Fraction(0)), view.chosen.legal_unit)
    brings = sum((Fraction(step["sells"]) * Fraction(step["price"]) for step in plan["steps"]),
                 Fraction(0))  # fmt: skip
    # what was there before would have sold at the board: only what comes on top counts
    brings -= _worth(min(Fraction(older), one.will_sell), price)
    marked = UnitPrice.of(now, view.chosen.legal_unit, view.chosen.currency)
    words = (
        f"Mark all of it down from {price.amount:f} to {now}: {weight.text()} of this sells by"
        f" {last:%a %d %b}, and what was there before goes at that price too."
    )
    return HomeMove("mark-down", weight, _money(brings, view), words, price=marked)


def _freeze(item: Item, view: CaseView) -> HomeMove | None:
    home, line = item.home, view.lines[item.line.id]
    told = freeze_of(view, line, home.use_by) if home.use_by is not None else None
    if told is None:
        return None
    units = Fraction(home.left.count, Weight.of(1, view.chosen.legal_unit).count)
    gives = Fraction(str(told["yield"])) * Fraction(str(told["price"])) * FREEZE_CHANCE
    exact = units * (gives - Fraction(told["cost_per_unit"]))
    words = (
        f"Freeze {home.left.text()} as portions, labelled: at {_plain(told['price'])} and a"
        f" chance of {float(100 * FREEZE_CHANCE):.0f} % that they sell, less wrapping and keeping."
    )
    return HomeMove("freeze", home.left, _money(exact, view), words)


def _mince(item: Item, view: CaseView) -> HomeMove | None:
    home, line = item.home, view.lines[item.line.id]
    assert home.sell_by is not None
    periods, share = selling_days(view.now, home.use_by or home.sell_by.date(), view.chosen)
    told = convert_of(view, line, periods, share)
    if told is None:
        return None
    unit = Weight.of(1, view.chosen.legal_unit).count
    count = min(home.left.count, int(Fraction(told["takes"]) * unit))
    gives = Fraction(str(told["yield"])) * Fraction(told["price"]) - Fraction(
        told["labour_per_unit"]
    )
    weight = Weight(count, home.left.unit)
    words = (
        f"Bone and grind {weight.text()} into {told['to']} at {_plain(told['price'])}, less the"
        " labour; more would not sell in time."
    )
    return HomeMove("mince", weight, _money(Fraction(count, unit) * gives, view), words)


def _suits(
    conn: Connection, item: Item, view: CaseView, case: Mapping[str, CaseLine]
) -> Iterator[HomeMove]:
    """Yield bookings that want this line or like meat, and those it could go to instead."""
    home = item.home
    assert home.sell_by is not None
    if not home.is_meat:
        return
    end = datetime.combine(home.use_by or home.sell_by.date(), time.max)
    found = [*_wanted(conn, item, view, case, end)]
    first = view.today
    for booking in bookings_between(conn, first, end.date(), view.chosen):
        if booking.state.holds and booking.collect_at >= view.now:
            for line in booking.standing:
                move = _instead(item, view, case, booking, line)
                if move is not None:
                    found.append(move)
    found.sort(key=lambda one: -one.money.minor)
    yield from found[:_MOST_BOOKINGS]


def _is_like(one: CaseLine, other: CaseLine) -> bool:
    """Tell whether one may stand for the other: like meat for a like dish, no link for a cut."""
    same = (one.species, one.cook_as, one.casing) == (other.species, other.cook_as, other.casing)
    return same and bool(set(one.styles) & set(other.styles))


def _wanted(
    conn: Connection, item: Item, view: CaseView, case: Mapping[str, CaseLine], end: datetime
) -> Iterator[HomeMove]:
    for want in load_wants(conn, view.chosen):
        number = number_in("H", want.booking_id, "booking")
        line = case.get(want.case_id)
        if number == item.number or line is None or not want.left or want.collect_at > end:
            continue
        weight: Weight | None = want.left
        if line.id != item.line.id:
            if not _is_like(line, item.line):
                continue
            weight = same_meat(want.left, line.boneless_fraction, item.line.boneless_fraction)
        booking = load_booking(conn, number, view.chosen)
        if weight is None or bars(booking, line, item.line):
            continue
        weight = min(weight, item.home.left)
        words = (
            f"{booking.id} {booking.name} ({booking.collect_at:%a %H:%M}) still wants"
            f" {want.left.text()} of {line.name}: {weight.text()} of this"
            + ("." if line.id == item.line.id else " feeds as many.")
        )
        money = _money(_worth(Fraction(weight.count), item.home.price), view)
        yield HomeMove("booking", weight, money, words, booking=booking.id)


def _instead(
    item: Item, view: CaseView, case: Mapping[str, CaseLine], booking: Booking, line: BookingLine
) -> HomeMove | None:
    """Return the offer to a booking that has like meat, if the till gains by it."""
    booked = case.get(line.case_id)
    if booked is None or booked.id == item.line.id or booked.species == "none":
        return None
    shared = set(booked.styles) & set(item.line.styles)
    is_open = booking.state is State.ASKED
    if not shared or not (is_open or _is_like(booked, item.line)) or line.pieces is not None:
        return None
    if bars(booking, booked, item.line):
        return None
    short = bool(line.missing)
    gap = line.missing if short else line.to_swap
    weight = same_meat(gap, booked.boneless_fraction, item.line.boneless_fraction)
    if weight is None or weight > item.home.left:
        return None
    worth = _worth(Fraction(weight.count), item.home.price)
    if short:
        money, how = worth, f"is {gap.text()} short of {line.name}: top it up with"
    else:
        money = worth - Fraction(line.line_total.decimal())
        asked = "asks for" if is_open else "has"
        how = f"{asked} {line.weight.text()} of {line.name}: offer instead"
    words = (
        f"{booking.id} {booking.name} ({booking.collect_at:%a %H:%M}) {how} {weight.text()} of"
        " this" + ("." if short else f", and {line.name} is free again.")
    )
    return HomeMove("booking", weight, _money(money, view), words, booking=booking.id)
