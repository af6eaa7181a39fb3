"""The fire sheet of a booking: its facts, its problem, its plan and its address."""

from __future__ import annotations

import json
from collections import OrderedDict
from collections.abc import Iterable, Mapping
from concurrent.futures import Future
from dataclasses import replace
from threading import Lock
from typing import Any
from uuid import uuid4

from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound, WrongState
from collop.fire.plan_measures import safety_first
from collop.shop import fire_cooks, fire_facts, fire_sheets
from collop.shop.acts import Act, Room, once
from collop.shop.bench_wants import load_wants
from collop.shop.case import load_case
from collop.shop.fire_model import Assumption, CaseCook, CookChange, FireFacts, FireSheet
from collop.shop.fire_problem import dishes_of, fire_problem
from collop.shop.fire_told import CookTold, told_of
from collop.shop.hook import booking_id as id_of
from collop.shop.hook import load_booking
from collop.shop.model import Booking, CaseLine, Settings, State
from collop.shop.quotes import number_in
from collop.shop.settings import load_settings

__all__ = ["FireRoom"]

_KEPT_PLANS = 64


class FireRoom:
    """Fire sheets. Reached as `Shop.fire`.

    Every write takes the person `by` and an idempotency `key`, as all of `Shop`'s do. Plans are
    worked out from the shop's books and kept in memory only. Safe to share between threads.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room
        self._lock = Lock()
        self._plans: OrderedDict[str, Future[dict[str, Any]]] = OrderedDict()

    # the customer's fire

    def facts(self, booking_id: str) -> FireFacts:
        """Return what is known of a booking's fire: as corrected, else as its ask said."""
        number = number_in("H", booking_id, "booking")
        with self._room.store.read() as conn:
            booking = load_booking(conn, number, load_settings(conn))
            return fire_facts.load_facts(conn, number, booking)

    def change(self, booking_id: str, facts: FireFacts, *, by: str, key: str) -> FireFacts:
        """Put the facts of a booking's fire in the place of those before; all are given.

        Raises
        ------
        BadValue
            If one of them cannot be; `where` names it.
        WrongState
            If the booking is off.
        """
        number = number_in("H", booking_id, "booking")
        self._check_told(facts)

        def work(act: Act) -> str:
            booking = load_booking(act.conn, number, act.settings)
            _not_off(booking)
            case = _case(act.conn, act, act.settings)
            known = {dish.id: dish.has_body for dish in dishes_of(booking, case)[0]}
            fire_facts.note_facts(act, number, fire_facts.checked_facts(facts, booking, known))
            return id_of(number)

        request = [number, fire_facts.as_json(facts)]
        once(self._room, "fire facts", request, by=by, key=key, work=work)
        return self.facts(booking_id)

    def _check_told(self, facts: FireFacts) -> None:
        """Say so if the heat model cannot cook a line of the thickness told for a booking."""
        if not facts.thickness:
            return
        with self._room.store.read() as conn:
            case = _case(conn, self._room, load_settings(conn))
        for case_id, one in facts.thickness.items():
            cook = case[case_id].cook if case_id in case else None
            if cook is not None and cook.form is not None:
                told = replace(cook, thickness_mm=one.mm, measured=one.measured)
                try:
                    fire_cooks.check_times(told, case[case_id])
                except BadValue as error:
                    raise BadValue(error.message, where="thickness") from None

    # the problem and its plan

    def problem(self, booking_id: str) -> dict[str, Any]:
        """Return the ``collop.fire/1`` problem of a booking.

        Raises
        ------
        WrongState
            If the booking is off, or nothing in it goes on a fire.
        """
        with self._room.store.read() as conn:
            return self._asked(conn, number_in("H", booking_id, "booking"))[1]

    def assumptions(self, booking_id: str) -> tuple[Assumption, ...]:
        """Return what the problem takes for granted because nobody told."""
        with self._room.store.read() as conn:
            return self._asked(conn, number_in("H", booking_id, "booking"))[2]

    def _asked(
        self, conn: Connection, number: int
    ) -> tuple[Booking, dict[str, Any], tuple[Assumption, ...]]:
        chosen = load_settings(conn)
        booking = load_booking(conn, number, chosen)
        facts = fire_facts.load_facts(conn, number, booking)
        wanted = [
            f"{want.left.text()} {want.case_name}"
            for want in load_wants(conn, chosen)
            if want.booking_id == booking.id and want.left
        ]
        case = _case(conn, self._room, chosen)
        problem, assumed = fire_problem(booking, facts, case, chosen, wanted)
        return booking, problem, assumed

    def _plan(self, problem: Mapping[str, Any]) -> dict[str, Any]:
        text = json.dumps(problem, sort_keys=True, ensure_ascii=False)
        with self._lock:
            found = self._plans.get(text)
            ours: Future[dict[str, Any]] = Future()
            self._plans[text] = found or ours
            self._plans.move_to_end(text)
            while len(self._plans) > _KEPT_PLANS:
                self._plans.popitem(last=False)
        if found is not None:  # a page, its picture and its paper wait for the same work
            return found.result()
        from collop.fire import fire  # noqa: PLC0415 -- the kernel brings heavy libraries

        try:
            ours.set_result(fire(json.loads(text)))
        except BaseException as error:
            with self._lock:
                if self._plans.get(text) is ours:
                    del self._plans[text]
            ours.set_exception(error)
            raise
        return ours.result()

    # the sheet and its address

    def sheet(self, booking_id: str) -> FireSheet:
        """Return the sheet of a booking; its address is made the first time it is asked for.

        Raises
        ------
        WrongState
            If the booking is off, or nothing in it goes on a fire.
        ProblemError
            If the kernel cannot read the fire.
        """
        seen = self.look(booking_id)
        if seen.token is not None:
            return seen
        number = number_in("H", booking_id, "booking")
        self._first_token(number, by=None, key=f"fire-address-{uuid4().hex}")
        return self.look(booking_id)

    def look(self, booking_id: str) -> FireSheet:
        """Return the sheet of a booking and write nothing; its token is None until one is made.

        Raises
        ------
        WrongState
            If the booking is off, or nothing in it goes on a fire.
        ProblemError
            If the kernel cannot read the fire.
        """
        number = number_in("H", booking_id, "booking")
        with self._room.store.read() as conn:
            asked = self._asked(conn, number)
            live = fire_sheets.live_token(conn, number)
        return self._told(asked, live)

    def make(self, booking_id: str, *, by: str, key: str) -> FireSheet:
        """Give the sheet its address; one it has already stays.

        Raises
        ------
        WrongState
            If the booking is off, or nothing in it goes on a fire.
        """
        number = number_in("H", booking_id, "booking")
        with self._room.store.read() as conn:
            self._asked(conn, number)
        self._first_token(number, by=by, key=key)
        return self.sheet(booking_id)

    def renew(self, booking_id: str, *, by: str, key: str) -> FireSheet:
        """Give the sheet a new address; whoever holds the old one sees it no more."""
        number = number_in("H", booking_id, "booking")

        def work(act: Act) -> str:
            _not_off(load_booking(act.conn, number, act.settings))
            fire_sheets.new_token(act, number)
            return id_of(number)

        once(self._room, "fire address", number, by=by, key=key, work=work)
        return self.sheet(booking_id)

    def by_token(self, token: str) -> FireSheet | None:
        """Return the sheet a token opens; None if it opens none, any more or ever."""
        with self._room.store.read() as conn:
            live = fire_sheets.booking_of_token(conn, token)
            if live is None:
                return None
            booking = load_booking(conn, live.number, load_settings(conn))
            if booking.state is State.OFF:
                return None
            asked = self._asked(conn, live.number)
        return self._told(asked, live)

    def _first_token(self, number: int, *, by: str | None, key: str) -> None:
        """Make the address unless there is one."""

        def work(act: Act) -> str:
            # two who ask at once get the same one
            if fire_sheets.live_token(act.conn, number) is None:
                fire_sheets.new_token(act, number)
            return id_of(number)

        once(self._room, "first fire address", number, by=by, key=key, work=work)

    def _told(
        self, asked: tuple[Booking, dict[str, Any], tuple[Assumption, ...]],
        live: fire_sheets.LiveToken | None,
    ) -> FireSheet:  # fmt: skip
        booking, problem, assumed = asked
        plan = self._plan(problem)
        return FireSheet(
            token=None if live is None else live.token, booking_id=booking.id, name=booking.name,
            collect_at=booking.collect_at, made_at=None if live is None else live.at,
            problem=problem, plan=plan | {"assumptions": _joined(assumed, plan)}, assumed=assumed,
        )  # fmt: skip

    def in_units(self, sheet: FireSheet, unit: str, weight_unit: str) -> FireSheet:
        """Return a sheet with its plan told anew in other units; the facts stay as they are.

        Parameters
        ----------
        unit, weight_unit : str
            ``F`` or ``C``; ``lb`` or ``kg``.
        """
        problem = dict(sheet.problem) | {"unit": unit, "weight_unit": weight_unit}
        if problem == sheet.problem:
            return sheet
        plan = self._plan(problem)
        told = plan | {"assumptions": _joined(sheet.assumed, plan)}
        return replace(sheet, problem=problem, plan=told)

    # how lines of the case cook

    def cook(self, case_id: str) -> CaseCook | None:
        """Return how a line of the case is cooked, None if nobody told."""
        with self._room.store.read() as conn:
            return fire_cooks.load_cooks(conn).get(case_id)

    def set_cook(self, case_id: str, cook: CaseCook, *, by: str, key: str) -> CaseCook:
        """Write how a line is cooked; see `set_cook` and `check_times` of `fire_cooks`."""
        # the heat model takes its time, so it is asked before anything is locked
        fire_cooks.check_times(cook, self._line(case_id)[0])

        def work(act: Act) -> str:
            fire_cooks.set_cook(act, case_id, cook)
            return case_id

        once(self._room, "cook", [case_id, cook], by=by, key=key, work=work)
        return self.cook(case_id) or cook

    def told(self, case_id: str) -> CookTold:
        """Return how a line cooks now, what that takes, and what was said of it before.

        Raises
        ------
        NotFound
            If there is no such line.
        """
        return told_of(*self._line(case_id))

    def _line(self, case_id: str) -> tuple[CaseLine, tuple[CookChange, ...]]:
        with self._room.store.read() as conn:
            line = _case(conn, self._room, load_settings(conn)).get(case_id)
            if line is None:
                raise NotFound(f"There is no case line {case_id[:40]!r}; look at the case again.",
                               where="case_id")  # fmt: skip
            return line, fire_cooks.load_changes(conn, case_id)

    def minutes_of(self, line: CaseLine) -> tuple[int, int]:
        """Return a line's minutes on an ordinary covered grill, 10 and 90 in a hundred."""
        return fire_cooks.minutes_of(line)


def _not_off(booking: Booking) -> None:
    if booking.state is State.OFF:
        raise WrongState(f"{booking.id} is off; there is no sheet for it.")


def _case(conn: Connection, at: Room | Act, chosen: Settings) -> dict[str, CaseLine]:
    moment = at.at if isinstance(at, Act) else at.clock.now()
    return {line.id: line for line in load_case(conn, moment, chosen)}


def _joined(ours: Iterable[Assumption], plan: Mapping[str, Any]) -> list[dict[str, str]]:
    """Put what can hurt first, then the shop's; where both ask the same, the shop's stands.

    How thick each piece is comes last, as in the plan.
    """
    told = {one.ask: one.as_json(plan["unit"]) for one in ours}
    early = [one for ask, one in told.items() if not ask.startswith("Thickness of: ")]
    asked = {one["ask"] for one in early}
    late = [
        told.get(one["ask"], dict(one)) for one in plan["assumptions"] if one["ask"] not in asked
    ]
    return safety_first((one["ask"], one) for one in [*early, *late])
