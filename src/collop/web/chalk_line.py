"""One line of the board: its price over time, its sales, its demand; and what stock cost."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import NotFound
from collop.measures import Money, UnitPrice, Weight, WeightUnit, sum_money
from collop.shop import NewPrice
from collop.web.bench_worths import plan_worths
from collop.web.chalk_acts import put_up, take_back, withdraw
from collop.web.chalk_form import DAYS, legal_price, per_unit, read_change, read_price
from collop.web.chalk_past import Stood, last_change, stood
from collop.web.forms import Faults, Fields
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

if TYPE_CHECKING:
    from collop.shop import BoardLine, LotCost

__all__ = ["Place", "drawn", "router"]

router = APIRouter()
_ORDER = "rail block case booked trim fat bone"
#: Why the cost of one lot is not known, and the same of many.
_MANY = {
    "Cost not known: it came without a delivery.":
        "came without a delivery; what they cost is not known.",
}  # fmt: skip
#: Where the demand curve of a line comes from, in words.
_BASES = {
    "own": "from this line's own sales",
    "shrunk": "between this line's own sales and published figures",
    "published": "from published figures; this line has too few sales of its own",
}
_DONE = {"put": "Put on the board.", "undone": "The former price stands again.",
         "withdrawn": "The planned price is taken back."}  # fmt: skip


@router.get("/chalk/costs", response_class=HTMLResponse)
def show_costs(request: Request) -> HTMLResponse:
    """Show everything on hand with what it cost, and what that is made of."""
    room = room_of(request)
    costs = room.shop.chalk.costs()
    known = [one for one in costs if one.cost is not None]
    return page(
        request, "chalk_costs.html", costs=costs, known=len(known),
        total=_sum(known, room.currency),
        places=[_place(name, costs) for name in _places(costs)],
        species={one.tag: one.species for one in room.shop.chalk.animals()},
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Place:
    """One place of the cost table: lots with a row each, then what many of unknown cost share.

    `unknown` holds a sentence and its lots; a lot that is the only one of its reason has a row.
    """

    name: str
    rows: tuple[LotCost, ...]
    unknown: tuple[tuple[str, tuple[LotCost, ...]], ...]


def _place(name: str, costs: Sequence[LotCost]) -> Place:
    here = [one for one in costs if one.place == name]
    alike = Counter(one.unknown for one in here if one.cost is None)
    shared = [reason for reason, number in alike.items() if number > 1]
    rows = tuple(one for one in here if one.cost is not None or one.unknown not in shared)
    groups = ((reason, tuple(one for one in here if one.cost is None and one.unknown == reason))
              for reason in shared)  # fmt: skip
    return Place(name, rows, tuple((_said(reason, len(lots)), lots) for reason, lots in groups))


def _said(reason: str, number: int) -> str:
    """Say of many lots at once why their cost is not known."""
    return f"{number} lots {_MANY[reason]}" if reason in _MANY else f"{number} lots: {reason}"


def _sum(known: Sequence[LotCost], currency: str) -> Money:
    return sum_money([one.cost for one in known if one.cost is not None], currency)


def _places(costs: Sequence[LotCost]) -> list[str]:
    """Return the places that hold something, in the order meat passes them."""
    found = dict.fromkeys(one.place for one in costs)
    return sorted(found, key=lambda place: (place not in _ORDER, _ORDER.find(place), place))


@router.get("/chalk/line/{case_id}", response_class=HTMLResponse)
def show_line(request: Request, case_id: str, fields: Queried) -> HTMLResponse:
    """Show one line of the board, with the form that changes its price."""
    return _show(request, case_id, Fields([]), Faults(), done=_DONE.get(fields.one("done"), ""))


@router.post("/chalk/line/{case_id}", response_class=HTMLResponse)
def change_line(request: Request, case_id: str, fields: Posted) -> Response:
    """Put a price of this line up, take the last one back, or take a planned one back."""
    room, faults = room_of(request), Faults()
    if fields.one("withdraw"):
        _line(room, case_id)
        by = faults.take("by", lambda: read_who(room, fields), "")
        trouble = "" if faults else withdraw(room, case_id, fields, by=by)
        done = "withdrawn"
    elif fields.one("do") == "undo":
        by = faults.take("by", lambda: read_who(room, fields), "")
        last = _last(room, _line(room, case_id))
        trouble = "" if faults else take_back(room, last, fields, by=by)
        done = "undone"
    else:
        trouble = _put(room, case_id, fields, faults)
        done = "put"
    if faults or trouble:
        return _show(request, case_id, fields, faults, status=409 if trouble else 422,
                     trouble=trouble)  # fmt: skip
    return RedirectResponse(f"/chalk/line/{case_id}?done={done}", status_code=303)


def _put(room: Room, case_id: str, fields: Fields, faults: Faults) -> str:
    chosen = room.shop.settings()
    text = fields.one("price")
    if not text:
        faults.add("price", "New price: write what it shall cost, for example 8.60.")
    present = per_unit(_line(room, case_id).price, chosen.legal_unit)
    read = partial(read_price, text, "New price", present, chosen.currency)
    amount = faults.take("price", read, None)
    change = read_change(room, fields, faults)
    if faults or amount is None:
        return ""
    new = NewPrice(case_id, UnitPrice.of(amount, chosen.legal_unit, chosen.currency))
    return put_up(room, [new], change, fields, faults, where={case_id: "price"})


def _line(room: Room, case_id: str) -> BoardLine:
    """Return the line on the board, or raise `NotFound`."""
    found = next((one for one in room.shop.chalk.board() if one.case_id == case_id), None)
    if found is None:
        raise NotFound("There is no such line on the board; choose one on the Chalk page.")
    return found


def _last(room: Room, line: BoardLine) -> Any:  # noqa: ANN401 -- LastChange or None
    history = room.shop.chalk.history(line.case_id)
    return last_change({line.case_id: (line.name, history)}, room.now())


def _show(
    request: Request, case_id: str, fields: Fields, faults: Faults, *, status: int = 200,
    done: str = "", trouble: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    line, unit = _line(room, case_id), room.shop.settings().legal_unit
    past = stood(room.shop.chalk.history(case_id), room.now())
    demand, cost = room.shop.chalk.demand(case_id), room.shop.chalk.case_costs().get(case_id)
    return page(
        request, "chalk_line.html", status=status, line=line, fields=fields, faults=faults,
        past=past, drawn=drawn(past, unit, room.now()), unit=unit.value,
        present=per_unit(line.price, unit), price_of=lambda price: per_unit(price, unit),
        priced=legal_price(room),
        sales=room.shop.chalk.sales(case_id), demand=demand,
        basis=_BASES.get(demand["basis"], demand["basis"]), done=done, trouble=trouble,
        last=_last(room, line), planned=room.shop.chalk.planned(), days=DAYS,
        people=room.shop.people(), key=uuid4().hex,
        names={person.id: person.name for person in room.shop.people()},
        cost=None if cost is None else cost.shown_per(unit), is_nothing=_is_nothing,
        worths=plan_worths(room.shop, room.now().date()),
    )  # fmt: skip


def _is_nothing(weight: Weight) -> bool:
    return not weight.count


def drawn(past: Sequence[Stood], unit: WeightUnit, now: datetime) -> dict[str, list[Any]]:
    """Return the steps the script draws: hours as seconds of the shop's clock, prices per unit.

    Planned prices are a series of their own, which begins where the one in force ends; the figures
    are for drawing only, the table beside holds the exact ones.
    """
    kept = [one for one in reversed(past) if not one.is_void]
    times = [_seconds(one.change.from_at) for one in kept]
    prices = [float(per_unit(one.change.price, unit)) for one in kept]
    stands = [None if one.is_planned else price for one, price in zip(kept, prices, strict=True)]
    plans: list[float | None] = [
        price if one.is_planned else None for one, price in zip(kept, prices, strict=True)
    ]
    here = sum(not one.is_planned for one in kept)
    if here:
        times.insert(here, _seconds(now))
        stands.insert(here, prices[here - 1])
        plans.insert(here, prices[here - 1] if here < len(kept) else None)
    return {"times": times, "stands": stands, "plans": plans}


def _seconds(moment: datetime) -> int:
    """Return a shop-local moment as the seconds a chart without zones counts by."""
    return int(moment.replace(tzinfo=UTC).timestamp())
