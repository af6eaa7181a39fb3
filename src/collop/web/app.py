"""The application: pages, static files, and one sentence for everything that goes wrong."""

from __future__ import annotations

import logging
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING, Any

from fastapi import Depends, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import Response
from fastapi.staticfiles import StaticFiles
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.types import Scope

from collop.errors import CollopError, NotFound, StorageTrouble
from collop.web import (
    add_to_booking,
    ask,
    audit_page,
    bench,
    bench_paper,
    bench_plan,
    bench_state,
    board,
    booking,
    buying,
    cards,
    case,
    case_new,
    chalk,
    chalk_line,
    choices,
    codes,
    cook,
    daybook,
    daybook_cooled,
    daybook_note,
    daybook_places,
    daybook_write,
    device,
    exchange,
    farm_call,
    fire,
    fire_room,
    fire_sums,
    first_run,
    flow,
    free_by,
    freezer,
    hand_over,
    hook,
    keeping,
    keyed_back,
    knife,
    learning,
    lockup,
    lockup_line,
    long_list,
    making,
    making_acts,
    net_weight,
    papers,
    parts_page,
    people_me,
    people_page,
    pickup,
    putting,
    rail,
    recall,
    receiving,
    reckoning,
    rehome,
    reminders,
    replay,
    rules,
    scale,
    scan,
    sell,
    sell_slip,
    sign_in,
    standing,
    styles,
    sums,
    takings,
    tickets,
    tour,
    trace,
    waiting,
    works,
    yields,
)
from collop.web.bench_state import PlanStanding
from collop.web.bodies import WholeBodies
from collop.web.describing import describe
from collop.web.guard import Door, Guard
from collop.web.keeper import Keeper
from collop.web.not_yours import refuse
from collop.web.permissions import NotYours, check_action
from collop.web.plain_requests import HeadAsGet, ReadableOnly
from collop.web.planning import Answer, Planner
from collop.web.rendering import STATIC, page, storage_page
from collop.web.replanning import Replanner
from collop.web.room import Room
from collop.web.security import KnownHostsOnly, OwnRequestsOnly, SafeHeaders
from collop.web.stopping import StopWithReader
from collop.web.waiting_replay import DoneEarlier
from collop.web.warming import Warmer

if TYPE_CHECKING:
    from collop.shop import Shop

__all__ = ["create_app"]

_log = logging.getLogger(__name__)
_KEPT_FILES = (
    "collop.css", "knife.css", "figures.css", "collop.js", "tag.svg",
    "vendor/htmx-4.0.1.min.js", "vendor/uplot-1.6.32.iife.min.js",
    "vendor/uplot-1.6.32.min.css", "scale.js", "knife.js", "flow.js",
    "chalk.css", "door.css", "door.js", "chalk.js", "board.js", "plan.css", "bench.css",
    "bench.js", "replan.css", "replan.js",
    "waiting.css", "waiting.js", "queue.js", "away_sums.js", "sell_away.js", "sell.js",
    "find.js", "scan.js", "sounds.js", "working.js",
    "pictures.js", "pictures.css",
    "dark.css", "wall.css", "gloves.js",
)  # fmt: skip
_SCREENS = (
    ask, booking, cards, tour, case, case_new, cook, reminders, free_by, standing,
    hook, add_to_booking, hand_over, pickup, rehome, works, receiving, rail, knife,
    making, making_acts,
    putting, scale, scan, flow, trace, recall, yields, styles, device, parts_page,
    board, bench, bench_paper,
    bench_plan, bench_state, farm_call, sums, choices, chalk_line, chalk, fire, fire_room,
    fire_sums, codes, rules, daybook, daybook_write, daybook_cooled, daybook_places, daybook_note,
    lockup, lockup_line, tickets, net_weight, reckoning, learning, sell, sell_slip,
    long_list, buying,
    takings, freezer, papers, keyed_back, exchange, replay,
    sign_in, first_run, people_me, people_page, audit_page, keeping, waiting,
)  # fmt: skip
#: Bytes from which an answer is sent compressed to whoever takes it so.
_LEAST_TO_SHORTEN = 1024
_FOR_EVER = "public, max-age=31536000, immutable"


def create_app(
    shop: Shop,
    *,
    answer: Answer | None = None,
    hosts: Sequence[str] | None = None,
    replan: bool = False,
    warm: bool = False,
    keeper: Keeper | None = None,
    set_up_code: str = "",
    site: str = "",
    is_open_without_password: bool = False,
) -> FastAPI:
    """Return the counter's application for an open shop.

    Parameters
    ----------
    shop : Shop
        The shop, already open.
    answer : callable, optional
        What answers an ask, problem JSON to plan JSON; left out, the spread kernel.
    hosts : sequence of str, optional
        Names this shop answers to, beside localhost and addresses in figures; left out, any.
    replan : bool
        Whether the cutting plan is kept current in the background while the server runs.
    warm : bool
        Whether what the first tap needs is got ready in the background when the server starts.
    keeper : Keeper, optional
        What makes a copy of the shop each day while the server runs.
    set_up_code : str
        What the first run of a shop without passwords asks for; empty, and there is none.
    site : str
        Where customers reach these pages, without a last slash, for the code on a Fire Sheet;
        empty, where the counter does.
    is_open_without_password : bool
        Whether a shop in which nobody has a password is open to all; the demo shop always is.
    """
    if answer is None:
        from collop.spread import answer as kernel  # noqa: PLC0415 -- the solver is heavy

        answer = kernel
    replanner = Replanner(shop) if replan else None
    beside = (replanner, Warmer(shop) if warm else None, keeper)
    door = Door(shop, is_open_without_password, set_up_code)
    app = FastAPI(
        title="collop",
        dependencies=[Depends(check_action)],
        lifespan=_beside([one for one in beside if one]),
        docs_url=None,
        redoc_url=None,
        middleware=_layers(hosts, door),
    )
    app.state.room, app.state.door = Room(shop, Planner(answer)), door
    app.state.pan = scale.Pan()
    app.state.replanner = replanner
    app.state.keeper, app.state.site = keeper, site
    app.state.standing = PlanStanding(shop, replanner)
    for screen in _SCREENS:
        app.include_router(screen.router)
    app.add_api_route("/sw.js", _service_worker, include_in_schema=False)
    app.mount("/static", _KeptFiles(directory=STATIC), name="static")
    app.add_exception_handler(CollopError, _refused)
    app.add_exception_handler(NotYours, refuse)
    app.add_exception_handler(HTTPException, _not_here)
    app.add_exception_handler(RequestValidationError, _unreadable)
    app.add_exception_handler(Exception, _broken)
    describe(app)
    return app


def _beside(threads: Sequence[Replanner | Warmer | Keeper]) -> Callable[[FastAPI], Any]:
    """Return what runs in the background as long as the server does."""

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        for one in threads:
            one.start()
        try:
            yield
        finally:
            for one in threads:
                await run_in_threadpool(one.stop)

    return lifespan


class _KeptFiles(StaticFiles):
    """Static files; those asked for by their digest may be kept for ever."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        response = await super().get_response(path, scope)
        asked_by_digest = bytes(scope.get("query_string", b"")).startswith(b"v=")
        response.headers["Cache-Control"] = _FOR_EVER if asked_by_digest else "no-cache"
        return response


def _layers(hosts: Sequence[str] | None, door: Door) -> list[Middleware]:
    """Return what every request passes, from the outside in."""
    return [
        Middleware(SafeHeaders),
        Middleware(GZipMiddleware, minimum_size=_LEAST_TO_SHORTEN, compresslevel=5),
        Middleware(ReadableOnly),
        Middleware(HeadAsGet),
        *([] if hosts is None else [Middleware(KnownHostsOnly, names=hosts)]),
        Middleware(OwnRequestsOnly),
        Middleware(WholeBodies),
        Middleware(StopWithReader),
        Middleware(device.OwnLanguage),
        Middleware(Guard, door=door),
        Middleware(DoneEarlier),
    ]


def _service_worker() -> Response:
    """Return the offline script with the list of files it keeps."""
    return waiting.service_worker(_KEPT_FILES)


def _refused(request: Request, error: Exception) -> Response:
    """Answer what a room refused: 404 for a thing that is not there, else 409 or 503."""
    assert isinstance(error, CollopError)
    if isinstance(error, StorageTrouble):
        return storage_page(error)
    status = 404 if isinstance(error, NotFound) else 409
    return page(request, "trouble.html", status=status, what=error.message,
                works="Everything else on this screen still works.")  # fmt: skip


def _not_here(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    what = {404: "This page is not here.", 405: "This page cannot be sent to."}.get(
        error.status_code, "The request could not be read."
    )
    return page(request, "trouble.html", status=error.status_code, what=what,
                works="Ask, case and hook still work.")  # fmt: skip


def _unreadable(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    return page(request, "trouble.html", status=422, what="The address could not be read.",
                works="Ask, case and hook still work.")  # fmt: skip


def _broken(_request: Request, error: Exception) -> Response:
    _log.error("unexpected: %r", error)
    return Response("Something broke here. Nothing was written. Go back and try again.\n",
                    status_code=500, media_type="text/plain; charset=utf-8")  # fmt: skip
