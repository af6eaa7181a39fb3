"""What the label of a case line says: told field by field, and what was told before."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, CollopError, ShopError, StorageTrouble
from collop.rules.labelling import CLASSES, TENDERISED
from collop.shop import LabelFacts, LineFacts, NewTicket
from collop.web.forms import Faults, Fields, read_choice
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

if TYPE_CHECKING:
    from collop.shop import Ticket

__all__ = ["router"]

router = APIRouter()
_DONE = "Written. The tickets of the line say so from now on."
_YES = {"no": "no", "yes": "yes"}
_TENDERISED = {"no": "no", **{key: words for key, words in TENDERISED.items() if words}}
_FIELDS = {"product_class", "item", "gtin", "ingredients", "contains", "lean_pct", "fat_pct",
           "tenderised", "previously_frozen", "vacuum", "origin", "origin_words", "tax_class",
           "every_stage", "by"}  # fmt: skip
_LONGEST_FIGURE = 12
#: How somebody writes that no allergen is in it.
_NONE = {"none", "none declared", "no allergens"}


@router.get("/tickets/line/{case_id}", response_class=HTMLResponse)
def show(request: Request, case_id: str, fields: Queried) -> HTMLResponse:
    """Show what the label of a line says, and the form that changes it."""
    told = room_of(request).shop.tickets.facts(case_id)
    done = _DONE if fields.one("done") else ""
    return _show(request, told, _as_fields(told.facts), Faults(), done=done)


@router.post("/tickets/line/{case_id}", response_class=HTMLResponse)
def change(request: Request, case_id: str, fields: Posted) -> Response:
    """Write what the label of a line says from now on."""
    room, faults = room_of(request), Faults()
    told = room.shop.tickets.facts(case_id)
    facts = _read(fields, faults)
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return _show(request, told, fields, faults, status=422)
    try:
        key = fields.one("key")[:64] or uuid4().hex
        room.shop.tickets.set_facts(case_id, facts, by=by, key=key)
    except StorageTrouble:
        raise
    except BadValue as error:
        faults.add(error.where if error.where in _FIELDS else "product_class", error.message)
        return _show(request, told, fields, faults, status=422)
    except ShopError as error:
        faults.add("by", error.message)
        return _show(request, told, fields, faults, status=409)
    return RedirectResponse(f"/tickets/line/{told.case_id}?done=1", status_code=303)


def _read(fields: Fields, faults: Faults) -> LabelFacts:
    def choice(name: str, label: str, known: object, usual: str) -> str:
        options = list(known)  # type: ignore[call-overload]
        return faults.take(
            name, lambda: read_choice(fields.one(name, usual), label, options), usual
        )

    if not fields.one("product_class"):
        faults.add("product_class", "Class: choose what it is.")
    return LabelFacts(
        product_class=choice("product_class", "Class", CLASSES, ""),
        item=fields.one("item") or None, gtin=fields.one("gtin") or None,
        ingredients=_listed(fields.one("ingredients")) or None,
        contains=_contains(fields.one("contains")),
        lean_pct=faults.take("lean_pct", lambda: _percent(fields.one("lean_pct"), "Lean"), None),
        fat_pct=faults.take("fat_pct", lambda: _percent(fields.one("fat_pct"), "Fat"), None),
        tenderised=choice("tenderised", "Tenderised", TENDERISED, "no"),
        previously_frozen=choice("previously_frozen", "Frozen before", _YES, "no") == "yes",
        vacuum=choice("vacuum", "Packed without air", _YES, "no") == "yes",
        origin=fields.one("origin") or None, origin_words=fields.one("origin_words"),
        every_stage=choice("every_stage", "Every stage there", _YES, "no") == "yes",
        tax_class=fields.one("tax_class") or None,
    )  # fmt: skip


def _listed(text: str) -> tuple[str, ...]:
    return tuple(word.strip() for word in text.replace("\n", ";").split(";") if word.strip())


def _contains(text: str) -> tuple[str, ...] | None:
    """Return the allergens: None for an empty field, none at all only where somebody says so."""
    if not text:
        return None
    if text.casefold().strip(" .") in _NONE:
        return ()
    return tuple(word.strip() for word in text.replace(",", ";").split(";") if word.strip())


def _percent(text: str, label: str) -> Decimal | None:
    plain = text.removesuffix("%").strip().replace(",", ".")
    if not plain:
        return None
    try:
        return Decimal(plain[:_LONGEST_FIGURE])
    except InvalidOperation:
        raise BadValue(f"{label}: write a percentage such as 80.") from None


def _as_fields(facts: LabelFacts) -> Fields:
    contains = "" if facts.contains is None else "; ".join(facts.contains) or "none"
    return Fields({
        "product_class": facts.product_class or "", "item": facts.item or "",
        "gtin": facts.gtin or "", "ingredients": "; ".join(facts.ingredients or ()),
        "contains": contains,
        "lean_pct": "" if facts.lean_pct is None else f"{facts.lean_pct:f}",
        "fat_pct": "" if facts.fat_pct is None else f"{facts.fat_pct:f}",
        "tenderised": facts.tenderised, "vacuum": "yes" if facts.vacuum else "no",
        "previously_frozen": "yes" if facts.previously_frozen else "no",
        "origin": facts.origin or "", "origin_words": facts.origin_words,
        "every_stage": "yes" if facts.every_stage else "no", "tax_class": facts.tax_class or "",
    }.items())  # fmt: skip


def _also(facts: LabelFacts) -> str:
    """Return what else was said of a label, beside class, allergens, ingredients and item."""
    lean_fat = "" if facts.lean_pct is None else f"{facts.lean_pct:f} / {facts.fat_pct or 0:f} %"
    found = (
        lean_fat and f"lean and fat {lean_fat}", _TENDERISED[facts.tenderised].removeprefix("no"),
        "frozen before" if facts.previously_frozen else "", "vacuum" if facts.vacuum else "",
        facts.origin or "", "every stage there" if facts.every_stage else "", facts.origin_words,
        facts.gtin or "", f"tax {facts.tax_class}" if facts.tax_class else "",
    )  # fmt: skip
    return ", ".join(filter(None, found)) or "-"


def _outdated(room: Room, case_id: str) -> list[Ticket]:
    """Return the standing tickets of lots still in the case that say something else than now."""
    try:
        draft = room.shop.tickets.draft(NewTicket(case_id=case_id))
    except StorageTrouble:
        raise
    except CollopError:
        return []
    kept = [one for lot in draft.lots for one in room.shop.tickets.tickets_of(lot=lot.id)]
    now = draft.problem["product"]
    return [one for one in kept if one.void is None and one.problem["product"] != now]


def _tax_classes(room: Room, form: Fields) -> dict[str, str]:
    """Return the shop's own tax classes to choose from; empty where it has none."""
    names = dict.fromkeys(one.name for one in room.shop.settings().tax_classes)
    if not names:
        return {}
    names |= dict.fromkeys(filter(None, [form.one("tax_class")]))
    return {"": "none", **{name: name for name in names}}


def _show(
    request: Request, told: LineFacts, form: Fields, faults: Faults, *, done: str = "",
    status: int = 200,
) -> HTMLResponse:  # fmt: skip
    room: Room = room_of(request)
    return page(
        request, "tickets_facts.html", status=status, told=told, form=form, faults=faults,
        done=done, classes={"": "choose", **{one: one for one in CLASSES}},
        tenderised=_TENDERISED, tax_classes=_tax_classes(room, form), yes=_YES,
        people=room.shop.people(), key=uuid4().hex,
        names={one.id: one.name for one in room.shop.people()},
        outdated=_outdated(room, told.case_id), also=_also,
        contains_of=lambda facts: _as_fields(facts).one("contains") or "not told",
    )  # fmt: skip
