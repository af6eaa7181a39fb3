"""The season sheet: what bookings need in animals, what hangs, what is ordered, what is short.

Of each cut what is needed is divided by what one animal gives of it; the cut with the most animals
decides, as one animal gives all of its cuts:

    booked = the most of (booked of a cut / what one animal gives of it)
    short = the most of (needed of a cut, less what hangs and is ordered for the week) / gives,
            rounded up

Each week stands alone: what is left of an animal does not keep for the next.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from fractions import Fraction
from math import ceil
from typing import Any

from sqlalchemy.engine import Connection

from collop.measures import Weight, WeightUnit, sum_money
from collop.shop.bench_look import Look, load_look
from collop.shop.bench_problem_rail import outputs_of
from collop.shop.bench_wants import load_wants
from collop.shop.case import load_case
from collop.shop.farm_animals import animal_parts
from collop.shop.farm_orders import load_farm_orders
from collop.shop.hook import bookings_between
from collop.shop.knife_model import RailPiece
from collop.shop.model import Booking, CaseLine, Settings
from collop.shop.own_yields import own_yields
from collop.shop.railing import load_rail
from collop.shop.season_model import FarmOrder, LongList, SeasonCell, SeasonRow, SeasonWeek
from collop.shop.standing_due import due_of
from collop.shop.standing_rows import load_standing
from collop.shop.styles import styles_for

__all__ = ["HANGS_DAYS", "SMALL_CUT", "long_list"]

#: A piece without a day is counted in the week in which it has hung so many days: figures of ours
#: (common practice, no published source).
HANGS_DAYS: Mapping[str, int] = {"beef": 14}
#: A cut that is less than so much of its animal is a small one: short of it alone, nobody orders an
#: animal. A figure of ours (common practice, no published source).
SMALL_CUT = Fraction(1, 50)
_WEEK = timedelta(weeks=1)
_NONE = Fraction(0)
_MEAT_FREE = "none"
_By = dict[str, Fraction]


@dataclass(frozen=True, slots=True)
class _Sort:
    """One sort of animal: what one of it weighs [counts], and gives of each line [counts]."""

    species: str
    name: str
    weight: Fraction
    gives: Mapping[str, Fraction]


@dataclass(slots=True)
class _Need:
    """What a week needs: reserved and open weight by line, and rail weight claimed by species."""

    reserved: _By = field(default_factory=lambda: defaultdict(Fraction))
    open: _By = field(default_factory=lambda: defaultdict(Fraction))
    claimed: _By = field(default_factory=lambda: defaultdict(Fraction))


@dataclass(slots=True)
class _Hung:
    """What hangs for a week, by species: weight not claimed, its tags, and cuts by line."""

    weight: _By = field(default_factory=lambda: defaultdict(Fraction))
    tags: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    cuts: _By = field(default_factory=lambda: defaultdict(Fraction))


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


def _gives(kind: Mapping[str, Any]) -> _By:
    """Return the share of each line, by the first style that gives it."""
    found: _By = {}
    for style in kind["styles"]:
        here: _By = defaultdict(Fraction)
        for row in style["outputs"]:
            if "cut" in row:
                here[row["cut"]] += Fraction(row["share"])
        found = {**here, **found}
    return found


def _sorts(conn: Connection, look: Look, case: Sequence[CaseLine]) -> list[_Sort]:
    """Return the animals that come here, the newest sort of each species, and the birds."""
    parts = animal_parts(conn, look)
    found: dict[str, _Sort] = {}
    for animal, kind in zip(parts.animals, parts.kinds, strict=True):
        weight = Fraction(animal["weight"]) * look.unit
        gives = {cut: share * weight for cut, share in _gives(kind).items()}
        found[kind["species"]] = _Sort(kind["species"], animal["name"], weight, gives)
    birds = []
    for line in case:
        if line.species in (*found, _MEAT_FREE) or not line.piece_lb:
            continue
        mean = Fraction(sum(one.count for one in line.piece_lb), len(line.piece_lb))
        birds.append(_Sort(line.species, line.name, mean, {line.id: mean}))
    return [*found.values(), *birds]


def _needs(
    conn: Connection, now: datetime, chosen: Settings, bookings: Iterable[Booking], last: date
) -> dict[date, _Need]:
    found: dict[date, _Need] = defaultdict(_Need)
    for booking in bookings:
        need = found[_monday(booking.collect_at.date())]
        for line in booking.standing:
            need.reserved[line.case_id] += line.weight.count
    for want in load_wants(conn, chosen):
        found[_monday(want.collect_at.date())].open[want.case_id] += want.left.count
    for order in load_standing(conn):
        for due in due_of(order, now, last, chosen):
            need = found[_monday(due.collect_at.date())]
            for asked in order.terms.lines:
                weight = asked.weight if asked.cap is None else min(asked.weight, asked.cap)
                need.open[asked.case_id] += weight.count
    return found


def _week_of(piece: RailPiece, today: date) -> date:
    """Return the Monday of the week a piece is counted in."""
    day = piece.break_on
    if day is None:
        rests = HANGS_DAYS.get(piece.species, 0) - piece.days
        day = today + timedelta(days=max(0, rests))
    return _monday(max(day, today))


def _hung(
    conn: Connection, look: Look, rail: Sequence[RailPiece], needs: Mapping[date, _Need],
    collected: Mapping[str, date],
) -> dict[date, _Hung]:  # fmt: skip
    """Return what hangs by week; what bookings claim of it is theirs."""
    today = look.view.now.date()
    found: dict[date, _Hung] = defaultdict(_Hung)
    shares: dict[str, _By] = {}
    for piece in rail:
        hung = found[_week_of(piece, today)]
        claimed = sum(one.weight.count for one in piece.claims)
        for one in piece.claims:
            if one.booking_id in collected:
                monday = _monday(collected[one.booking_id])
                needs[monday].claimed[piece.species] += one.weight.count
        free = Fraction(max(0, piece.weight_now.count - claimed))
        hung.weight[piece.species] += free
        hung.tags[piece.species].append(piece.tag)
        for style in styles_for(look.styles, piece.piece, piece.species)[:1]:
            if style.id not in shares:
                rows = outputs_of(look, style, own_yields(conn, style).parts)
                shares[style.id] = _gives({"styles": [{"outputs": rows}]})
            for cut, share in shares[style.id].items():
                hung.cuts[cut] += share * free
    return found


def _two(of: Mapping[str, Fraction], sort: _Sort) -> list[tuple[Fraction, str]]:
    """Return the two lines that need the most animals, with how many; the first decides."""
    needs = [(of[cut] / gives, cut) for cut, gives in sort.gives.items()
             if gives and of.get(cut, _NONE) > 0]  # fmt: skip
    needs.sort(key=lambda one: -one[0])
    return [*needs, (_NONE, ""), (_NONE, "")][:2]


def _ordered(sort: _Sort, orders: Iterable[FarmOrder], monday: date) -> int:
    return sum(
        one.left for one in orders
        if one.species == sort.species and _monday(one.for_day) == monday
        and (one.what.casefold() == sort.name.casefold() or len(sort.gives) > 1)
    )  # fmt: skip


def _cell(
    sort: _Sort, need: _Need, hung: _Hung, ordered: int, names: Mapping[str, str]
) -> SeasonCell:
    both = {cut: need.reserved.get(cut, _NONE) + need.open.get(cut, _NONE) for cut in sort.gives}
    (booked, cut), (then, next_cut) = _two(both, sort)
    aside = _two(need.reserved, sort)[0][0]
    of_rail = need.claimed.get(sort.species, _NONE) / sort.weight if len(sort.gives) > 1 else _NONE
    lacks = {
        cut: need.open.get(cut, _NONE) - hung.cuts.get(cut, _NONE) - ordered * gives
        for cut, gives in sort.gives.items()
    }
    large = {cut: lack for cut, lack in lacks.items() if sort.gives[cut] >= SMALL_CUT * sort.weight}
    (short, short_cut), (body, body_cut) = _two(lacks, sort)[0], _two(large, sort)[0]
    hangs = hung.weight.get(sort.species, _NONE) if len(sort.gives) > 1 else _NONE
    return SeasonCell(
        booked=booked + of_rail, aside=min(aside, booked) + of_rail, decides=names.get(cut, ""),
        next_need=then, next_cut=names.get(next_cut, ""), hung=hangs / sort.weight,
        tags=tuple(hung.tags.get(sort.species, ())) if hangs else (),
        ordered=ordered, short=ceil(short), short_cut=names.get(short_cut, ""),
        body=ceil(body), body_cut=names.get(body_cut, ""),
    )  # fmt: skip


def _weeks(
    mondays: Sequence[date], bookings: Sequence[Booking], chosen: Settings
) -> tuple[SeasonWeek, ...]:
    found = []
    for monday in mondays:
        days = [monday + timedelta(days=ahead) for ahead in range(7)]
        here = [one for one in bookings if _monday(one.collect_at.date()) == monday]
        found.append(SeasonWeek(
            monday=monday, open_days=tuple(day for day in days if chosen.is_open(day)),
            opened=tuple(day for day in days if day in chosen.opened_dates
                         and chosen.is_open(day)),
            closed=tuple(day for day in days if day in chosen.closed_dates),
            deposits=sum_money((one.deposit for one in here), chosen.currency),
            bookings=len(here),
        ))  # fmt: skip
    return tuple(found)


def _free(need: _Need, case: Iterable[CaseLine]) -> None:
    """Let what is free in the case now serve what is open this week."""
    for line in case:
        if line.id in need.open:
            need.open[line.id] = max(_NONE, need.open[line.id] - line.free.count)


def _notes(
    needs: Mapping[date, _Need], sorts: Sequence[_Sort], look: Look, case: Mapping[str, CaseLine]
) -> tuple[str, ...]:
    given = {cut for sort in sorts for cut in sort.gives}
    other: _By = defaultdict(Fraction)
    for need in needs.values():
        for cut, count in (*need.reserved.items(), *need.open.items()):
            if cut not in given:
                other[cut] += count
    unit = WeightUnit(look.unit_name)
    named = [f"{case[cut].name} {Weight(int(count), unit).text(unit)}"
             for cut, count in other.items() if cut in case and count]  # fmt: skip
    mean = (
        "An animal weighs what such animals weighed at the door in the mean, and gives what this"
        " shop's own yields say."
    )
    hangs = (
        "What hangs is counted in the week of its planned day; without one this week, beef when"
        f" it has hung {HANGS_DAYS['beef']} days (our own figure, common practice, no published"
        " source)."
    )
    small = (
        f"A cut of less than {float(100 * SMALL_CUT):g} % of its animal is a small one: short of"
        " it alone is told quietly (our own figure, common practice, no published source)."
    )
    notes = [
        mean,
        "Each week stands alone: what is left of an animal is not counted for the next one.",
        hangs,
        "What is free in the case now serves this week only.",
        small,
    ]
    if named:
        notes.append(f"Not told in animals, as no cutting style gives it: {', '.join(named)}.")
    return tuple(notes)


def long_list(
    conn: Connection, now: datetime, chosen: Settings, first_week: date, weeks: int
) -> LongList:
    """Return the season sheet; see `collop.shop.season_room.SeasonRoom.long_list`.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    now : datetime
        Shop-local.
    chosen : Settings
        Of the shop.
    first_week : date
        Any day of it.
    weeks : int
        How many.
    """
    first = _monday(first_week)
    mondays = [first + _WEEK * number for number in range(weeks)]
    last = mondays[-1] + timedelta(days=6)
    bookings = [one for one in bookings_between(conn, first, last, chosen) if one.state.holds]
    look, case = load_look(conn, now, chosen), load_case(conn, now, chosen)
    needs = _needs(conn, now, chosen, bookings, last)
    collected = {one.id: one.collect_at.date() for one in bookings}
    hung = _hung(conn, look, load_rail(conn, now, chosen), needs, collected)
    sorts, orders = _sorts(conn, look, case), load_farm_orders(conn)
    lines = {line.id: line for line in case}
    notes = _notes({day: needs[day] for day in mondays if day in needs}, sorts, look, lines)
    if _monday(now.date()) in needs:
        _free(needs[_monday(now.date())], case)
    names = {line.id: line.name for line in case}
    rows = tuple(
        SeasonRow(sort.species, sort.name, tuple(
            _cell(sort, needs.get(day) or _Need(), hung.get(day) or _Hung(),
                  _ordered(sort, orders, day), names)
            for day in mondays
        ))
        for sort in sorts
    )  # fmt: skip
    return LongList(_weeks(mondays, bookings, chosen), rows, notes)
