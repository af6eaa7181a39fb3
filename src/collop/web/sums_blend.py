"""The sheet of a blend: trim bins, what is made of them, what is added."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.bench.blend import blend
from collop.bench.blending_reading import KINDS
from collop.bench.blending_standards import STANDARDS
from collop.bench.blending_words import CASINGS
from collop.web.room import Queried, room_of
from collop.web.sums_sheet import Filled, SumSheet, frame, show

if TYPE_CHECKING:
    from collop.web.room import Room

__all__ = ["router"]

router = APIRouter()
_BINS, _RECIPES, _ADDED = 16, 8, 24
_BIN = ("b{}_name", "b{}_species", "b{}_fat", "b{}_protein", "b{}_held", "b{}_price",
        "b{}_contains")  # fmt: skip
_RECIPE = ("r{}_name", "r{}_standard", "r{}_make", "r{}_price", "r{}_most", "r{}_low", "r{}_high",
           "r{}_bins", "r{}_batch", "r{}_piece", "r{}_casing", "r{}_skin")  # fmt: skip
_THING = ("a{}_recipe", "a{}_name", "a{}_kind", "a{}_share", "a{}_of", "a{}_price",
          "a{}_contains")  # fmt: skip
_PLACES = Decimal("0.001")


@router.get("/chalk/sums/blend", response_class=HTMLResponse)
def show_blend(request: Request, fields: Queried) -> HTMLResponse:
    """Show the sheet, worked out if something stands on it."""
    room = room_of(request)
    filled = Filled(fields)
    sheet = SumSheet(filled.fields, "b1_name", filled.faults)
    plan = sheet.work_out(blend, _problem(sheet, room)) if filled.asks("b1_name") else None
    return show(
        request, "sums_blend.html", sheet, plan, filled=filled,
        bin_rows=sheet.rows(_BIN, least=5, most=_BINS),
        recipe_rows=sheet.rows(_RECIPE, least=2, most=_RECIPES),
        added_rows=sheet.rows(_THING, least=4, most=_ADDED),
        standards=STANDARDS, kinds=KINDS, casings=tuple(CASINGS),
    )  # fmt: skip


def _problem(sheet: SumSheet, room: Room) -> dict[str, Any]:
    """Return the ``collop.blend/1`` object of a sheet."""
    shop = frame(room)
    unit = shop["unit"]
    bins = list(_bins(sheet, unit))
    if not bins:
        sheet.faults.add("b1_name", "Bin 1: name the trim there is.")
    recipes = list(_recipes(sheet, unit, bins))
    if not recipes:
        sheet.faults.add("r1_name", "Recipe 1: name what is to be made.")
    _add_things(sheet, recipes)
    sheet.stands_for("$.bins", "b1_name", "The bins")
    sheet.stands_for("$.recipes", "r1_name", "The recipes")
    return {"schema": "collop.blend/1", **shop, "name": sheet.one("name")[:80], "bins": bins,
            "recipes": recipes}  # fmt: skip


def _given(found: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in found.items() if value is not None}


def _text(sheet: SumSheet, name: str, label: str, path: str) -> str | None:
    """Return a word typed in a field; None if it is empty."""
    sheet.stands_for(path, name, label)
    return sheet.one(name)[:80] or None


def _words(sheet: SumSheet, name: str, label: str, path: str) -> list[str]:
    """Return words typed with commas between; each may be refused by its place in the list."""
    found = [word.strip()[:80] for word in re.split(r"[,;]", sheet.one(name)) if word.strip()]
    sheet.stands_for(path, name, label)
    for at in range(len(found)):
        sheet.stands_for(f"{path}[{at}]", name, label)
    return found


def _weight(
    sheet: SumSheet, name: str, label: str, path: str, *, unit: str
) -> str | None:  # fmt: skip
    """Read a weight to what a scale shows; None if it is empty."""
    text = sheet.weight(name, label, path, unit=unit)
    return None if text is None else f"{Decimal(text).quantize(_PLACES):f}"


def _bins(sheet: SumSheet, unit: str) -> Iterator[dict[str, Any]]:
    for line, row in enumerate(sheet.used(_BIN, _BINS)):
        path, label = f"$.bins[{line}]", f"Bin {row}"
        fat = sheet.share(f"b{row}_fat", f"{label}, fat", f"{path}.fat")
        if not sheet.one(f"b{row}_fat"):
            sheet.faults.add(f"b{row}_fat", f"{label}, fat: give its share in percent.")
        if not sheet.one(f"b{row}_species"):
            sheet.faults.add(f"b{row}_species", f"{label}, animal: write it, such as pork.")
        yield _given({
            "id": sheet.part(f"b{row}_name", f"{label}, name", f"{path}.id"),
            "species": _text(sheet, f"b{row}_species", f"{label}, animal", f"{path}.species"),
            "fat": fat,
            "protein": sheet.share(f"b{row}_protein", f"{label}, protein", f"{path}.protein"),
            "available": _weight(sheet, f"b{row}_held", f"{label}, weight there is",
                                 f"{path}.available", unit=unit),
            "price": sheet.amount(f"b{row}_price", f"{label}, worth", f"{path}.price",
                                  high="10000", needed=True),
            "contains": _words(sheet, f"b{row}_contains", f"{label}, allergens",
                               f"{path}.contains"),
        })  # fmt: skip


def _recipes(
    sheet: SumSheet, unit: str, bins: Sequence[Mapping[str, Any]]
) -> Iterator[dict[str, Any]]:  # fmt: skip
    known = {one["id"].casefold(): one["id"] for one in bins}
    for line, row in enumerate(sheet.used(_RECIPE, _RECIPES)):
        path, label = f"$.recipes[{line}]", f"Recipe {row}"
        named = _words(sheet, f"r{row}_bins", f"{label}, bins", f"{path}.bins")
        sheet.stands_for(f"{path}.added", f"r{row}_name", f"{label}, what is added")
        yield _given({
            "id": sheet.part(f"r{row}_name", f"{label}, name", f"{path}.id"),
            "standard": _standard(sheet, row, path),
            "make": _weight(sheet, f"r{row}_make", f"{label}, weight wanted", f"{path}.make",
                            unit=unit),
            "most": _weight(sheet, f"r{row}_most", f"{label}, most", f"{path}.most", unit=unit),
            "price": sheet.amount(f"r{row}_price", f"{label}, price", f"{path}.price",
                                  high="10000"),
            "fat": _fat(sheet, row, path),
            "bins": [known.get(one.casefold(), one) for one in named] or None,
            "casing": _casing(sheet, row, path),
            "batch": _weight(sheet, f"r{row}_batch", f"{label}, mixer holds", f"{path}.batch",
                             unit=unit),
            "piece": _piece(sheet, row, path, unit),
        })  # fmt: skip


def _standard(sheet: SumSheet, row: int, path: str) -> str | None:
    text = _text(sheet, f"r{row}_standard", f"Recipe {row}, sold as", f"{path}.standard")
    known = {one.casefold(): one for one in STANDARDS}
    return None if text is None else known.get(text.casefold(), text)


def _fat(sheet: SumSheet, row: int, path: str) -> dict[str, Any] | None:
    label = f"Recipe {row}"
    sheet.stands_for(f"{path}.fat", f"r{row}_high", f"{label}, fat")
    found = _given({
        "min": sheet.share(f"r{row}_low", f"{label}, fat from", f"{path}.fat.min"),
        "max": sheet.share(f"r{row}_high", f"{label}, fat to", f"{path}.fat.max"),
    })  # fmt: skip
    return found or None


def _casing(sheet: SumSheet, row: int, path: str) -> dict[str, Any] | None:
    label = f"Recipe {row}"
    species = _text(sheet, f"r{row}_casing", f"{label}, casing", f"{path}.casing.species")
    cost = sheet.amount(f"r{row}_skin", f"{label}, casing cost", f"{path}.casing.per_unit",
                        high="10000")  # fmt: skip
    if species is None:
        if cost is not None:
            sheet.faults.add(f"r{row}_casing", f"{label}, casing: name the animal it is of.")
        return None
    return _given({"species": species.lower(), "per_unit": cost})


def _piece(sheet: SumSheet, row: int, path: str, unit: str) -> dict[str, Any] | None:
    name, label = f"r{row}_piece", f"Recipe {row}, weight of a link"
    weight = _weight(sheet, name, label, f"{path}.piece.weight", unit=unit)
    return None if weight is None else {"weight": weight}


def _add_things(sheet: SumSheet, recipes: Sequence[dict[str, Any]]) -> None:
    """Put each thing that is added into its recipe; one recipe alone needs no name."""
    known = {one["id"].casefold(): at for at, one in enumerate(recipes)}
    for row in sheet.used(_THING, _ADDED):
        text, label = sheet.one(f"a{row}_recipe"), f"Added {row}"
        at = 0 if not text and len(recipes) == 1 else known.get(text[:80].casefold())
        if at is None:
            sheet.faults.add(f"a{row}_recipe", f"{label}, into: name one of the recipes.")
            continue
        added = recipes[at].setdefault("added", [])
        added.append(_thing(sheet, row, f"$.recipes[{at}].added[{len(added)}]"))


def _thing(sheet: SumSheet, row: int, path: str) -> dict[str, Any]:
    label = f"Added {row}"
    name = sheet.part(f"a{row}_name", f"{label}, name", f"{path}.name")
    kind = _text(sheet, f"a{row}_kind", f"{label}, kind", f"{path}.kind")
    kind = (kind or (name if name.lower() in KINDS else "")).lower()
    # the published limits go by it, so it is never guessed
    if kind not in KINDS:
        sheet.faults.add(f"a{row}_kind", f"{label}, kind: write one of {', '.join(KINDS)}.")
    if not sheet.one(f"a{row}_share"):
        sheet.faults.add(f"a{row}_share", f"{label}, share: give it in percent.")
    of = _text(sheet, f"a{row}_of", f"{label}, of", f"{path}.of") or "meat"
    return _given({
        "name": name,
        "kind": kind,
        "of": of.lower(),
        "share": sheet.share(f"a{row}_share", f"{label}, share", f"{path}.share"),
        "price": sheet.amount(f"a{row}_price", f"{label}, price", f"{path}.price", high="10000"),
        "contains": _words(sheet, f"a{row}_contains", f"{label}, allergens", f"{path}.contains"),
    })  # fmt: skip
