"""Where the lines of the bench come from: bookings, wants, bookings on the rail, and makes.

What is promised is read from the shop's own tables, what is to be made from the kept plan. Nothing
here knows of marks; `collop.shop.bench_list` puts both together.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.fire.ruling import ruling_cook_as
from collop.measures import Weight, WeightUnit
from collop.reference import ALLERGENS, allergen_named
from collop.shop.bench_list_model import BenchLine, Kind, Station
from collop.shop.bench_model import Want
from collop.shop.bench_wants import load_wants
from collop.shop.clean_downs import cook_f
from collop.shop.freezer_words import freezer_words
from collop.shop.hook import booking_id, bookings_between
from collop.shop.knife_tables import rail_claims
from collop.shop.model import Booking, BookingLine, Settings, State
from collop.shop.pickup_stand_ins import told_allergens
from collop.shop.quotes import number_in
from collop.shop.store import AnyRow
from collop.shop.tables import booking_events, bookings, case_lines, lots

__all__ = ["PAST_DAYS", "Facts", "Work", "cares_of", "last_day", "work_of"]

#: Bookings that were due before this many days are not looked at any more.
PAST_DAYS = 14
#: What is due within so many open days after today is on the list as well.
_AHEAD_OPEN_DAYS = 2
#: A make or a grind of less is a crumb of the plan's sums and no work (a figure of ours).
_LEAST_MAKE = Weight.of("0.1", WeightUnit.LB)
_SHOWN = frozenset({State.BOOKED, State.CUT, State.PACKED, State.GONE})
_DISHES = {"plate": "on the plate", "shared": "to share", "hand": "in the hand",
           "wrap": "in a wrap", "stew": "to stew", "skewers": "on skewers"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Facts:
    """What the case says of one of its lines."""

    name: str
    species: str
    form: str
    contains: tuple[str, ...]
    casing: str | None
    cook_as: str

    @property
    def station(self) -> Station:
        """Return where such goods are worked on."""
        if self.species == "none" or self.form != "fresh":
            return Station.PACKING
        if self.casing:
            return Station.FILLER
        if self.cook_as == "ground":
            return Station.GRINDER
        return Station.BOWL if self.contains else Station.BLOCK

    @property
    def how(self) -> tuple[str, ...]:
        """Return what the case line alone tells the hands."""
        return ("from the freezer",) if self.form == "frozen" else ()


@dataclass(frozen=True, slots=True)
class Work:
    """All lines of work before marks: `lines`, and which of them still wait to be done.

    `states` is how far each booking that was looked at has come, by its id.
    """

    lines: tuple[BenchLine, ...]
    waiting: frozenset[str]
    states: Mapping[str, State]


def last_day(day: date, chosen: Settings) -> date:
    """Return the last day whose bookings are on the list of `day`."""
    found, left = day, _AHEAD_OPEN_DAYS
    for later in range(1, 15):
        if not left:
            break
        found = day + timedelta(days=later)
        left -= chosen.is_open(found)
    return found


def _facts(conn: Connection) -> dict[str, Facts]:
    rows = conn.execute(select(case_lines))
    return {
        row.id: Facts(row.name, row.species, row.form, tuple(str(one) for one in row.contains),
                      row.casing, ruling_cook_as(row.species, row.cook_as, casing=row.casing,
                                                 name=row.name))
        for row in rows
    }  # fmt: skip


def _allergies(booking: Booking) -> tuple[str, ...]:
    """Return the allergies of those who eat: as asked, and as written where it says allergy."""
    found = list(told_allergens(booking))
    for text in (str(booking.ask.get("eaters", "")), booking.note):
        if "allerg" in text.casefold():
            words = re.findall(r"[^\W\d_]+", text)
            pairs = [f"{one} {two}" for one, two in pairwise(words)]
            found += [name for name in map(allergen_named, [*pairs, *words]) if name]
    return tuple(dict.fromkeys(found))


def _covers(name: str) -> frozenset[str]:
    known = allergen_named(name)
    return ALLERGENS[known].covers if known else frozenset({name.casefold()})


def cares_of(booking: Booking, contains: Iterable[str]) -> tuple[str, ...]:
    """Return what must be looked after for those who eat it."""
    inside: set[str] = set()
    for one in contains:
        inside |= _covers(one)
    found = [
        f"{name} allergy: this holds {name}, ask before it is cut"
        if _covers(name) & inside
        else f"{name} allergy: clean first"
        for name in _allergies(booking)
    ]
    return (*found, *(str(one) for one in booking.ask.get("dont_eats", ())))


def _line(
    facts: Facts, line_id: str, kind: Kind, weight: Weight, booking: Booking, **more: Any,  # noqa: ANN401 -- fields of the line
) -> BenchLine:  # fmt: skip
    return BenchLine(
        id=line_id, kind=kind, station=facts.station, what=facts.name, species=facts.species,
        weight=weight, due=booking.collect_at, booking_id=booking.id, who=booking.name,
        contains=facts.contains, casing=facts.casing, cares=cares_of(booking, facts.contains),
        cook_f=cook_f(facts.cook_as), note=booking.note, **more,
    )  # fmt: skip


def _booked(line: BookingLine, booking: Booking, facts: Facts) -> BenchLine:
    style = (_DISHES.get(line.style, line.style),) if line.style else ()
    weight = line.ready or line.weight
    return _line(facts, line.id, Kind.BOOKED, weight, booking, case_id=line.case_id,
                 pieces=line.pieces, how=facts.how + style)  # fmt: skip


def _claims(conn: Connection, numbers: Iterable[int]) -> list[AnyRow]:
    rows = conn.execute(
        select(rail_claims, lots.c.species, lots.c.what)
        .join(lots, lots.c.id == rail_claims.c.lot_id)
        .where(rail_claims.c.booking_number.in_(list(numbers)))
        .order_by(rail_claims.c.seq)
    )
    return list(rows)


def _claimed(row: AnyRow, booking: Booking, card: str) -> BenchLine:
    facts = Facts(f"{row.lot_id}, {row.what}", row.species, "fresh", (), None, "whole")
    return _line(facts, f"{booking.id}@{row.lot_id}", Kind.HANGS,
                 Weight(row.weight, WeightUnit(row.unit)), booking,
                 how=tuple(dict.fromkeys(one for one in (row.note, card) if one)))  # fmt: skip


def _made_by(makes: Iterable[BenchLine], case_id: str, due: datetime) -> tuple[str, ...]:
    """Return from which make a want is filled, if the plan has one in time."""
    days = [one.due for one in makes if one.case_id == case_id and one.due.date() <= due.date()]
    return (f"from the make of {max(days):%a}",) if days else ()


def _wanted(want: Want, booking: Booking, facts: Facts, makes: Iterable[BenchLine]) -> BenchLine:
    note = (want.note,) if want.note else ()
    made = _made_by(makes, want.case_id, booking.collect_at)
    return _line(facts, _want_id(want), Kind.WANTED, want.left, booking, case_id=want.case_id,
                 how=facts.how + note + made)  # fmt: skip


def _want_id(want: Want) -> str:
    return f"{want.booking_id}+{want.case_id}"


def _fat(make: Mapping[str, Any]) -> tuple[str, ...]:
    fat = make.get("fat")
    return () if fat is None else (f"{round(100 * float(fat))} % fat",)


def _to_trim(name: str) -> str:
    return f"{name}, to trim" if "," in name else f"{name} to trim"


def _grinds(
    plan: Mapping[str, Any], facts: Mapping[str, Facts], days: tuple[date, date], chosen: Settings
) -> list[BenchLine]:
    """Return the cuts that the plan grinds into its bins on the list's days."""
    unit = WeightUnit(plan["unit"])
    bins = {one["id"]: one["name"] for one in plan["bins"]}
    found = []
    for grind in plan.get("grinds", ()):
        day = date.fromisoformat(plan["days"][grind["day"]])
        known = facts.get(grind["cut"])
        weight = Weight.of(grind["weight"], unit)
        if known is None or weight < _LEAST_MAKE or not days[0] <= day <= days[1]:
            continue
        found.append(
            BenchLine(
                id=f"grind {grind['cut']} {grind['bin']} {day}", kind=Kind.GRIND,
                station=Station.GRINDER, what=_to_trim(known.name), species=known.species,
                weight=weight, due=datetime.combine(day, chosen.closes),
                how=(*known.how, f"gives {Weight.of(grind['gives'], unit).text()}"),
                case_id=grind["cut"], who=bins.get(grind["bin"], grind["bin"]),
                contains=known.contains,
                # poultry stays poultry; any other meat is cooked as ground from here on
                cook_f=cook_f("poultry" if known.cook_as == "poultry" else "ground"),
            )
        )  # fmt: skip
    return found


def _makes(
    plan: Mapping[str, Any], facts: Mapping[str, Facts], days: tuple[date, date], chosen: Settings
) -> list[BenchLine]:
    """Return the makes and grinds of the plan that fall on the list's days."""
    unit = WeightUnit(plan["unit"])
    bins = {one["id"]: one["name"] for one in plan["bins"]}
    found = _grinds(plan, facts, days, chosen)
    for make in plan["makes"]:
        day = date.fromisoformat(plan["days"][make["day"]])
        known = facts.get(make["cut"])
        weight = Weight.of(make["weight"], unit)
        if known is None or weight < _LEAST_MAKE or not days[0] <= day <= days[1]:
            continue
        taken = tuple(
            f"{Weight.of(one['weight'], unit).text()} {bins.get(one['bin'], one['bin'])}"
            for one in make["from"]
        )
        found.append(
            BenchLine(
                id=f"make {make['cut']} {day}", kind=Kind.MAKE, station=known.station,
                what=known.name, species=known.species, weight=weight,
                due=datetime.combine(day, chosen.closes), how=(*known.how, *taken, *_fat(make)),
                case_id=make["cut"], who="the case", contains=known.contains, casing=known.casing,
                cook_f=cook_f(known.cook_as),
            )
        )  # fmt: skip
    return found


def _shorts(plan: Mapping[str, Any] | None) -> dict[tuple[str, str], Weight]:
    """Return how much the plan cannot cover, by booking and cut."""
    if plan is None:
        return {}
    return {
        (one["booking"], one["cut"]): Weight.of(one["weight"], WeightUnit(plan["unit"]))
        for one in plan["short"]
    }


def _states(conn: Connection, first: date, last: date) -> dict[str, State]:
    """Return how far the bookings of these days have come."""
    start, end = datetime.combine(first, time.min), datetime.combine(last, time.max)
    of_days = select(bookings.c.number).where(bookings.c.collect_at.between(start, end))
    newest = (
        select(func.max(booking_events.c.seq))
        .where(booking_events.c.booking_number.in_(of_days))
        .group_by(booking_events.c.booking_number)
    )
    rows = conn.execute(
        select(booking_events.c.booking_number, booking_events.c.state).where(
            booking_events.c.seq.in_(newest)
        )
    )
    return {booking_id(row.booking_number): State(row.state) for row in rows}


def _waits(line: BenchLine, booking: Booking, wanted_at: Mapping[str, datetime]) -> bool:
    """Tell whether a line is still to be done: of a booking that is cut, only a later want is."""
    if booking.state is State.BOOKED:
        return True
    at = wanted_at.get(line.id)
    cut = next((one.at for one in reversed(booking.events) if one.what == "state"), None)
    return booking.state is State.CUT and at is not None and (cut is None or at > cut)


def work_of(conn: Connection, day: date, chosen: Settings, plan: Mapping[str, Any] | None) -> Work:
    """Return the lines of work of a day, those that are overdue, and those that come next.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    day : date
        The day of the list.
    chosen : Settings
        The shop's.
    plan : mapping, optional
        The kept ``collop.bench.plan/1``; left out, there are no makes and grinds.
    """
    first, last = day - timedelta(days=PAST_DAYS), last_day(day, chosen)
    facts = _facts(conn)
    found = {
        number_in("H", one.id, "booking"): one
        for one in bookings_between(conn, first, last, chosen)
        if one.state in _SHOWN
    }
    makes = [] if plan is None else _makes(plan, facts, (day, last), chosen)
    lines = [
        _booked(line, one, facts[line.case_id]) for one in found.values() for line in one.standing
    ]
    by_id = {one.id: one for one in found.values()}
    wants = [
        one
        for one in load_wants(conn, chosen)
        if one.left and one.booking_id in by_id and one.case_id in facts
    ]
    lines += [_wanted(one, by_id[one.booking_id], facts[one.case_id], makes) for one in wants]
    cards = freezer_words(conn, found)
    lines += [
        _claimed(row, found[row.booking_number], cards.get((row.booking_number, row.lot_id), ""))
        for row in _claims(conn, found)
    ]
    wanted_at = {_want_id(one): one.at for one in wants}
    waiting = {line.id for line in lines if _waits(line, by_id[line.booking_id or ""], wanted_at)}
    return Work(
        lines=tuple(_with_short(lines, _shorts(plan))) + tuple(makes),
        waiting=frozenset(waiting | {one.id for one in makes}),
        states=_states(conn, first, last),
    )


def _with_short(
    lines: Iterable[BenchLine], shorts: Mapping[tuple[str, str], Weight]
) -> Iterable[BenchLine]:
    """Yield the lines with what is short; of a cut that is reserved and wanted, on the want."""
    lines = tuple(lines)
    wanted = {(one.booking_id, one.case_id) for one in lines if one.kind is Kind.WANTED}
    for line in lines:
        said = shorts.get((line.booking_id or "", line.case_id or ""))
        is_other = line.kind is Kind.BOOKED and (line.booking_id, line.case_id) in wanted
        yield replace(line, short=said) if said and not is_other else line
