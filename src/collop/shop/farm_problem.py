"""The ``collop.farmcall/1`` problem of the shop: how many whole animals to order for a week."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fractions import Fraction
from statistics import mean, stdev
from typing import Any

from sqlalchemy.engine import Connection

from collop.errors import BadValue, WrongState
from collop.shop.bench_look import Look, amount, load_look, plain
from collop.shop.bench_model import KeptPlan
from collop.shop.bench_problem_case import case_parts
from collop.shop.bench_problem_rail import due_days, rail_parts
from collop.shop.bench_wants import load_wants
from collop.shop.farm_animals import animal_parts
from collop.shop.farm_seasons import fathers_day_note, holiday_rows, season_of
from collop.shop.hook import bookings_between
from collop.shop.model import Booking, Settings
from collop.shop.sales import open_days, per_unit, weeks_of

__all__ = ["SCHEMA", "farm_problem", "next_monday"]

SCHEMA = "collop.farmcall/1"
#: Scatter of a line's weekly sale, as standard deviation over mean, where fewer than `_ENOUGH`
#: weeks tell: a figure of ours (common practice, no published source).
USUAL_CV = 0.25
_LEAST_CV, _MOST_CV = 0.05, 1.0
_ENOUGH = 6
_SCENARIOS = {"count": 40, "seed": 1, "common_cv": 0.15}
_BACK, _WEEK = timedelta(weeks=4), timedelta(weeks=1)
_LENT = ("id", "name", "species", "price", "elasticity", "steps", "salvage", "ground")
_BIN_LENT = ("id", "name", "species", "fat", "worth")
_FURTHEST = timedelta(weeks=26)
_Promises = dict[str, dict[str, tuple[Fraction, Fraction | None]]]


def next_monday(today: date) -> date:
    """Return the first Monday after a day."""
    return today + timedelta(days=7 - today.weekday())


def _week(now: datetime, week_of: date | None) -> date:
    today = now.date()
    monday = week_of or next_monday(today)
    monday -= timedelta(days=monday.weekday())
    if not today - timedelta(days=6) <= monday <= today + _FURTHEST:
        raise BadValue(f"Order for a week from this one on, up to {_FURTHEST.days // 7} weeks"
                       " ahead.", where="week_of")  # fmt: skip
    return monday


def _cv(look: Look, case_id: str, monday: date) -> float:
    """Return the scatter of a line's whole weeks, or the usual one."""
    weeks = [
        one.weight.count
        for one in weeks_of(look.view.sold.get(case_id, ()), look.chosen)
        if one.monday < min(monday, look.view.today - timedelta(days=look.view.today.weekday()))
    ]
    if len(weeks) < _ENOUGH:
        return USUAL_CV
    return round(min(_MOST_CV, max(_LEAST_CV, stdev(weeks) / mean(weeks))), 4)


def _on_hand(look: Look, cut: Mapping[str, Any], monday: date) -> str:
    """Return what of the stock is sound on the Monday and not sold by then at the usual pace."""
    days = (monday - look.first).days
    sound = sum(
        (Fraction(lot["weight"]) for lot in cut["stock"] if lot["days_left"] >= days), Fraction(0)
    )
    sold = look.pace(cut["id"]) / look.unit * open_days(look.first, monday, look.chosen)
    return amount(max(Fraction(0), sound - sold), 3)


def _left(kept: KeptPlan | None, monday: date) -> dict[str, str] | None:
    """Return what the kept plan leaves of each cut and bin, if it ends about then."""
    if kept is None or not kept.is_current:
        return None
    end = date.fromisoformat(kept.plan["days"][-1])
    if abs((monday - end).days) > 1:
        return None
    return {one["id"]: one["left"] for one in (*kept.plan["cuts"], *kept.plan["bins"])}


def _cuts(
    look: Look, rows: Iterable[Mapping[str, Any]], monday: date, left: Mapping[str, str] | None
) -> list[dict[str, Any]]:
    week = open_days(monday, monday + timedelta(days=7), look.chosen)
    return [
        {**{key: row[key] for key in _LENT},
         "week": amount(look.pace(row["id"]) / look.unit * week, 3),
         "cv": _cv(look, row["id"], monday),
         "on_hand": _on_hand(look, row, monday) if left is None else left.get(row["id"], "0")}
        for row in rows
    ]  # fmt: skip


def _bins(
    rows: Iterable[Mapping[str, Any]], left: Mapping[str, str] | None
) -> list[dict[str, Any]]:
    there = left or {}  # trim keeps too short to be counted on else
    return [
        {**{key: row[key] for key in _BIN_LENT}, "on_hand": there.get(row["id"], "0")}
        for row in rows
    ]


def _labour(look: Look, monday: date) -> dict[str, Any] | None:
    """Return the minutes of the week; None where nobody is named at the block."""
    chosen = look.chosen
    if not chosen.hands:
        return None
    days = [monday + timedelta(days=ahead) for ahead in range(7)]
    there = [day.weekday() for day in days if day not in chosen.closed_dates]
    return {
        "minutes": str(sum(hand.minutes[day] for hand in chosen.hands for day in there)),
        "per_hour": f"{chosen.labour_per_hour:f}",
        "overtime_minutes": str(sum(hand.overtime[day] for hand in chosen.hands for day in there)),
        "overtime_per_hour": amount(Fraction(chosen.labour_per_hour) * Fraction(3, 2)),
    }


@dataclass(frozen=True, slots=True)
class _Rail:
    """What tells whether a piece hangs in a week: days decided on, the kept plan, the kinds."""

    planned: Mapping[str, date | None]
    kept: KeptPlan | None
    species: Mapping[str, str]

    def hangs_on(self, row: Mapping[str, Any], monday: date) -> bool:
        """Tell whether a piece still hangs on the Monday.

        A plan in force that keeps it is newer than the day once meant for it. What no plan speaks
        of hangs until its day, without one until an older plan would have broken it.
        """
        tag, kept, day = row["tag"], self.kept, self.planned.get(row["tag"])
        broken: dict[str, str] = {}
        if kept is not None:
            broken = {one["tag"]: one["date"] for one in kept.plan["breaks"] if one["of"] is None}
        if kept is not None and kept.is_current:
            end = date.fromisoformat(kept.plan["days"][-1])
            if tag in broken:
                return date.fromisoformat(broken[tag]) >= monday
            if any(one["tag"] == tag for one in kept.plan["kept"]) and (day is None or day <= end):
                return self._ages(row) or (monday - end).days <= 1
        if day is not None:
            return day >= monday
        return tag not in broken or date.fromisoformat(broken[tag]) >= monday

    def is_for(self, row: Mapping[str, Any], monday: date) -> bool:
        """Tell whether a piece that hangs on the Monday is to be cut in its week, not kept."""
        day = self.planned.get(row["tag"])
        return not self._ages(row) or (day is not None and monday <= day < monday + _WEEK)

    def is_later(self, row: Mapping[str, Any], monday: date) -> bool:
        """Tell whether its day lies after the week."""
        day = self.planned.get(row["tag"])
        return day is not None and day >= monday + _WEEK

    def _ages(self, row: Mapping[str, Any]) -> bool:
        return self.species.get(row["kind"]) == "beef"


def _hanging(
    rows: Sequence[Mapping[str, Any]], rail: _Rail, monday: date
) -> list[dict[str, Any]]:  # fmt: skip
    """Return what may be cut in the week of what hangs, without what bookings hang on."""
    found = []
    for row in rows:
        whole = Fraction(row["weight"])
        own = whole - sum((Fraction(one["weight"]) for one in row["claims"]), Fraction(0))
        if own > 0 and not rail.is_later(row, monday):
            worth = Fraction(row["worth_left"]) * own / whole
            left = "0" if rail.is_for(row, monday) else amount(worth, 2)
            found.append({"kind": row["kind"], "weight": amount(own, 3), "worth_left": left})
    return found


def _room(look: Look, rows: Sequence[Mapping[str, Any]]) -> dict[str, str] | None:
    most = look.chosen.rail_carries
    if most is None:
        return None
    there = sum((Fraction(row["weight"]) for row in rows), Fraction(0))
    carries = Fraction(look.text(most.count))
    return {"rail": amount(carries, 3), "hanging": amount(min(there, carries), 3)}


def _weeks_between(status: str) -> int | None:
    """Return every how many weeks an order stands; None if it is not standing.

    Examples
    --------
    >>> _weeks_between("standing, every week"), _weeks_between("standing, fortnightly")
    (1, 2)
    """
    said = status.casefold()
    if "standing" not in said:
        return None
    if "fortnight" in said or "two weeks" in said:
        return 2
    return 4 if "month" in said and "weekly" not in said and "every week" not in said else 1


def _is_due(booking: Booking, monday: date) -> bool:
    every = _weeks_between(str(booking.ask.get("status", "")))
    day = booking.collect_at.date()
    weeks = (monday - (day - timedelta(days=day.weekday()))).days // 7
    return every is not None and weeks > 0 and weeks % every == 0


def _add(found: _Promises, name: str, cut: str, weight: Fraction, price: Fraction | None) -> None:
    """Add to what somebody asks of a cut; the first price that is known stays."""
    was, known = found[name].get(cut, (Fraction(0), None))
    found[name][cut] = (was + weight, price if known is None else known)


def _promises(
    look: Look, bookings: Iterable[Booking], wants: Mapping[str, list[tuple[str, Fraction]]]
) -> list[dict[str, Any]]:
    found: _Promises = defaultdict(dict)
    for booking in bookings:
        name = plain(booking.name, 80)
        for line in booking.standing:
            if line.case_id in look.lines:
                price = Fraction(per_unit(line.unit_price, look.chosen))
                weight = Fraction(look.text(line.weight.count))
                _add(found, name, line.case_id, weight, price or None)
        for cut, weight in wants.get(booking.id, ()):
            _add(found, name, cut, weight, None)
    return [
        {"name": name, "cut": cut, "weight": amount(weight, 3),
         "price": None if price is None else amount(price, 6)}
        for name, rows in found.items() for cut, (weight, price) in rows.items() if weight
    ]  # fmt: skip


def _promised(
    conn: Connection, look: Look, monday: date
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Return standing orders due in the week, and bookings collected in it.

    Of a standing order that came several times the newest booking counts; one that is booked for
    the week already is a booking.
    """
    end = monday + timedelta(days=6)
    # a week that has begun: what was collected on its first days is over
    start = max(monday, look.first)
    booked = [one for one in bookings_between(conn, start, end, look.chosen) if one.state.holds]
    names = {one.name for one in booked}
    before = bookings_between(conn, min(look.first, monday) - _BACK,
                              monday - timedelta(days=1), look.chosen)  # fmt: skip
    standing = {
        one.name: one for one in before
        if one.state != "off" and one.name not in names and _is_due(one, monday)
    }  # fmt: skip
    wants: dict[str, list[tuple[str, Fraction]]] = defaultdict(list)
    for one in load_wants(conn, look.chosen):
        if one.case_id in look.lines:
            wants[one.booking_id].append((one.case_id, Fraction(look.text(one.left.count))))
    return _promises(look, standing.values(), wants), _promises(look, booked, wants)


def _notes(look: Look, monday: date, left: Mapping[str, str] | None) -> list[str]:
    own = [line.name for line in look.lines.values() if line.usual is None]
    scatter = (
        f"A cut's sale is taken to scatter by {100 * USUAL_CV:g} % from week to week where fewer"
        f" than {_ENOUGH} whole weeks tell (our own figure)."
    )
    there = "what is sound now less the usual sale up to then"
    if left is not None:
        there = "what the cutting plan in force leaves"
    notes = [
        "Weekly sale is the usual daily pace times the days open in the week.",
        scatter,
        f"What is on hand then is {there}.",
        "What hangs by then is told by the cutting plan in force, else by the day meant for it.",
        "What hangs into that week is cut in it; beef without a day may hang on (our own rule).",
        "Season and holiday figures are of US shops; nothing is published for lamb and goat.",
    ]
    if against := fathers_day_note(look.lines, monday):
        notes.append(against)
    if own:
        notes.append(f"No season is put on {', '.join(own)}: the pace of the shop's own last weeks"
                     " holds it.")  # fmt: skip
    return notes


def farm_problem(
    conn: Connection, now: datetime, chosen: Settings, *, week_of: date | None = None,
    kept: KeptPlan | None = None,
) -> tuple[dict[str, Any], tuple[str, ...]]:  # fmt: skip
    """Return the problem and one sentence for each thing it takes for granted.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    now : datetime
        Shop-local.
    chosen : Settings
        Of the shop.
    week_of : date, optional
        Any day of the week to order for, by default the next.
    kept : KeptPlan, optional
        The newest kept cutting plan: what it leaves is on hand.

    Raises
    ------
    BadValue
        If the week is over or more than half a year ahead.
    WrongState
        If no animal with a price came yet, or no line on the board is cut here.
    """
    monday = _week(now, week_of)
    look = load_look(conn, now, chosen)
    case, animals = case_parts(conn, look), animal_parts(conn, look)
    if not animals.animals or not case.cuts:
        raise WrongState("No animal with a price came by a delivery yet that a style cuts; take one"
                         " in first.")  # fmt: skip
    rail = rail_parts(conn, look, due_days(conn))
    left = _left(kept, monday)
    told = _Rail(rail.planned, kept, {row["id"]: row["species"] for row in rail.kinds})
    hung_on = [row for row in rail.rail if told.hangs_on(row, monday)]
    hanging = _hanging(hung_on, told, monday)
    hung = {row["kind"] for row in hanging}
    standing, booked = _promised(conn, look, monday)
    lines = look.lines
    problem = {
        "schema": SCHEMA,
        "name": plain(f"{chosen.name}, week of {monday}"),
        "currency": chosen.currency,
        "rounding": chosen.rounding.value,
        "unit": look.unit_name,
        "week_of": monday.isoformat(),
        "animals": animals.animals,
        "kinds": [*animals.kinds, *(row for row in rail.kinds if row["id"] in hung)],
        "hanging": hanging,
        "cuts": _cuts(look, case.cuts, monday, left),
        "bins": _bins(case.bins, left),
        "makes": case.makes,
        "standing": standing,
        "bookings": booked,
        "labour": _labour(look, monday),
        "room": _room(look, hung_on),
        "season": list(season_of(lines, monday)),
        "holidays": list(holiday_rows(lines, monday)),
        "scenarios": dict(_SCENARIOS),
    }  # fmt: skip
    return problem, (*animals.notes, *_notes(look, monday, left))
