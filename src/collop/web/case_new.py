"""A new line of the case."""

from __future__ import annotations

from decimal import Decimal
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, ShopError
from collop.measures import UnitPrice, WeightUnit
from collop.shop import NewCaseLine
from collop.web.forms import Faults, Fields, read_amount, read_choice, read_whole
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import Posted, Room, room_of

__all__ = ["FORMS", "router"]

#: Dish styles a line may be suggested in, and what the screen calls them.
STYLES = {"plate": "on a plate", "shared": "sliced to share", "hand": "in the hand",
          "wrap": "in a wrap", "stew": "stew"}  # fmt: skip
METHODS = ("direct grill", "covered grill", "covered grill or oven", "low oven or smoke", "braise",
           "ready to eat")  # fmt: skip
# where every dish begins until the shop scores its own
_MIDDLE = 0.6

router = APIRouter()
SPECIES = ("beef", "pork", "lamb", "goat", "chicken", "duck", "none")
FORMS = ("fresh", "frozen", "chilled")
COOK_AS = {"whole": "whole cut", "ground": "mince, links, patties, needled",
           "poultry": "poultry", "none": "food without meat"}  # fmt: skip


@router.get("/case/new", response_class=HTMLResponse)
def show_form(request: Request) -> Response:
    """Show the form of a new line."""
    return _show(request, Fields([]), Faults())


@router.post("/case/new", response_class=HTMLResponse)
def add_line(request: Request, fields: Posted) -> Response:
    """Add the line, or show what is wrong with it."""
    room, faults = room_of(request), Faults()
    new = _read(room, fields, faults)
    by = faults.take("by", lambda: read_who(room, fields), "")
    if new is None or faults:
        return _show(request, fields, faults, status=422)
    try:
        room.shop.cutting.add_case_line(new, by=by, key=fields.one("key")[:64] or uuid4().hex)
    except BadValue as error:
        faults.add(error.where or "name", error.message)
        return _show(request, fields, faults, status=422)
    except ShopError as error:
        faults.add("name", error.message)
        return _show(request, fields, faults, status=409)
    return RedirectResponse("/case", status_code=303)


def _read(room: Room, fields: Fields, faults: Faults) -> NewCaseLine | None:
    unit = room.shop.settings().legal_unit
    species = faults.take(
        "species", lambda: read_choice(fields.one("species"), "Species", SPECIES), ""
    )
    form = faults.take("form", lambda: read_choice(fields.one("form", "fresh"), "Form", FORMS), "")
    cook_as = faults.take("cook_as", lambda: _rule(fields.one("cook_as")), "")
    price = faults.take("price", lambda: read_amount(fields.one("price"), "Price"), Decimal(0))
    keeps = faults.take("keeps_days", lambda: read_whole(fields.one("keeps_days"), "Keeps", 0, 730),
                        0)  # fmt: skip
    share = faults.take("boneless", lambda: _share(fields.one("boneless", "100")), Decimal(1))
    if not fields.one("name"):
        faults.add("name", "Name: write what the line is called.")
    if faults:
        return None
    contains = tuple(word.strip() for word in fields.one("contains").split(",") if word.strip())
    low, high = sorted((_minutes(fields, faults, "from"), _minutes(fields, faults, "to")))
    styles = {one: _MIDDLE for one in STYLES if one in fields.all("style")}
    if faults:
        return None
    return NewCaseLine(
        styles=styles, minutes=(low, high), method=fields.one("method")[:120],
        name=fields.one("name"), species=species, keeps_days=keeps, form=form,
        price=UnitPrice.of(price, WeightUnit(unit), room.currency), cook_as=cook_as,
        by_piece=fields.one("by_piece") == "yes", boneless_fraction=share, contains=contains,
        casing=fields.one("casing") or None,
    )  # fmt: skip


def _rule(text: str) -> str:
    if not text:  # a guess here is a guess on safety
        raise BadValue("Cooking rule: choose one; its published minimum rules every sheet.")
    return read_choice(text, "Cooking rule", COOK_AS)


def _minutes(fields: Fields, faults: Faults, name: str) -> int:
    return faults.take(name, lambda: read_whole(fields.one(name, "15"), "Minutes", 0, 1440), 0)


def _share(text: str) -> Decimal:
    return Decimal(read_whole(text, "Boneless", 0, 100)) / 100


def _show(request: Request, fields: Fields, faults: Faults, *, status: int = 200) -> HTMLResponse:
    room = room_of(request)
    return page(
        request, "case_new.html", status=status, form=fields, faults=faults, key=uuid4().hex,
        people=room.shop.people(), cook_as=[("", "choose"), *COOK_AS.items()], styles=STYLES,
        method_options=[(one, one) for one in METHODS],
        species_options=[("", "choose"), *((one, one) for one in SPECIES)],
        form_options=[(one, one) for one in FORMS],
        legal_unit=room.shop.settings().legal_unit.value,
    )  # fmt: skip
