"""The sheet of clearing prices: supply, cuts with their demand, ways to cut."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.chalk import clearing
from collop.errors import BadValue
from collop.web.forms import read_amount
from collop.web.room import Queried, room_of
from collop.web.sums_sheet import (
    Filling,
    SumSheet,
    filled_from,
    fitting,
    frame,
    plain,
    priced,
    show,
)

if TYPE_CHECKING:
    from collop.web.room import Room

__all__ = ["router"]

router = APIRouter()
_SUPPLIES, _CUTS, _WAYS = 12, 40, 60
_SUPPLY = ("s{}_name", "s{}_weight")
_CUT = ("c{}_id", "c{}_name", "c{}_price", "c{}_sells", "c{}_e", "c{}_cap", "c{}_floor",
        "c{}_making", "c{}_hand")  # fmt: skip
_WAY = ("a{}_name", "a{}_from", "a{}_gives", "a{}_labour")
_BINDS = {"none": "", "cap": "at its cap", "floor": "at its floor", "cleared": "what clears it"}
_GIVEN = re.compile(r"(?P<cut>.*\S)\s+(?P<share>[^\s%]+)\s*(?P<percent>%?)")
_FROM_SHOP = "shop"
#: A field is read up to so many letters.
_MOST_LETTERS = 2000


@router.get("/chalk/sums/clearing", response_class=HTMLResponse)
def show_clearing(request: Request, fields: Queried) -> HTMLResponse:
    """Show the sheet, worked out if something stands on it."""
    room = room_of(request)
    filled = filled_from(fields, "from", lambda where: _filled(room, where))
    sheet = SumSheet(filled.fields, "c1_id", filled.faults)
    asked = filled.asks("c1_id")
    plan = sheet.work_out(clearing, _problem(sheet, room)) if asked else None
    return show(
        request, "sums_clearing.html", sheet, plan, filled=filled, binds=_BINDS,
        supply_rows=sheet.rows(_SUPPLY, least=2, most=_SUPPLIES),
        cut_rows=sheet.rows(_CUT, least=5, most=_CUTS),
        way_rows=sheet.rows(_WAY, least=4, most=_WAYS),
        used=[one for one in plan["activities"] if Decimal(one["weight"])] if plan else [],
    )  # fmt: skip


def _problem(sheet: SumSheet, room: Room) -> dict[str, Any]:
    """Return the ``collop.clearing/1`` object of a sheet."""
    shop = frame(room)
    unit = shop["unit"]
    supplies = list(_supplies(sheet, unit))
    cuts = list(_cuts(sheet, unit))
    sheet.stands_for("$.cuts", "c1_id", "The cuts")
    sheet.stands_for("$.supply", "s1_name", "The supply")
    if not cuts:
        sheet.faults.add("c1_id", "Cut 1: name what is sold.")
    return {
        "schema": "collop.clearing/1",
        **shop,
        "name": sheet.one("name")[:80],
        "supply": supplies,
        "cuts": cuts,
        "activities": list(_ways(sheet, supplies, cuts)),
        "cap_factor": sheet.number("factor", "Highest price over the present one",
                                   "$.cap_factor", high="10"),
        "animals": sheet.number("animals", "Animals it came from", "$.animals", high="100000"),
    }  # fmt: skip


def _supplies(sheet: SumSheet, unit: str) -> Iterator[dict[str, Any]]:
    for line, row in enumerate(sheet.used(_SUPPLY, _SUPPLIES)):
        path, label = f"$.supply[{line}]", f"Supply {row}"
        yield {
            "name": sheet.part(f"s{row}_name", f"{label}, name", f"{path}.name"),
            "weight": sheet.weight(f"s{row}_weight", f"{label}, weight", f"{path}.weight",
                                   unit=unit, needed=True),
        }  # fmt: skip


def _cuts(sheet: SumSheet, unit: str) -> Iterator[dict[str, Any]]:
    for line, row in enumerate(sheet.used(_CUT, _CUTS)):
        yield _cut(sheet, f"$.cuts[{line}]", row, unit)


def _cut(sheet: SumSheet, path: str, row: int, unit: str) -> dict[str, Any]:
    label = f"Cut {row}"

    def money(name: str, what: str, key: str, *, needed: bool = False) -> str | None:
        return sheet.amount(f"c{row}_{name}", f"{label}, {what}", f"{path}.{key}", needed=needed)

    found = {
        "id": sheet.part(f"c{row}_id", f"{label}, short name", f"{path}.id"),
        "name": sheet.one(f"c{row}_name")[:80] or None,
        "price": money("price", "price now", "price", needed=True),
        "quantity": sheet.weight(f"c{row}_sells", f"{label}, sells", f"{path}.quantity",
                                 unit=unit, needed=True),
        "elasticity": sheet.number(f"c{row}_e", f"{label}, elasticity", f"{path}.elasticity",
                                   high="20", needed=True),
        "cap": money("cap", "cap", "cap"),
        "floor": money("floor", "floor", "floor"),
        "making_cost": money("making", "making cost", "making_cost"),
        "on_hand": sheet.weight(f"c{row}_hand", f"{label}, on hand", f"{path}.on_hand",
                                unit=unit),
    }  # fmt: skip
    return {key: value for key, value in found.items() if value is not None}


def _ways(
    sheet: SumSheet, supplies: Sequence[Mapping[str, Any]], cuts: Sequence[Mapping[str, Any]]
) -> Iterator[dict[str, Any]]:
    sources = {one["name"].casefold(): one["name"] for one in supplies}
    named = {cut["name"].casefold(): cut["id"] for cut in cuts if "name" in cut}
    known = named | {cut["id"].casefold(): cut["id"] for cut in cuts}
    for line, row in enumerate(sheet.used(_WAY, _WAYS)):
        path, label = f"$.activities[{line}]", f"Way {row}"
        sheet.stands_for(f"{path}.from", f"a{row}_from", f"{label}, from")
        sheet.stands_for(f"{path}.gives", f"a{row}_gives", f"{label}, gives")
        source = sheet.one(f"a{row}_from")
        found = {
            "name": sheet.named(f"a{row}_name", f"{label}, name", f"{path}.name"),
            "from": sources.get(source.casefold(), source),
            "gives": _gives(sheet, f"a{row}_gives", f"{label}, gives", known),
            "labour_per_unit": sheet.amount(f"a{row}_labour", f"{label}, labour",
                                            f"{path}.labour_per_unit"),
        }  # fmt: skip
        yield {key: value for key, value in found.items() if value is not None}


def _gives(sheet: SumSheet, name: str, label: str, known: Mapping[str, str]) -> dict[str, float]:
    """Read "chops 0.94; trim 4 %": a cut by its short name or name, and its share."""
    text = sheet.one(name)
    if len(text) >= _MOST_LETTERS:
        sheet.faults.add(name, f"{label}: the list is too long; use short names.")
        return {}
    found: dict[str, float] = {}
    for part in re.split(r";|,(?![0-9])", text):
        if not part.strip():
            continue
        told = sheet.faults.take(name, lambda: _one_given(part.strip(), label, known), None)  # noqa: B023 -- called at once
        if told is not None:
            found[told[0]] = told[1] + found.get(told[0], 0.0)
    return found


def _one_given(part: str, label: str, known: Mapping[str, str]) -> tuple[str, float]:
    match = _GIVEN.fullmatch(part)
    if match is None:
        raise BadValue(f"{label}: write a cut and its share, for example chops 0.94.")
    cut = known.get(match["cut"].casefold())
    if cut is None:
        raise BadValue(f"{label}: {match['cut'][:40]!r} is none of the cuts; name one of them.")
    share = read_amount(match["share"], label, high="200", places=6)
    return cut, float(share / 100 if match["percent"] else share)


def _filled(room: Room, where: str) -> Filling:
    """Return what hangs in the shop with every way to cut it, and the case it would fill."""
    if where != _FROM_SHOP:
        raise BadValue("Fill from: the sheet is filled from what hangs in the shop.")
    found = room.shop.chalk.clearing_problem()
    pairs = [("factor", plain(found.get("cap_factor"))), ("animals", plain(found.get("animals")))]
    for row, one in enumerate(fitting(found["supply"], _SUPPLIES, "kinds of piece"), 1):
        pairs += [(f"s{row}_name", one["name"]), (f"s{row}_weight", plain(one["weight"]))]
    keys = {"sells": "quantity", "e": "elasticity", "hand": "on_hand"}
    money = {"price": "price", "cap": "cap", "floor": "floor", "making": "making_cost"}
    for row, cut in enumerate(fitting(found["cuts"], _CUTS, "cuts"), 1):
        pairs += [(f"c{row}_id", cut["id"]), (f"c{row}_name", cut.get("name") or "")]
        pairs += [(f"c{row}_{name}", plain(cut.get(key))) for name, key in keys.items()]
        pairs += [(f"c{row}_{name}", priced(cut.get(key))) for name, key in money.items()]
    for row, way in enumerate(fitting(found["activities"], _WAYS, "ways to cut"), 1):
        gives = "; ".join(f"{cut} {plain(share)}" for cut, share in way["gives"].items())
        pairs += [(f"a{row}_name", way["name"]), (f"a{row}_from", way["from"]),
                  (f"a{row}_gives", gives),
                  (f"a{row}_labour", priced(way.get("labour_per_unit")))]  # fmt: skip
    note = (
        "Filled from what hangs: each piece with every way to cut it, the week's demand of each "
        "line by its own sales or by published figures, what is free in the case."
    )
    return Filling(
        pairs,
        note,
        room.shop.chalk.clearing_notes(),
        ours=["by-products sell at the shop's values, as much as there is"],
    )
