"""The cutting plan: what is broken when and why, and what a person's own choice would change."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import CollopError, StorageTrouble
from collop.shop.bench_model import PlanInWork
from collop.web.bench_plan_view import (
    ANY_DAY,
    Choices,
    Compared,
    Way,
    compared,
    days_of,
    hourly,
    pieces_of,
    plain_number,
    proof_words,
    read_choices,
    weigh,
    worth_rows,
)
from collop.web.forms import Fields
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

if TYPE_CHECKING:
    from collop.shop import KeptPlan

__all__ = ["router"]

router = APIRouter()
_HERE = "/bench/plan"
_MOVED = "The shop has moved since this plan was made. Plan again, then compare."
_HANGING = "keep"
_NUMBER_LONGEST = 9
#: Where the contribution comes from and goes to, in the order it is read; costs are taken off.
_MONEY = (
    ("bookings", "bookings", 1), ("sales", "over the counter", 1),
    ("by_products", "bone, fat and such", 1), ("bins", "trim sold as it is", 1),
    ("salvage", "past its days", 1), ("left", "worth of what is left", 1),
    ("kept", "worth of what hangs", 1), ("labour", "labour", -1), ("overtime", "overtime", -1),
    ("making", "casing and what is added", -1),
)  # fmt: skip


@router.get(_HERE, response_class=HTMLResponse)
def show_plan(request: Request, fields: Queried) -> Response:
    """Show the plan in force, and beside it the plan with the choices of the link."""
    return _show(request, fields)


@router.post(_HERE, response_class=HTMLResponse)
def plan_again(request: Request, fields: Posted) -> Response:
    """Plan afresh from what hangs, is booked and is on hand now, and keep the plan.

    If a newer plan than the one the page shows is there and stands, that one is shown.
    """
    room, text = room_of(request), fields.one("shown")
    is_number = text.isascii() and text.isdigit() and len(text) <= _NUMBER_LONGEST
    try:
        room.shop.bench.refresh(force=True, shown=int(text) if is_number else None)
    except StorageTrouble:
        raise
    except PlanInWork as error:
        return _show(request, Fields([]), refused=error.message)
    except CollopError as error:
        return _show(request, Fields([]), refused=f"{error.message} No plan was made.")
    return RedirectResponse(_HERE, status_code=303)


def _choices(kept: KeptPlan, fields: Fields) -> Choices:
    """Read the link's choices, and the one of the small form, which counts before the others."""
    keep, do = fields.all("keep"), fields.all("do")
    tag, style = fields.one("tag"), fields.one("style")
    if tag:
        keep = [one for one in keep if one != tag]
        do = [one for one in do if one.rsplit(":", 2)[0] != tag]
        if style == _HANGING:
            keep.append(tag)
        else:
            do.append(f"{tag}:{style}:{fields.one('day', ANY_DAY)}")
    return read_choices(kept.problem, keep, do)


def _address(pairs: list[tuple[str, str]], part: str = "") -> str:
    query = f"?{urlencode(pairs)}" if pairs else ""
    return f"{_HERE}{query}{'#' if part else ''}{part}"


def _show(request: Request, fields: Fields, *, refused: str = "") -> Response:
    room = room_of(request)
    kept = room.shop.bench.latest()
    if kept is None:
        return page(request, "bench_plan.html", status=409 if refused else 200, kept=None,
                    refused=refused)  # fmt: skip
    choices = _choices(kept, fields)
    if "tag" in fields:
        return RedirectResponse(_address(choices.pairs(), "compare"), status_code=303)
    plan, problem = kept.plan, kept.problem
    other, trouble, said = _other(room, kept, choices)
    status = 409 if refused else said
    ways = {one.tag: one for one in pieces_of(problem)}
    way = ways.get(fields.one("try"))
    return page(
        request, "bench_plan.html", status=status, refused=refused, kept=kept, plan=plan,
        choices=choices, days=days_of(plan, problem), way=way, ways=ways, other=other,
        trouble=trouble, dates=choices.dates, opened=[day["open"] for day in problem["days"]],
        proof=proof_words(plan), worths=worth_rows(plan, problem),
        first=_first(plan, way, choices), number=plain_number, hourly=hourly,
        try_address=lambda tag: _address([*choices.pairs(), ("try", tag)], "try"),
        without=lambda tag: _address(choices.pairs(leaving_out=tag), "compare"),
        weigh=lambda text: weigh(text, plan["unit"]),
        fullest=max((plan["case_room"] or {"used": []})["used"], key=Decimal, default="0"),
        money_lines=_money_lines(plan), kinds={one["id"]: one["name"] for one in problem["kinds"]},
        leaves=_leaves(plan),
    )  # fmt: skip


def _money_lines(plan: Mapping[str, Any]) -> list[tuple[str, Decimal]]:
    """Return the parts of the contribution, those of nothing left out; they add up to it."""
    return [
        (name, sign * Decimal(plan["money"][key]))
        for key, name, sign in _MONEY
        if Decimal(plan["money"].get(key, "0"))
    ]


def _leaves(plan: Mapping[str, Any]) -> dict[str, list[Mapping[str, Any]]]:
    """Return by tag the bookings that take a part of the piece with them."""
    found: dict[str, list[Mapping[str, Any]]] = {}
    for claim in plan["claims"]:
        found.setdefault(claim["tag"], []).append(claim)
    return found


def _first(plan: Mapping[str, Any], way: Way | None, choices: Choices) -> tuple[str, int | None]:
    """Return style and day the small form starts with: those chosen before, else the style planned.

    No day stands for the best one.
    """
    if way is None:
        return "", None
    chosen = choices.of(way.tag)
    if chosen is not None:
        return chosen.style or _HANGING, chosen.day
    planned = (one["style"] for one in plan["breaks"] if one["tag"] == way.tag and not one["of"])
    return next(planned, _HANGING), None


def _other(
    room: Room, kept: KeptPlan, choices: Choices
) -> tuple[Compared | None, str, int]:  # fmt: skip
    """Return the plan with the choices against the plan in force, or why there is none; status."""
    if not choices.made:
        return None, "", 200
    if not kept.is_current:
        return None, _MOVED, 200
    try:
        plan = room.shop.bench.rival(kept, [one.lock for one in choices.made])
    except StorageTrouble:
        raise
    except PlanInWork as error:
        return None, error.message, 409
    except CollopError as error:
        return None, error.message, 422
    return compared(kept.plan, plan, kept.problem), "", 200
