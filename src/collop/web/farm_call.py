"""Farm Call: how many whole animals to order, and the sentences to say on the phone."""

from __future__ import annotations

import json
import threading
from collections import OrderedDict
from collections.abc import Mapping
from datetime import date
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.errors import CollopError, StorageTrouble
from collop.web.bench_plan_view import plain_number, proof_words, weigh
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
from collop.web.forms import Faults
from collop.web.rendering import page, shown_for
from collop.web.room import Queried, room_of

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
    room, faults = room_of(request), Faults()
    offered = weeks(room.now().date())
    asked = fields.one("week")
    week = next((one for one in offered if one.isoformat() == asked), offered[0])
    notice = week_notice(asked, is_offered=week.isoformat() == asked)
    try:
        problem = room.shop.bench.farm_problem(week)
        words = Words.of(problem["unit"], shown_for(request).unit)
        counts = read_counts(fields, problem, faults)
        refuse_too_heavy(problem, counts, faults, words.weight)
        best = _memory.plan(problem)
    except StorageTrouble:
        raise
    except CollopError as error:
        return _empty(request, week, offered, error.message)
    shown, trouble = best, ""
    if counts and not faults:
        try:
            shown = _memory.plan(fixed(problem, counts))
        except StorageTrouble:
            raise
        except CollopError as error:
            trouble = error.message
    if shown is best:
        counts = {name: count for name, count in counts.items() if faults or trouble}
    status = 422 if faults else 409 if trouble else 200
    rows = rows_of(best, shown, counts, problem)
    return page(
        request, "farm_call.html", status=status, problem=problem, plan=shown, best=best,
        week=week, weeks=offered, rows=rows, cuts=cuts_shown(shown, words), faults=faults,
        fields=fields, trouble=trouble, best_ordered=ordered(best), is_typed=shown is not best,
        by=changed_money(best, shown), short_by=missing(shown) - missing(best),
        number=plain_number, notice=notice, words=words, proof=proof_words(shown),
        notes=dict.fromkeys([*room.shop.bench.farm_notes(week), *shown["assumptions"]]),
        weigh=lambda text: weigh(text, problem["unit"]),
    )  # fmt: skip


def _empty(request: Request, week: date, offered: list[date], why: str) -> HTMLResponse:
    """Show why nothing can be worked out for a week."""
    return page(request, "farm_call.html", status=409, problem=None, plan=None, week=week,
                weeks=offered, trouble=why, notice="", faults=Faults())  # fmt: skip
