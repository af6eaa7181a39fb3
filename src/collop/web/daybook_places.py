"""Where cold is read: places and their limits, the hours of the rounds, the steps when over."""

from __future__ import annotations

from collections.abc import Callable
from datetime import time, timedelta
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from collop.errors import BadValue
from collop.rules.limits import cold_limit, freezer_limit
from collop.shop import Place
from collop.web.daybook_form import DayForm, chosen_of, form_of, heat_in
from collop.web.daybook_write import send
from collop.web.forms import read_time
from collop.web.rendering import page
from collop.web.room import Posted, Queried, room_of

__all__ = ["router"]

router = APIRouter()
_KINDS = {"chilled": "kept chilled", "frozen": "kept frozen", "room": "cutting room"}
_NAMES = ("place", "name", "kind", "limit", "rounds", "steps")
_DONE = {
    "place": "Written. It is read against that limit from now on.",
    "retired": "Read no more. What stands in the book of it stays.",
    "rounds": "Written. The new hours count from tomorrow.",
    "steps": "Written.",
}  # fmt: skip


@router.get("/daybook/places", response_class=HTMLResponse)
def show_places(request: Request, fields: Queried) -> HTMLResponse:
    """Show the places with their limits, the hours of the rounds, and the steps."""
    return _show(request, form_of(request, room_of(request), fields, kept=("place",)))


@router.post("/daybook/places", response_class=HTMLResponse)
def change(request: Request, fields: Posted) -> Response:
    """Change one of them; the reason is kept as a note in the book."""
    form = form_of(request, room_of(request), fields)
    do, day, why = fields.one("do"), form.room.shop.day, fields.one("why")
    if do == "rounds":
        hours: list[time] = form.take("rounds", _hours, [])

        def write(by: str, key: str) -> str:
            day.set_rounds(hours, why=why, by=by, key=key)
            return "/daybook/places?said=rounds"
    elif do == "steps":

        def write(by: str, key: str) -> str:
            steps = [line.strip() for line in fields.one("steps").splitlines() if line.strip()]
            day.set_steps(steps, why=why, by=by, key=key)
            return "/daybook/places?said=steps"
    elif do == "retire":

        def write(by: str, key: str) -> str:
            day.retire_place(fields.one("place"), why=why, by=by, key=key)
            return "/daybook/places?said=retired"
    else:
        return send(form, _NAMES, _placing(form), lambda **more: _show(request, form, **more))
    return send(form, _NAMES, write, lambda **more: _show(request, form, **more))


def _placing(form: DayForm) -> Callable[[str, str], str]:
    fields, day = form.fields, form.room.shop.day
    place = _known(fields.one("place"), day.places())
    kind = place.kind if place else form.take(
        "kind", lambda text: chosen_of(text, "It is", _KINDS), "chilled")  # fmt: skip
    limit = form.temperature("limit", "Limit", kind)

    def write(by: str, key: str) -> str:
        day.set_place(place.id if place else None, fields.one("name"), kind=kind, limit=limit,
                      why=fields.one("why"), by=by, key=key)  # fmt: skip
        return "/daybook/places?said=place"

    return write


def _known(place_id: str, places: tuple[Place, ...]) -> Place | None:
    return next((place for place in places if place.id == place_id), None)


def _hours(text: str) -> list[time]:
    found = [read_time(one, "Rounds") for one in text.replace(",", " ").split()]
    if not found:
        raise BadValue("Rounds: write the hours, such as 08:00 13:00 17:30.")
    return found


def _show(request: Request, form: DayForm, *, status: int = 200, trouble: str = "") -> HTMLResponse:
    day, fields = form.room.shop.day, form.fields
    said = fields.one("said") if request.method == "GET" else ""
    places = day.places()
    chosen = form.room.shop.rules.chosen()
    return page(
        request, "daybook_places.html", status=status, trouble=trouble, form=fields,
        faults=form.faults, places=places, kinds=_KINDS, rounds=day.rounds(),
        tomorrow=day.rounds(form.room.now().date() + timedelta(days=1)), steps=day.steps(),
        change=_known(fields.one("place"), places), said=_DONE.get(said, ""), do=fields.one("do"),
        people=form.room.shop.people(), key=fields.one("key") or uuid4().hex,
        degrees=form.degrees, heat=heat_in(form.degrees),
        limits=(cold_limit(chosen), freezer_limit(chosen)),
    )  # fmt: skip
