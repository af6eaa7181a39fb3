"""The forms of mince and batches, read field by field; nothing is filled in for anybody."""

from __future__ import annotations

from datetime import date
from functools import partial
from typing import Any

from collop.errors import BadValue
from collop.reference import read_allergens
from collop.shop import NewMaterial, StockLine
from collop.web.daybook_form import DayForm
from collop.web.forms import read_choice

__all__ = ["ALLERGENS", "NAMES", "PLACES", "day_in", "lots_by_place", "material_in", "told_in"]

#: The allergens that may be ticked: those of the lists, not words for several of them.
ALLERGENS = tuple(
    one.name for one in read_allergens().values() if one.listed_in in {"us-major", "eu-annex"}
)
#: Where material lies, and what the screen calls it.
PLACES = {"trim": "trim bin", "fat": "fat tub", "block": "on the block", "case": "in the case"}
#: Fields a refusal may be shown beside.
NAMES = (
    "lot", "weight", "what", "establishment", "supplier_lot", "produced_on", "contains", "name",
    "machine", "species", "case_id", "use_by", "why", "place",
)  # fmt: skip


def lots_by_place(lots: tuple[StockLine, ...]) -> dict[str, list[tuple[StockLine, str]]]:
    """Return what may go in with the name of its place: what is ``near``, and the ``case``."""
    named = [(one, PLACES[one.place]) for place in PLACES for one in lots if one.place == place]
    return {
        "near": [pair for pair in named if pair[0].place != "case"],
        "case": [pair for pair in named if pair[0].place == "case"],
    }


def day_in(form: DayForm, name: str, label: str) -> date | None:
    """Read a day that may be left empty."""

    def read(text: str) -> date | None:
        if not text:
            return None
        try:
            return date.fromisoformat(text)
        except ValueError:
            today = form.room.now().date().isoformat()
            raise BadValue(f"{label}: choose a day, written like {today}, or leave it.") from None

    return form.take(name, read, None)


def material_in(form: DayForm, way: str, lots: tuple[StockLine, ...]) -> NewMaterial:
    """Read a material: from our own lots (``own``), a ``box``, or an ``ingredient``."""
    if way == "own":
        lot_id, place = form.take("lot", lambda text: _lot(text, lots), ("", ""))
        return NewMaterial(form.weight("weight", "Weight"), lot_id=lot_id, place=place,
                           done_at=form.when())  # fmt: skip
    one = form.fields.one
    is_ingredient = way == "ingredient"
    may_be_none = is_ingredient and not one("weight")
    return NewMaterial(
        None if may_be_none else form.weight("weight", "Weight"), what=one("what"),
        establishment=one("establishment"), supplier_lot=one("supplier_lot"),
        produced_on=None if is_ingredient else day_in(form, "produced_on", "Production date"),
        contains=_contains(form) if is_ingredient else None, is_ingredient=is_ingredient,
        done_at=form.when(),
    )  # fmt: skip


def _lot(text: str, lots: tuple[StockLine, ...]) -> tuple[str, str]:
    if not text:
        raise BadValue("Lot: choose what goes in.")
    known = {f"{one.place}|{one.lot_id}": (one.lot_id, one.place) for one in lots}
    if text not in known:
        raise BadValue("Lot: that no longer lies there; choose another.")
    return known[text]


def _contains(form: DayForm) -> tuple[str, ...] | None:
    """Read what is ticked; None where neither an allergen nor "none of these" is."""
    ticked = form.fields.all("contains")
    if not ticked:
        return None
    words = [one for one in ticked if one != "none"]
    if words and len(words) < len(ticked):
        form.faults.add("contains", "Contains: tick what it contains, or none of these; not both.")
    return tuple(form.faults.take("contains", partial(_allergen, one), "milk") for one in words)


def _allergen(text: str) -> str:
    return read_choice(text, "Contains", ALLERGENS)


def told_in(form: DayForm, missing: tuple[str, ...]) -> dict[str, Any]:
    """Read what was missing of a material, as far as it is told now."""
    told: dict[str, Any] = {
        name: form.fields.one(name)
        for name in ("what", "establishment", "supplier_lot")
        if name in missing and form.fields.one(name)
    }
    if "produced_on" in missing:
        day = day_in(form, "produced_on", "Production date")
        told |= {} if day is None else {"produced_on": day}
    if "contains" in missing:
        words = _contains(form)
        told |= {} if words is None else {"contains": words}
    if not told and not form.faults:
        form.faults.add(missing[0] if missing else "what", "Tell at least one of these.")
    return told
