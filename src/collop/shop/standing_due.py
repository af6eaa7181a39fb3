"""The bookings that standing orders make: which are due, and making one within what is there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from typing import Any

from collop.errors import WrongState
from collop.measures import Weight
from collop.shop.acts import Act
from collop.shop.booking import enter
from collop.shop.hook import booking_id
from collop.shop.lines import checked_lines
from collop.shop.model import NewBooking, NewLine, Settings
from collop.shop.promising_booking import promise
from collop.shop.promising_coming import coming_in
from collop.shop.promising_model import Coming
from collop.shop.promising_outlook import Outlook, load_outlook
from collop.shop.standing_model import Due, Standing, StandingLine, due_days
from collop.shop.standing_rows import load_standing, newest_row, note_standing

__all__ = ["due_of", "make_one"]

#: So many days from a shut day the open one before, or after, is looked for.
_NEAR = 14


def _day(day: date) -> str:
    return f"{day:%A} {day.day} {day:%B}"


def _collected(
    day: date, hour: time, now: datetime, chosen: Settings
) -> tuple[datetime, str] | None:  # fmt: skip
    """Return when it is collected, and a sentence if that is another day: the last open one before.

    If its hour is past, the next open day after it; None if there is none near.
    """
    if chosen.is_open(day):
        at = datetime.combine(day, hour)
        return (at, "") if now <= at else None
    before = [day - timedelta(days=away) for away in range(1, _NEAR + 1)]
    after = [day + timedelta(days=away) for away in range(1, _NEAR + 1)]
    # an open day in between was the one it would have gone to
    for one in (next((one for one in before if chosen.is_open(one)), None),
                next((one for one in after if chosen.is_open(one)), None)):  # fmt: skip
        if one is not None and now <= datetime.combine(one, hour):
            said = f"{_day(day)} the shop is shut: {_day(one)} instead."
            return datetime.combine(one, hour), said
    return None


def _since(standing: Standing, today: date) -> date:
    """Return the first day that may be due: a shut one just past too, if the order ran then."""
    ran = max((one.at.date() for one in standing.events if one.what in {"begun", "resumed"}),
              default=today)  # fmt: skip
    return min(today, max(today - timedelta(days=_NEAR), ran))


def due_of(standing: Standing, now: datetime, until: date, chosen: Settings) -> tuple[Due, ...]:
    """Return what is to be made of a standing order: collected from now on and up to `until`.

    Parameters
    ----------
    standing : Standing
        One that is paused or ended has none.
    now : datetime
        Shop-local.
    until : date
        Last day of collection.
    chosen : Settings
        Of the shop.
    """
    if standing.state != "on":
        return ()
    found = []
    today = now.date()
    first = _since(standing, today)
    for day in due_days(standing.terms, first, until + timedelta(days=_NEAR)):
        settled = day in standing.settled
        to = None if settled else _collected(day, standing.terms.hour, now, chosen)
        if to is not None and to[0].date() <= until:
            found.append(Due(standing.id, standing.terms.name, day, *to))
    return tuple(found)


@dataclass(slots=True)
class _Draft:
    """Lines of a booking as they come about, and what is to be said of them."""

    look: Outlook
    day: date
    lines: list[NewLine] = field(default_factory=list)
    said: list[str] = field(default_factory=list)
    facts: list[dict[str, Any]] = field(default_factory=list)
    #: What lines of this very booking take, by line.
    taken: dict[str, list[tuple[date, int]]] = field(default_factory=dict)

    def name(self, case_id: str) -> str:
        """Return the name of a line, its id if it is off the board."""
        row = self.look.lines.get(case_id)
        return case_id if row is None else str(row.name)

    def most(self, case_id: str) -> Weight:
        """Return what may be promised, cut off at the hundredth of the legal unit."""
        unit = self.look.chosen.legal_unit
        if case_id not in self.look.lines:
            return Weight.zero(unit)
        own = [*self.look.demands(case_id), *self.taken.get(case_id, ())]
        look = replace(self.look, wanted={**self.look.wanted, case_id: own})
        step = Weight.of("0.01", unit).count
        count = look.most(case_id, self.day)
        whole = count // step * step
        return Weight(whole if not look.line(case_id).by_piece else count, unit)

    def take(self, case_id: str, wanted: Weight, style: str | None) -> Weight:
        """Add a line of as much as is wanted and there, and return how much that is."""
        weight = min(wanted, self.most(case_id))
        pieces = None
        if weight and self.look.line(case_id).by_piece:
            pieces = _pieces(self.look.supplies(case_id), self.day, weight)
            weight = Weight(sum(one.count for one in pieces), weight.unit)
        if weight:
            self.lines.append(NewLine(case_id, weight, pieces, style))
            self.taken.setdefault(case_id, []).append((self.day, weight.count))
        return weight


def _pieces(there: Sequence[Coming], day: date, most: Weight) -> tuple[Weight, ...]:
    """Return whole pieces, oldest first, as many as fit."""
    found: list[Weight] = []
    for one in there:
        if one.is_there(day) and sum(piece.count for piece in found) + one.count <= most.count:
            found.append(Weight(one.count, most.unit))
    return tuple(found)


def _add(draft: _Draft, line: StandingLine) -> None:
    """Add a line, capped at what was agreed and at what is there, and what stands in for the rest.

    The stand-in fills what is short of the agreed weight, by weight.
    """
    unit = draft.look.chosen.legal_unit
    name = draft.name(line.case_id)
    wanted = line.weight if line.cap is None else min(line.weight, line.cap)
    if wanted < line.weight:
        draft.said.append(f"{line.weight.text(unit)} {name} asked, capped at"
                          f" {wanted.text(unit)} as agreed.")  # fmt: skip
    booked = draft.take(line.case_id, wanted, line.style)
    short = wanted - booked
    fact: dict[str, Any] = {
        "case_id": line.case_id, "unit": unit.value, "asked": _text(line.weight, unit),
        "agreed": _text(wanted, unit), "booked": _text(booked, unit), "short": _text(short, unit),
    }  # fmt: skip
    if short > Weight.zero():
        there = f"{booked.text(unit)} there: capped" if booked else "none there"
        draft.said.append(f"{wanted.text(unit)} {name} asked, {there}; {short.text(unit)} short.")
        if line.stand_in is not None:
            instead = draft.take(line.stand_in, short, None)
            fact |= {"stand_in": line.stand_in, "stands_in": _text(instead, unit)}
            if instead:
                draft.said.append(f"{instead.text(unit)} {draft.name(line.stand_in)} stands in for"
                                  f" {name}, as agreed.")  # fmt: skip
    draft.facts.append(fact)


def _text(weight: Weight, unit: Any) -> str:  # noqa: ANN401 -- a unit
    return str(weight.decimal(unit, 2))


def _entered(act: Act, standing: Standing, due: Due, draft: _Draft) -> int:
    terms = standing.terms
    note = " ".join(part for part in (f"{standing.id}.", terms.note, *draft.said) if part)
    ask = {"standing": standing.id, "day": due.day.isoformat(), "on_account": terms.on_account}
    return enter(
        act,
        NewBooking(
            name=terms.name, collect_at=due.collect_at, by=act.by or "", phone_end=terms.phone_end,
            heads=terms.heads, ask=ask, note=note[:2000], kind="standing",
        ),
        None,
        None,
    )  # fmt: skip


def make_one(act: Act, due: Due) -> str:
    """Make the booking of one day within an act and return its id.

    Each line is capped at what is asked, what was agreed, and what may be promised for the day; a
    line of which nothing is there is left out, and said.

    Raises
    ------
    WrongState
        If it was made, or skipped, or the order is paused or ended since.
    """
    (standing,) = load_standing(act.conn, due.order_id)
    if standing.state != "on" or due.day in standing.settled:
        raise WrongState(f"{standing.id} has nothing to make for {_day(due.day)}.")
    coming: Mapping[str, list[Coming]] = coming_in(act.conn, act.at, act.settings)
    look = load_outlook(act.conn, act.at, act.settings, until=due.collect_at.time(), coming=coming)
    draft = _Draft(look, due.collect_at.date())
    if due.moved:
        draft.said.append(due.moved)
    for line in standing.terms.lines:
        _add(draft, line)
    number = _entered(act, standing, due, draft)
    for made in checked_lines(draft.lines) if draft.lines else ():
        promise(act, number, made, dict(coming))
    facts = {"said": draft.said, "lines": draft.facts,
             "collect_at": due.collect_at.isoformat()}  # fmt: skip
    note_standing(act, newest_row(standing), "made", on_day=due.day, booking=number, facts=facts)
    return booking_id(number)
