"""Writing in the Day Book: cold, clean-down, a box, scale, thermometer, a correction."""

from __future__ import annotations

from collections.abc import Callable, Collection
from datetime import datetime
from typing import Any
from urllib.parse import urlencode
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, NotFound, ShopError
from collop.measures import Temperature
from collop.rules.limits import receiving_limit
from collop.shop import DayLine, Place
from collop.shop.clean_downs import ROOM, WHAT
from collop.shop.day_checks import ICE_POINT, probe_allowance
from collop.shop.day_model import RoundState
from collop.web.cookies import keep_setting
from collop.web.daybook import names_of
from collop.web.daybook_form import KEEPS, OVER_STEPS, DayForm, form_of, heat_in
from collop.web.fire_view import HEAT_COOKIE
from collop.web.forms import read_choice
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

__all__ = ["about", "router", "send", "to"]

router = APIRouter()
_COMMON = frozenset({"action", "told", "why", "paper", "by", "done_time", "done_day"})
# where the service says something is wrong, and the field it stands beside
_BESIDE = {"done_at": "done_time", "load": "test"}
Show = Callable[..., HTMLResponse]


def send(
    form: DayForm, names: Collection[str], write: Callable[[str, str], str], show: Show
) -> Response:
    """Write a form and go where `write` says, or show it again with what is wrong.

    Parameters
    ----------
    form : DayForm
        Read already; its faults are shown.
    names : collection of str
        The fields a message may stand beside.
    write : callable
        Takes person and key; returns the address to go to.
    show : callable
        Shows the form; takes `status` and `trouble`.
    """
    by = form.by()
    if form.faults:
        return show(status=422)
    try:
        address = write(by, form.key())
    except BadValue as error:
        name = _BESIDE.get(error.where, error.where)
        if name not in {*names, *_COMMON}:
            return show(status=409, trouble=error.message)
        form.faults.add(name, error.message)
        return show(status=422)
    except NotFound as error:
        if error.where not in names:
            raise
        form.faults.add(error.where, error.message)
        return show(status=422)
    except ShopError as error:
        return show(status=409, trouble=error.message)
    answer = RedirectResponse(address, status_code=303)
    if form.fields.one("degrees") == form.degrees:
        keep_setting(answer, HEAT_COOKIE, form.degrees)
    return answer


def to(path: str, **query: str) -> str:
    """Return an address with what of its query is not empty."""
    kept = {name: text for name, text in query.items() if text}
    return f"{path}?{urlencode(kept)}" if kept else path


def about(request: Request, form: DayForm) -> dict[str, Any]:
    """Return what every form of the Day Book shows."""
    room, fields = form.room, form.fields
    done = fields.one("done") if request.method == "GET" else ""
    return {
        "form": fields, "faults": form.faults, "degrees": form.degrees, "unit": form.unit,
        "people": room.shop.people(), "steps": room.shop.day.steps(), "names": names_of(room),
        "key": fields.one("key") or uuid4().hex, "today": room.now().date(),
        "done": _done_line(room, done), "heat": heat_in(form.degrees),
        "is_over": bool({"action", "told"} & set(form.faults.messages) or fields.one("action")),
        "over_steps": OVER_STEPS,
    }  # fmt: skip


def _done_line(room: Room, line_id: str) -> DayLine | None:
    """Return the line that was written last, None if the address names none."""
    try:
        return room.shop.day.line(line_id) if line_id else None
    except NotFound:
        return None


# cold


@router.get("/daybook/cold", response_class=HTMLResponse)
def show_cold(request: Request, fields: Queried) -> HTMLResponse:
    """Show the places, what each may be at the most, and the field for what it is."""
    return _show_cold(request, form_of(request, room_of(request), fields))


@router.post("/daybook/cold", response_class=HTMLResponse)
def write_cold(request: Request, fields: Posted) -> Response:
    """Write one reading; over the limit only with what was done and who was told."""
    form = form_of(request, room_of(request), fields)
    places = {place.id: place for place in form.room.shop.day.places()}
    place = form.take("place", lambda text: _place(text, places), "")
    kind = places[place].kind if place in places else ""
    reading, done_at = form.temperature("reading", "Reading", kind), form.when()

    def write(by: str, key: str) -> str:
        line = form.room.shop.day.check_cold(place, reading, told=form.told(), done_at=done_at,
                                             by=by, key=key)  # fmt: skip
        return to("/daybook/cold", by=by, done=line.id)

    return send(form, ("place", "reading"), write,
                lambda **more: _show_cold(request, form, **more))  # fmt: skip


def _place(text: str, places: dict[str, Place]) -> str:
    if not text:
        raise BadValue("Place: choose which one was read.")
    return read_choice(text, "Place", places)


def _show_cold(
    request: Request, form: DayForm, *, status: int = 200, trouble: str = ""
) -> HTMLResponse:
    on = form.room.shop.day.page()
    last: dict[str, DayLine] = {}
    for line in on.lines:
        if line.tile == "cold" and line.stands:
            last[line.subject] = line
    todo = {
        one.place.id: one
        for one in reversed(on.rounds)
        if one.state in {RoundState.DUE, RoundState.OVERDUE}
    }
    return page(
        request, "daybook_cold.html", status=status, trouble=trouble, last=last, todo=todo,
        places=form.room.shop.day.places(), tile=next(t for t in on.tiles if t.key == "cold"),
        **about(request, form),
    )  # fmt: skip


# clean-down


@router.get("/daybook/clean", response_class=HTMLResponse)
def show_clean(request: Request, fields: Queried) -> HTMLResponse:
    """Show when the next clean-down is due, and the form that puts one down."""
    return _show_clean(request, form_of(request, room_of(request), fields))


@router.post("/daybook/clean", response_class=HTMLResponse)
def write_clean(request: Request, fields: Posted) -> Response:
    """Put a clean-down down; it ends the lot of mince."""
    form = form_of(request, room_of(request), fields)
    what = form.take("what", lambda text: _what(text, form), "")
    room, done_at = form.maybe_temperature("room", "Room", "room"), form.when()

    def write(by: str, key: str) -> str:
        form.room.shop.day.clean_down(what, room=room, words=form.fields.one("words"),
                                      done_at=done_at, by=by, key=key)  # fmt: skip
        return to("/daybook/clean", said=what if what in WHAT else "other")

    return send(form, ("what", "room", "words"), write,
                lambda **more: _show_clean(request, form, **more))  # fmt: skip


def _what(text: str, form: DayForm) -> str:
    other = form.fields.one("other")
    if text == "other" and other:
        return other
    if not text or text == "other":
        raise BadValue("What: choose what was cleaned down, or write it.")
    return read_choice(text, "What", WHAT)


@router.post("/daybook/clean/back", response_class=HTMLResponse)
def take_clean_back(request: Request, fields: Posted) -> Response:
    """Take the last clean-down back within the hour; both stay on record."""
    form = form_of(request, room_of(request), fields)

    def write(by: str, key: str) -> str:
        form.room.shop.day.take_back_clean_down(by=by, key=key)
        return to("/daybook/clean", said="back")

    return send(form, (), write, lambda **more: _show_clean(request, form, **more))


def _show_clean(
    request: Request, form: DayForm, *, status: int = 200, trouble: str = ""
) -> HTMLResponse:
    said = form.fields.one("said") if request.method == "GET" else ""
    known = {"back": "Taken back; both stay on record.", "other": "Put down."}
    if said in WHAT:
        known[said] = f"Put down: {said}."
    return page(
        request, "daybook_clean.html", status=status, trouble=trouble, what=WHAT, room_name=ROOM,
        clean=form.room.shop.day.clean_due(), said=known.get(said, ""), at=form.room.now(),
        **about(request, form),
    )  # fmt: skip


# a box at the door


@router.get("/daybook/receive", response_class=HTMLResponse)
def show_receive(request: Request, fields: Queried) -> HTMLResponse:
    """Show the form for a box at the door, and the way to that of an animal."""
    return _show_receive(request, form_of(request, room_of(request), fields))


@router.post("/daybook/receive", response_class=HTMLResponse)
def write_receive(request: Request, fields: Posted) -> Response:
    """Write what came, taken in or not."""
    form = form_of(request, room_of(request), fields)
    box, done_at = form.box(), form.when()

    def write(by: str, key: str) -> str:
        line = form.room.shop.day.receive(box, told=form.told(), done_at=done_at, by=by, key=key)
        return to("/daybook/receive", done=line.id)

    names = ("what", "supplier", "keeps", "establishment", "lot", "weight", "temperature")
    return send(form, names, write, lambda **more: _show_receive(request, form, **more))


def _show_receive(
    request: Request, form: DayForm, *, status: int = 200, trouble: str = ""
) -> HTMLResponse:
    return page(request, "daybook_receive.html", status=status, trouble=trouble, keeps=KEEPS,
                warm=form.room.shop.day.to_cool(), limit=receiving_limit(
                    form.room.shop.rules.chosen()), **about(request, form))  # fmt: skip


# scale and thermometer


@router.get("/daybook/scale", response_class=HTMLResponse)
def show_scale(request: Request, fields: Queried) -> HTMLResponse:
    """Show the form for a scale and its test weight."""
    return _show_tool(request, form_of(request, room_of(request), fields), "daybook_scale.html")


@router.post("/daybook/scale", response_class=HTMLResponse)
def write_scale(request: Request, fields: Posted) -> Response:
    """Write what a scale said of a test weight."""
    form = form_of(request, room_of(request), fields)
    weights = (form.weight("test", "Test weight"), form.weight("reading", "Reading"),
               form.weight("division", "Step"))  # fmt: skip
    done_at = form.when()

    def write(by: str, key: str) -> str:
        line = form.room.shop.day.check_scale(form.fields.one("name"), weights, told=form.told(),
                                              done_at=done_at, by=by, key=key)  # fmt: skip
        return to("/daybook/scale", done=line.id)

    return send(form, ("name", "test", "reading", "division"), write,
                lambda **more: _show_tool(request, form, "daybook_scale.html", **more))  # fmt: skip


@router.get("/daybook/probe", response_class=HTMLResponse)
def show_probe(request: Request, fields: Queried) -> HTMLResponse:
    """Show the form for a thermometer in melting ice."""
    return _show_tool(request, form_of(request, room_of(request), fields), "daybook_probe.html")


@router.post("/daybook/probe", response_class=HTMLResponse)
def write_probe(request: Request, fields: Posted) -> Response:
    """Write what a thermometer said in melting ice."""
    form = form_of(request, room_of(request), fields)
    reading, done_at = form.temperature("reading", "Reading"), form.when()

    def write(by: str, key: str) -> str:
        line = form.room.shop.day.check_probe(form.fields.one("name"), reading, told=form.told(),
                                              done_at=done_at, by=by, key=key)  # fmt: skip
        return to("/daybook/probe", done=line.id)

    return send(form, ("name", "reading"), write,
                lambda **more: _show_tool(request, form, "daybook_probe.html", **more))  # fmt: skip


def _show_tool(
    request: Request, form: DayForm, template: str, *, status: int = 200, trouble: str = ""
) -> HTMLResponse:
    allowed, row = probe_allowance()
    return page(
        request, template, status=status, trouble=trouble, ice=ICE_POINT,
        allowed=allowed.in_fahrenheit_degrees(0), source=row.citation(), **about(request, form),
    )  # fmt: skip


# corrections


@router.get("/daybook/line/{line_id}/correct", response_class=HTMLResponse)
def show_line(request: Request, line_id: str, fields: Queried) -> HTMLResponse:
    """Show a line as it stands, and the ways to correct it."""
    form = form_of(request, room_of(request), fields)
    return _show_line(request, form, form.room.shop.day.line(line_id))


@router.post("/daybook/line/{line_id}/correct", response_class=HTMLResponse)
def correct_line(request: Request, line_id: str, fields: Posted) -> Response:
    """Write a further line in the place of one, or take it back; the first one stays."""
    form = form_of(request, room_of(request), fields)
    line = form.room.shop.day.line(line_id)
    if fields.one("do") == "back":
        write = _taking_back(form, line)
    else:
        write = _correcting(form, line, form.when())
    return send(form, ("reading", "test", "division"), write,
                lambda **more: _show_line(request, form, line, **more))  # fmt: skip


def _taking_back(form: DayForm, line: DayLine) -> Callable[[str, str], str]:
    def write(by: str, key: str) -> str:
        form.room.shop.day.take_back(line.id, why=form.fields.one("why"), by=by, key=key)
        return to("/daybook", day=f"{line.done_at:%Y-%m-%d}")

    return write


def _correcting(
    form: DayForm, line: DayLine, done_at: datetime | None
) -> Callable[[str, str], str]:
    day, number = form.room.shop.day, int(line.id[1:])
    told, back = form.told(), to("/daybook", day=f"{line.done_at:%Y-%m-%d}")
    common: dict[str, Any] = {"told": told, "done_at": done_at, "corrects": number}
    if line.tile == "scale":
        weights = (form.weight("test", "Test weight"), form.weight("reading", "Reading"),
                   form.weight("division", "Step"))  # fmt: skip
        return lambda by, key: _then(back, day.check_scale(line.name, weights, by=by, key=key,
                                                           **common))  # fmt: skip
    kind = _kind(form, line)
    reading = form.temperature("reading", "Reading", kind)
    return lambda by, key: _then(back, _read_again(form, line, reading, by=by, key=key, **common))


def _kind(form: DayForm, line: DayLine) -> str:
    kinds = {place.id: place.kind for place in form.room.shop.day.places()}
    return kinds.get(line.subject, "") if line.tile == "cold" else ""


def _read_again(form: DayForm, line: DayLine, reading: Temperature, **more: Any) -> DayLine:  # noqa: ANN401 -- passed on
    day = form.room.shop.day
    if line.tile == "cold":
        return day.check_cold(line.subject, reading, **more)
    if line.is_cooling:
        return day.check_cooled(line.subject, reading, **more)
    if line.tile == "probe":
        return day.check_probe(line.name, reading, **more)
    raise BadValue("A box is not corrected line by line: take it back, then write it anew.",
                   where="why")  # fmt: skip


def _then(address: str, _line: DayLine) -> str:
    return address


def _show_line(
    request: Request, form: DayForm, line: DayLine, *, status: int = 200, trouble: str = ""
) -> HTMLResponse:
    return page(request, "daybook_line.html", status=status, trouble=trouble, line=line,
                **about(request, form))  # fmt: skip
