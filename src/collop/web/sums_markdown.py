"""The sheet of stock in its last days: which price now, what to grind or freeze."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.chalk import markdown
from collop.errors import NotFound
from collop.measures import decimal_of
from collop.web.room import Queried, room_of
from collop.web.sums_sheet import (
    Filling,
    SumSheet,
    filled_from,
    frame,
    percent,
    plain,
    priced,
    show,
)

if TYPE_CHECKING:
    from collop.web.room import Room

__all__ = ["router"]

router = APIRouter()
_AIMS = {"most": "most money", "clear": "clear the stock"}
_WRITTEN: dict[str, Callable[[Any], str]] = {"money": priced, "share": percent, "weight": plain}
_MOST_PERIODS = 60
_ALL_MOVES = 1000
#: Fields of the two other uses: suffix, label, key, and whether it is a share, a weight or money.
_CONVERT = (("price", "sells at", "price", "money"), ("yield", "gives", "yield", "share"),
            ("labour", "labour", "labour_per_unit", "money"),
            ("takes", "takes at most", "takes", "weight"))  # fmt: skip
_FREEZE = (("price", "sells at", "price", "money"), ("yield", "keeps", "yield", "share"),
           ("cost", "cost", "cost_per_unit", "money"),
           ("chance", "chance that it sells", "chance_sold", "share"),
           ("takes", "takes at most", "takes", "weight"))  # fmt: skip


@router.get("/chalk/sums/mark-down", response_class=HTMLResponse)
def show_markdown(request: Request, fields: Queried) -> HTMLResponse:
    """Show the sheet, worked out if something stands on it."""
    room = room_of(request)
    filled = filled_from(fields, "line", lambda line: _filled(room, line))
    sheet = SumSheet(filled.fields, "stock", filled.faults)
    plan = sheet.work_out(markdown, _problem(sheet, room)) if filled.asks("stock") else None
    return show(
        request, "sums_markdown.html", sheet, plan, filled=filled, aims=_AIMS,
        lines=room.shop.chalk.board(),
        brings=[_brings(step) for step in plan["steps"]] if plan else [],
    )  # fmt: skip


def _brings(step: dict[str, Any]) -> str:
    """Return what a period brings as its row shows it: its price by its weight."""
    price = Decimal(step["price"])
    places = -int(price.as_tuple().exponent)
    return f"{decimal_of(Fraction(price) * Fraction(step['sells']), places):f}"


def _problem(sheet: SumSheet, room: Room) -> dict[str, Any]:
    """Return the ``collop.markdown/1`` object of a sheet."""
    shop = frame(room)
    unit = shop["unit"]
    return {
        "schema": "collop.markdown/1",
        **shop,
        "name": sheet.one("name")[:80],
        "stock": sheet.weight("stock", "Weight left", "$.stock", unit=unit, needed=True),
        "price": sheet.amount("price", "Price now", "$.price", needed=True),
        "usual": sheet.weight("usual", "Sells a period", "$.usual", unit=unit, needed=True),
        "elasticity": sheet.number("elasticity", "Elasticity", "$.elasticity", high="20",
                                   needed=True),
        "periods": sheet.whole("periods", "Periods left", "$.periods", low=0,
                               high=_MOST_PERIODS),
        "first_share": sheet.share("first", "Left of the present period", "$.first_share"),
        "floor": sheet.amount("floor", "Lowest price", "$.floor"),
        "cap": sheet.amount("cap", "Highest price", "$.cap"),
        "salvage_per_unit": sheet.amount("salvage", "Any other use", "$.salvage_per_unit"),
        "convert": _use(sheet, "convert", _CONVERT, unit),
        "freeze": _use(sheet, "freeze", _FREEZE, unit),
        "demand_cv": sheet.share("cv", "Spread of a period's sale", "$.demand_cv", high="200"),
        "endings": sheet.endings(),
        "aim": sheet.choice("aim", "Aim", "$.aim", _AIMS),
    }  # fmt: skip


def _use(
    sheet: SumSheet, way: str, fields: Sequence[tuple[str, str, str, str]], unit: str
) -> dict[str, Any] | None:
    """Return another use of the stock; None if nothing is typed for it."""
    use = "Ground" if way == "convert" else "Frozen"
    sheet.stands_for(f"$.{way}", f"{way}_price", use)
    used = any(sheet.one(f"{way}_{suffix}") for suffix, *_ in fields)
    found: dict[str, Any] = {}
    for suffix, label, key, kind in fields:
        name, said, path = f"{way}_{suffix}", f"{use}, {label}", f"$.{way}.{key}"
        if kind == "share":
            # minced meat may take up water; nothing else grows
            high = "150" if name == "convert_yield" else "100"
            found[key] = sheet.share(name, said, path, high=high)
        elif kind == "weight":
            found[key] = sheet.weight(name, said, path, unit=unit)
        else:
            found[key] = sheet.amount(name, said, path, needed=used and suffix == "price")
    if not used:
        return None
    if way == "convert":
        found["to"] = sheet.one("convert_to")[:80] or "mince"
    return {key: value for key, value in found.items() if value is not None}


def _filled(room: Room, line: str) -> Filling:
    """Return the stock of a line that is in its last days, as the moves of the day see it."""
    demand = room.shop.chalk.demand(line)
    moves = room.shop.chalk.moves(most=_ALL_MOVES)
    move = next((one for one in moves if one.case_id == line), None)
    if move is None:
        raise NotFound(
            f"{demand['name']}: no move gains on it today; type its figures in to try one."
        )
    found, endings = move.problem, move.problem["endings"] or {}
    pairs = [
        ("name", move.name), ("periods", str(found["periods"])),
        ("first", percent(found.get("first_share"))), ("aim", found.get("aim") or "most"),
        ("salvage", plain(found.get("salvage_per_unit"))), ("step", plain(endings.get("step"))),
        ("ends", " ".join(endings.get("of") or ())),
    ]  # fmt: skip
    pairs += [(key, plain(found.get(key))) for key in ("stock", "usual", "elasticity")]
    pairs += [(key, priced(found.get(key))) for key in ("price", "floor", "cap")]
    for way, fields in (("convert", _CONVERT), ("freeze", _FREEZE)):
        use = found.get(way) or {}
        for suffix, _, key, kind in fields:
            pairs.append((f"{way}_{suffix}", _WRITTEN[kind](use.get(key))))
    pairs.append(("convert_to", (found.get("convert") or {}).get("to", "")))
    stock = f"{plain(found['stock'])} {found['unit']}"
    note = f"Filled from the case: {move.name}, {stock}. {demand['say']}"
    return Filling(pairs, note, ours=_ours(found))


def _ours(found: Any) -> list[str]:  # noqa: ANN401 -- a problem is JSON
    ours = ["lowest price: half of the present one"]
    if found.get("convert"):
        ours.append("grinding: its yield and its minutes of labour")
    if found.get("freeze"):
        ours.append("freezing: its price, yield, cost and the chance that it sells")
    return ours
