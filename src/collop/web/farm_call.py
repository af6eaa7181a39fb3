"""Farm Call: how many whole animals to order, and the sentences to say on the phone."""

from __future__ import annotations

import json
import threading
from collections import OrderedDict
from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, CollopError, NotFound, ShopError, StorageTrouble
from collop.web.bench_plan_view import plain_number, proof_words, weigh
from collop.web.farm_call_order import order_of, read_orders
from collop.web.farm_call_view import (
    changed_money,
    cuts_shown,
    fixed,
    missing,
    ordered,
    read_counts,
    rows_of,
    weeks,
)
from collop.web.farm_call_words import Words, refuse_too_heavy, week_notice
from collop.web.forms import Faults, Fields
from collop.web.hook import read_who
from collop.web.rendering import page, shown_for
from collop.web.room import Posted, Queried, Room, room_of

__all__ = ["router"]

router = APIRouter()


def _kernel(problem: Mapping[str, Any]) -> dict[str, Any]:
    from collop.bench.farmcall import farmcall  # noqa: PLC0415 -- the solver is heavy

    return farmcall(problem)


class Memory:
    """The kernel with a short memory: going back to a page works nothing out again."""

    _most = 24

    def __init__(self) -> None:
        self._kept: OrderedDict[str, dict[str, Any]] = OrderedDict()
        self._lock = threading.Lock()

    def plan(self, problem: Mapping[str, Any]) -> dict[str, Any]:
        """Return the plan of a problem."""
        key = json.dumps(problem, sort_keys=True)
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        plan = _kernel(problem)
        with self._lock:
            self._kept[key] = plan
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return plan


_memory = Memory()


@router.get("/farm", response_class=HTMLResponse)
def show_farm(request: Request, fields: Queried) -> HTMLResponse:
    """Show what to order for a week, and what the counts a person typed would bring."""
    return _show(request, fields, Faults())


@router.post("/farm-order", response_class=HTMLResponse)
def order(request: Request, fields: Posted) -> Response:
    """Write down what was ordered on the telephone."""
    room, faults = room_of(request), Faults()
    new = read_orders(room, fields, faults)
    by = faults.take("by", lambda: read_who(room, fields), "")
    week = _week_text(fields)
    if faults:
        return _show(request, Fields([("week", week), *fields]), faults, status=422)
    try:
        made = room.shop.season.order_all(new, by=by, key=fields.one("key")[:64] or uuid4().hex)
    except BadValue as error:
        faults.add("for_day" if error.where == "for_day" else "by", error.message)
        return _show(request, fields, faults, status=422)
    names = "".join(f"&made={one.id}" for one in made)
    return RedirectResponse(f"/farm?week={week}{names}", status_code=303)


@router.post("/farm-order/{name}/back", response_class=HTMLResponse)
def take_back(request: Request, name: str, fields: Posted) -> Response:
    """Take an order back."""
    room, faults = room_of(request), Faults()
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return _show(request, fields, faults, status=422)
    try:
        room.shop.season.take_back(name, by=by, key=fields.one("key")[:64] or uuid4().hex)
    except ShopError as error:
        status = 404 if isinstance(error, NotFound) else 409
        return _show(request, fields, faults, status=status, trouble=error.message)
    return RedirectResponse(f"/farm?week={_week_text(fields)}&back={name}", status_code=303)


def _week_text(fields: Fields) -> str:
    """Return the week of a form as it may stand in an address."""
    try:
        return date.fromisoformat(fields.one("week")).isoformat()
    except ValueError:
        return ""


def _said(room: Room, fields: Fields) -> str:
    """Return what was done, if the address tells."""
    if fields.one("back"):
        return "Taken back. It stays in the books."
    made = [one for one in room.shop.season.orders() if one.id in fields.all("made")]
    told = (f"{one.animals} {one.what} of {one.farm} for {one.for_day:%a} {one.for_day.day}"
            f" {one.for_day:%b}" for one in made)  # fmt: skip
    return f"Written down: {'; '.join(told)}." if made else ""


def _typed(
    problem: Mapping[str, Any], counts: Mapping[str, int], best: dict[str, Any]
) -> tuple[dict[str, Any], str]:
    """Return the plan with the counts that were typed, the best one if it cannot be; and why."""
    if not counts:
        return best, ""
    try:
        return _memory.plan(fixed(problem, counts)), ""
    except StorageTrouble:
        raise
    except CollopError as error:
        return best, error.message


def _show(
    request: Request, fields: Fields, given: Faults, *, status: int = 0, trouble: str = ""
) -> HTMLResponse:
    room, own = room_of(request), Faults()
    offered = weeks(room.now().date())
    asked = fields.one("week")
    week = next((one for one in offered if one.isoformat() == asked), offered[0])
    try:
        problem = room.shop.bench.farm_problem(week)
        words = Words.of(problem["unit"], shown_for(request).unit)
        counts = read_counts(fields, problem, own)
        refuse_too_heavy(problem, counts, own, words.weight)
        best = _memory.plan(problem)
    except StorageTrouble:
        raise
    except CollopError as error:
        return _empty(request, (week, offered), trouble or error.message, given)
    shown, refused = _typed(problem, {} if own else counts, best)
    trouble = trouble or refused
    if shown is best:
        counts = {name: count for name, count in counts.items() if own or trouble}
    faults = Faults({**given.messages, **own.messages})
    return page(
        request, "farm_call.html", status=status or (422 if faults else 409 if trouble else 200),
        problem=problem, plan=shown, best=best, faults=faults, fields=fields, trouble=trouble,
        week=week, weeks=offered, rows=rows_of(best, shown, counts, problem),
        cuts=cuts_shown(shown, words), best_ordered=ordered(best), is_typed=shown is not best,
        by=changed_money(best, shown), short_by=missing(shown) - missing(best),
        number=plain_number, notice=week_notice(asked, is_offered=week.isoformat() == asked),
        words=words, proof=proof_words(shown),
        notes=dict.fromkeys([*room.shop.bench.farm_notes(week), *shown["assumptions"]]),
        weigh=lambda text: weigh(text, problem["unit"]), said=_said(room, fields),
        **_ordering(room, fields, week, shown),
    )  # fmt: skip


def _empty(
    request: Request, when: tuple[date, list[date]], why: str, faults: Faults
) -> HTMLResponse:
    """Show why nothing can be worked out for a week."""
    week, offered = when
    return page(request, "farm_call.html", status=409, problem=None, plan=None, week=week,
                weeks=offered, trouble=why, notice="", faults=faults, said="",
                **_ordering(room_of(request), Fields([]), week, None))  # fmt: skip


def _ordering(
    room: Room, fields: Fields, week: date, plan: Mapping[str, Any] | None
) -> dict[str, Any]:
    """Return what the form of the order, and the list of those to come, are shown with."""
    people = room.shop.people()
    return {
        "call": None if plan is None else order_of(room, plan, week, fields),
        "expected": room.shop.season.expected(), "people": people, "today": room.now().date(),
        "key": uuid4().hex, "caller": fields.one("by"),
    }  # fmt: skip
