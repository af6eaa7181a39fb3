"""The sheet of a cut's demand: sales at their prices, and what is believed beforehand."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.carcass import SPECIES
from collop.chalk import demand, published_prior
from collop.errors import BadValue, NotFound
from collop.measures import WeightUnit, parse_weight
from collop.reference import elasticity_rows
from collop.web.forms import read_amount
from collop.web.room import Queried, room_of
from collop.web.sums_sheet import Filling, SumSheet, filled_from, frame, plain, priced, show

if TYPE_CHECKING:
    from collop.web.room import Room

__all__ = ["router"]

router = APIRouter()
#: Where a figure comes from, in words.
_BASES = {
    "own": "the shop's own sales",
    "shrunk": "between own sales and published figures",
    "published": "published figures alone",
}
_STATUSES = {
    "memory": "from memory",
    "seen": "read in source",
    "computed": "worked out",
}
#: A field is read up to so many letters; a list that fills it is not whole.
_MOST_LETTERS = 2000
_OUT = re.compile(r"\bout\b", re.IGNORECASE)
_ZERO = re.compile(r"0{1,6}([.,]0{0,6})?")


@router.get("/chalk/sums/demand", response_class=HTMLResponse)
def show_demand(request: Request, fields: Queried) -> HTMLResponse:
    """Show the sheet, worked out if something stands on it."""
    room = room_of(request)
    filled = filled_from(fields, "line", lambda line: _filled(room, line))
    sheet = SumSheet(filled.fields, "sales", filled.faults)
    plan, rows = None, []
    if filled.asks("sales"):
        problem = _problem(sheet, room)
        plan = sheet.work_out(demand, problem)
        if plan and "prior" not in problem:
            rows = published_prior(problem["species"], problem["cut"])["rows"]
    return show(
        request, "sums_demand.html", sheet, plan, filled=filled, bases=_BASES, rows=rows,
        titles={row.source.source_id: row.source.title for row in elasticity_rows()},
        lines=room.shop.chalk.board(), species=SPECIES,
        statuses=_STATUSES,
    )  # fmt: skip


def _problem(sheet: SumSheet, room: Room) -> dict[str, Any]:
    """Return the ``collop.demand/1`` object of a sheet."""
    shop = frame(room)
    problem = {
        "schema": "collop.demand/1",
        **shop,
        "name": sheet.one("name")[:80],
        "sales": _sales(sheet, WeightUnit(shop["unit"])),
        "enough": sheet.whole("enough", "Weeks that are enough", "$.enough", low=3, high=1000),
    }
    elasticity = sheet.number("prior", "Believed elasticity", "$.prior.elasticity", high="20")
    sd = sheet.number("prior_sd", "Give or take", "$.prior.sd", high="10")
    if (elasticity is None) != (sd is None):
        sheet.faults.add("prior_sd", "Give or take: enter it with the believed elasticity, or "
                         "leave both empty.")  # fmt: skip
    if elasticity is not None and sd is not None:
        status = sheet.choice("status", "Where it is from", "$.prior.status", _STATUSES)
        return problem | {"prior": {"elasticity": elasticity, "sd": sd, "status": status,
                                    "source": sheet.one("source")[:200]}}  # fmt: skip
    species = sheet.choice("species", "Animal", "$.species", SPECIES)
    return problem | {"species": species, "cut": sheet.one("cut")[:80]}


def _sales(sheet: SumSheet, unit: WeightUnit) -> list[dict[str, Any]]:
    """Read one sale a line: its price, what was sold, and any words; "out" if it ran empty."""
    text, label = sheet.one("sales"), "Sales"
    sheet.stands_for("$.sales", "sales", label)
    if len(text) >= _MOST_LETTERS:
        sheet.faults.add("sales", f"{label}: the list is too long; leave the oldest weeks out.")
        return []
    found: list[dict[str, Any]] = []
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip():
            continue
        said = f"{label}, line {number}"
        sheet.stands_for(f"$.sales[{len(found)}]", "sales", said)
        for key in ("price", "quantity"):
            sheet.stands_for(f"$.sales[{len(found)}].{key}", "sales", f"{said}, {key}")
        read = sheet.faults.take("sales", lambda: _sale(line, said, unit), None)  # noqa: B023 -- called at once
        if read is not None:
            found.append(read)
    return found


def _sale(line: str, label: str, unit: WeightUnit) -> dict[str, Any]:
    words = line.replace(";", " ").split()
    if len(words) < 2:
        raise BadValue(f"{label}: write the price and what was sold, for example 7.80 30.")
    price = read_amount(words[0], f"{label}, price", places=4)
    label_text = " ".join(words[2:])[:60]
    return {
        "price": f"{price:f}",
        "quantity": _quantity(words[1], label, unit),
        "label": label_text,
        "sold_out": bool(_OUT.search(label_text)),
    }


def _quantity(text: str, label: str, unit: WeightUnit) -> str:
    if _ZERO.fullmatch(text):
        return "0"
    try:
        return plain(parse_weight(text, unit).decimal(unit, 4))
    except BadValue as error:
        raise BadValue(f"{label}: {error.message}") from None


def _filled(room: Room, line: str) -> Filling:
    """Return the whole weeks of sales of a line; this week is not over."""
    board = {one.case_id: one for one in room.shop.chalk.board()}
    if line not in board:
        raise NotFound("There is no such line on the board; choose one of the list.")
    one, unit = board[line], room.shop.settings().legal_unit
    today = room.now().date()
    monday = today - timedelta(days=today.weekday())
    weeks = [week for week in room.shop.chalk.sales(line) if week.monday < monday]
    texts = [
        f"{priced(week.price)} {plain(week.weight.decimal(unit, 4))} week of {week.monday}"
        for week in weeks
        if week.price > 0 and week.weight.count
    ]
    while len("\n".join(texts)) >= _MOST_LETTERS:
        texts.pop(0)
    known = one.species if one.species in SPECIES else ""
    pairs = [("name", one.name), ("sales", "\n".join(texts)), ("species", known),
             ("cut", one.name)]  # fmt: skip
    count = f"{len(texts)} whole weeks" if len(texts) != 1 else "1 whole week"
    note = f"Filled from what {one.name} sold: {count}; this week is not over."
    if one.species not in SPECIES:
        note += " No published figure is for it: choose the nearest animal."
    return Filling(pairs, note)
