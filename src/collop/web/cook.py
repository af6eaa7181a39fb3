"""How a line of the case cooks: seen, changed, and what was said of it before."""

from __future__ import annotations

from decimal import Decimal
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, ShopError
from collop.fire.clocks import degrees
from collop.measures import WeightUnit
from collop.shop import CaseCook
from collop.shop.fire_told import CookTold
from collop.web.cook_form import (
    FORM_WORDS,
    METHOD_WORDS,
    TREATMENT_WORDS,
    CookForm,
    Scale,
    field_of,
    read_cook,
)
from collop.web.fire_view import HEAT_COOKIE, HEATS
from collop.web.hook import read_who
from collop.web.rendering import UNIT_COOKIE, UNITS, page
from collop.web.room import Posted, Queried, Room, room_of

__all__ = ["router"]

router = APIRouter()
_DONE = "Changed. Spreads and Fire Sheets count with it from now on."


@router.get("/case/{case_id}/cook", response_class=HTMLResponse)
def show_cook(request: Request, case_id: str, fields: Queried) -> HTMLResponse:
    """Show how a line cooks, and the form that changes it."""
    room = room_of(request)
    form = CookForm(room.shop.fire.told(case_id), _scale(request, room))
    return _show(request, form, done=_DONE if fields.one("done") else "")


@router.post("/case/{case_id}/cook", response_class=HTMLResponse)
def change_cook(request: Request, case_id: str, fields: Posted) -> Response:
    """Write how a line cooks from now on; what was written before stays in the list."""
    room = room_of(request)
    form = CookForm(room.shop.fire.told(case_id), _scale(request, room), fields)
    cook = read_cook(form)
    by = form.faults.take("by", lambda: read_who(room, fields), "")
    if form.faults:
        return _show(request, form, status=422)
    try:
        key = fields.one("key")[:64] or uuid4().hex
        room.shop.fire.set_cook(case_id, cook, by=by, key=key)
    except BadValue as error:
        name = field_of(error.where)
        if name is None:
            return _show(request, form, trouble=error.message, status=409)
        form.faults.add(name, error.message)
        return _show(request, form, status=422)
    except ShopError as error:
        return _show(request, form, trouble=error.message, status=409)
    return RedirectResponse(f"/case/{form.told.line.id}/cook?done=1", status_code=303)


def _scale(request: Request, room: Room) -> Scale:
    """Return how the device speaks; where it was never told, as the shop's scale does."""
    unit = request.cookies.get(UNIT_COOKIE, "")
    if unit not in UNITS:
        unit = "kg" if room.shop.settings().legal_unit is WeightUnit.KG else "lb"
    heat = request.cookies.get(HEAT_COOKIE, "")
    celsius = heat == "C" if heat in HEATS else unit == "kg"
    return Scale(inches=unit != "kg", celsius=celsius)


def _show(
    request: Request, form: CookForm, *, done: str = "", trouble: str = "", status: int = 200
) -> HTMLResponse:
    room = room_of(request)
    told, unit = form.told, "C" if form.scale.celsius else "F"
    words = {"form": FORM_WORDS, "method": METHOD_WORDS, "treatment": TREATMENT_WORDS}
    return page(
        request, "cook.html", status=status, form=form, faults=form.faults, told=told,
        line=told.line, cook=told.line.cook or CaseCook(), scale=form.scale,
        heat=lambda fahrenheit: degrees(Decimal(fahrenheit), unit),
        words=words, least=_least(told, unit), off=_off(told, unit), done=done,
        trouble=trouble, people=room.shop.people(), key=uuid4().hex,
        names={person.id: person.name for person in room.shop.people()},
    )  # fmt: skip


def _least(told: CookTold, unit: str) -> str:
    """Return the published minimum in words; empty for food without a rule."""
    rule = told.minimum
    if rule is None:
        return ""
    rest = f", then {rule.rest_min} min rest" if rule.rest_min else ""
    return degrees(rule.temperature.in_fahrenheit(3), unit) + rest


def _off(told: CookTold, unit: str) -> str:
    """Return the core at which it comes off; empty where nothing is known of it."""
    if told.off is None:
        return ""
    in_f, in_c = f"{told.off[0]} °F", f"{told.off[1]} °C"
    return f"{in_c} ({in_f})" if unit == "C" else f"{in_f} ({in_c})"
