"""The bookings that standing orders make: which are due, and making one within what is there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from collop.errors import WrongState
from collop.measures import Weight
from collop.shop.acts import Act
from collop.shop.booking import enter
from collop.shop.hook import booking_id
from collop.shop.lines import checked_lines
from collop.shop.model import NewBooking, NewLine
from collop.shop.promising_booking import promise
from collop.shop.promising_coming import coming_in
from collop.shop.promising_model import Coming
from collop.shop.promising_outlook import Outlook, load_outlook
from collop.shop.standing_days import day_words, due_of
from collop.shop.standing_model import Due, Standing, StandingLine
from collop.shop.standing_rows import load_standing, newest_row, note_standing

__all__ = ["due_of", "make_one"]


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
    wanted = line.agreed
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
        raise WrongState(f"{standing.id} has nothing to make for {day_words(due.day)}.")
    coming: Mapping[str, list[Coming]] = coming_in(act.conn, act.at, act.settings)
    look = load_outlook(act.conn, act.at, act.settings, until=due.collect_at.time(), coming=coming,
                        with_due=False)  # fmt: skip
    draft = _Draft(look, due.collect_at.date())
    if due.moved:
        draft.said.append(due.moved)
    for line in standing.terms.lines:
        _add(draft, line)
    number = _entered(act, standing, due, draft)
    for made in checked_lines(draft.lines) if draft.lines else ():
        promise(act, number, made, dict(coming), with_due=False)
    facts = {"said": draft.said, "lines": draft.facts,
             "collect_at": due.collect_at.isoformat()}  # fmt: skip
    note_standing(act, newest_row(standing), "made", on_day=due.day, booking=number, facts=facts)
    return booking_id(number)
