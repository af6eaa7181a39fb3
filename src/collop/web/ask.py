"""The ask and its spread: read, answer, re-balance on each tap."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import PlanRejected, ProblemError
from collop.web.ask_form import Ask, read_ask
from collop.web.ask_steps import Step, step_ask
from collop.web.ask_view import (
    TYPICAL,
    FormView,
    Words,
    left_over,
    plain_name,
    signature,
    spread_of,
)
from collop.web.bench_worths import plan_worths
from collop.web.forms import Faults, Fields
from collop.web.planning import assumptions, field_of
from collop.web.rendering import fragment_wanted, page
from collop.web.room import Posted, Queried, Room, fields_of_query, room_of

if TYPE_CHECKING:
    from collop.shop import CaseLine

__all__ = ["answer_fields", "plan_ask", "plan_number", "router", "show_desk"]

router = APIRouter()
_MOST_VERSIONS = 20
_NUMBER_LONGEST = 9


@router.get("/", include_in_schema=False)
def front() -> RedirectResponse:
    """Send to the ask."""
    return RedirectResponse("/ask", status_code=303)


@router.get("/ask", response_class=HTMLResponse)
def show_ask(request: Request, fields: Queried) -> Response:
    """Show the ask in the address, and its spread."""
    return answer_fields(request, fields)


@router.post("/ask/spread", response_class=HTMLResponse)
def spread(request: Request, fields: Posted) -> Response:
    """Answer the form after a tap: the desk alone for the page's script, else the whole page."""
    return answer_fields(request, fields)


@router.get("/ask/customer", response_class=HTMLResponse)
def customer_side(request: Request, fields: Queried) -> Response:
    """Show what the customer may see: cuts, weights, total, a head."""
    room = room_of(request)
    ask, faults = read_ask(fields, room.now())
    if faults:
        return answer_fields(request, fields)
    try:
        plan = plan_ask(room, ask, plan_number(fields))
    except ProblemError:
        return answer_fields(request, fields)
    return page(request, "customer.html", ask=ask, spread=spread_of(plan, ask.aim), plan=plan,
                plain_name=plain_name)  # fmt: skip


def plan_number(fields: Fields) -> int | None:
    """Return the number of the cutting plan that a page was worked out by; None if it has none."""
    text = fields.one("plan")
    is_number = text.isascii() and text.isdigit() and len(text) <= _NUMBER_LONGEST
    return int(text) if is_number else None


def plan_ask(room: Room, ask: Ask, by_plan: int | None = None) -> dict[str, Any]:
    """Return the plan of an ask against what is free.

    What each is worth elsewhere is by the newest cutting plan, or that with the number `by_plan`:
    a plan made meanwhile must not change the spread that a customer has just agreed to.

    Raises
    ------
    ProblemError
        If the ask holds a contradiction or the kernel refuses it.
    """
    shop = room.shop
    offers = shop.offers(use_on=ask.day, by_plan=by_plan)
    try:
        return room.planner.plan(ask, offers, shop.settings(), shop.now(), shop.learning.factor())
    except PlanRejected:
        raise ProblemError(
            "No spread passed the shop's own check of it; change the ask a little and try again."
        ) from None


def answer_fields(request: Request, fields: Fields) -> Response:
    """Answer a form or an address: the desk with its spread, or what is wrong with it."""
    room = room_of(request)
    now = room.now()
    was = fields.all("was")[-_MOST_VERSIONS:]
    last = fields.one("last")
    if fields.one("do") == "undo" and was:
        fields, last, was = fields_of_query(was[-1]), "", was[:-1]
    if not fields.one("heads") and not fields.one("do"):
        return page(request, _template(request), **_empty(room, fields))
    ask, faults = read_ask(fields, now)
    step = Step(ask)
    plan: dict[str, Any] | None = None
    if not faults:
        try:
            step = _stepped(room, fields.one("do"), ask)
            plan = plan_ask(room, step.ask)
        except ProblemError as error:
            faults.add(field_of(error) or "ask", spoken(error))
            ask = step.ask
    if plan is None:
        return _refuse(request, fields, faults, last, was)
    if last and last != step.ask.query():
        was.append(last)
    return show_desk(request, step, plan, was=was)


def spoken(error: ProblemError) -> str:
    """Return an error's sentence without the path of the kernel's own words."""
    message = error.message
    if error.where and message.startswith(error.where):
        message = "This ask" + message.removeprefix(error.where)
    return message


def _stepped(room: Room, do: str, ask: Ask) -> Step:
    if not do or do in {"undo", "work"}:
        return Step(ask)
    needs_plan = do.partition(":")[0] in {"cheaper", "finer", "yes"}
    plan = plan_ask(room, ask) if needs_plan else None
    return step_ask(do, ask, spread_of(plan, ask.aim), plan)


def _template(request: Request) -> str:
    return "_desk.html" if fragment_wanted(request) else "ask.html"


def _empty(room: Room, fields: Fields) -> dict[str, Any]:
    return {
        "ask": None, "form": FormView(fields, room.now()), "cuts": [],
        "faults": Faults(), "plan": None, "spread": None,
        "before": False, "notice": "", "was": [], "last": "", "taken": [],
        "key": "", "typical": TYPICAL, "second_yes": False, "left": None, "mark": "",
        "say_as": Words(), "worths": None,
    }  # fmt: skip


def _cuts(room: Room) -> list[CaseLine]:
    """Return the lines that an ask may be held to."""
    return [line for line in room.shop.case() if line.styles]


def show_desk(
    request: Request,
    step: Step,
    plan: dict[str, Any],
    *,
    was: list[str],
    status: int = 200,
    second_yes: bool = False,
    by_plan: int | None = None,
) -> HTMLResponse:
    """Show an ask with its answer.

    Parameters
    ----------
    second_yes : bool
        Whether the stock on the screen was old and booking must be said again.
    by_plan : int, optional
        Number of the cutting plan the answer was worked out by, by default the newest.
    """
    room = room_of(request)
    ask = step.ask
    fields = Fields([*ask.pairs(), ("show", ask.show)])
    spread = spread_of(plan, ask.aim)
    context = _empty(room, fields) | {
        "ask": ask, "plan": plan, "spread": spread, "notice": step.notice, "was": was,
        "cuts": _cuts(room),
        "last": ask.query(), "key": uuid4().hex,
        "taken": assumptions(ask, room.shop.learning.factor()),
        "second_yes": second_yes, "left": left_over(ask.budget, spread),
        "mark": signature(spread) if spread else "",
        "worths": plan_worths(room.shop, ask.day, by_plan),
    }  # fmt: skip
    response = page(request, _template(request), status=status, **context)
    if fragment_wanted(request):
        response.headers["HX-Replace-Url"] = f"/ask?{ask.query()}"
    return response


def _refuse(
    request: Request, fields: Fields, faults: Faults, last: str, was: list[str]
) -> HTMLResponse:
    """Show the form as typed, with what is wrong, and the last good spread greyed."""
    room = room_of(request)
    ask, plan = _before(room, last)
    spread = spread_of(plan, ask.aim) if ask else None
    context = _empty(room, fields) | {
        "faults": faults, "plan": plan, "before": True, "was": was, "last": last, "ask": ask,
        "cuts": _cuts(room),
        "spread": spread, "left": left_over(ask.budget, spread) if ask else None,
    }  # fmt: skip
    return page(request, _template(request), status=422, **context)


def _before(room: Room, last: str) -> tuple[Ask | None, dict[str, Any] | None]:
    """Return the last good ask and its plan, if there was one."""
    if not last:
        return None, None
    ask, faults = read_ask(fields_of_query(last), room.now())
    try:
        return (None, None) if faults else (ask, plan_ask(room, ask))
    except ProblemError:
        return None, None
