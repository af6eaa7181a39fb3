"""One line of the lock-up: its count, and what is done with it then."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, NotEnoughFree, NotFound, ShopError
from collop.measures import Weight, WeightUnit, decimal_of
from collop.shop import LockLine, LockUp
from collop.shop.converting import RESTS
from collop.shop.freezer_words import is_freezer_line
from collop.shop.lockup_ways import money_at
from collop.web.forms import SURE, Faults, Fields, read_choice
from collop.web.hook import read_who
from collop.web.knife_reading import read_weights, unit_of
from collop.web.lockup_words import in_units
from collop.web.rendering import page, shown_for
from collop.web.room import Posted, Queried, Room, room_of

__all__ = ["router"]

router = APIRouter()
#: What the buttons say.
WAYS = {"carry": "Carry", "convert": "Convert", "freeze": "Freeze", "bin": "Bin"}
_FIELDS = ("counted", "weight", "gives", "into", "rest", "why", "by", "do")


@dataclass(frozen=True, slots=True)
class _Asked:
    """What the form asks to be done, read."""

    weight: tuple[Weight, ...]
    gives: tuple[Weight, ...]
    why: str

    @property
    def whole(self) -> Weight:
        return Weight(sum(one.count for one in self.weight), self.weight[0].unit)

    @property
    def kept(self) -> Weight | None:
        if not self.gives:
            return None
        return Weight(sum(one.count for one in self.gives), self.gives[0].unit)

    @property
    def pieces(self) -> tuple[Weight, ...]:
        return self.weight if len(self.weight) > 1 else ()


@router.get("/lockup/line/{case_id}", response_class=HTMLResponse)
def show_line(request: Request, case_id: str, fields: Queried) -> Response:
    """Show one line; ``do`` and ``weight`` fill the form of one way."""
    asked = [(name, fields.one(name)) for name in ("do", "weight") if name in fields]
    return _show(request, case_id, Fields(asked), Faults())


@router.post("/lockup/line/{case_id}/count", response_class=HTMLResponse)
def count_line(request: Request, case_id: str, fields: Posted) -> Response:
    """Count the line, or skip it."""
    room, faults = room_of(request), Faults()
    skips = fields.one("do") == "skip"
    none: tuple[Weight, ...] = ()
    weights = none if skips else faults.take("counted", lambda: _counted(request, fields), none)
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return _show(request, case_id, fields, faults, status=422)
    key = fields.one("key")[:64] or uuid4().hex
    try:
        if skips:
            room.shop.lockup.skip(case_id, by=by, key=key)
            return RedirectResponse("/lockup?done=skip", status_code=303)
        sure = bool(fields.one(SURE)) and fields.one(SURE) == fields.one("counted")
        counted = Weight(sum(one.count for one in weights), weights[0].unit)
        room.shop.lockup.count(case_id, counted, by=by, key=key, why=fields.one("why"), sure=sure)
    except NotFound:
        raise
    except (BadValue, ShopError) as error:
        faults.add("counted", error.message)
        again = fields.one("counted") if error.where == SURE else ""
        return _show(request, case_id, fields, faults, status=422, sure=again)
    return RedirectResponse(f"/lockup/line/{case_id}?done=count", status_code=303)


def _counted(request: Request, fields: Fields) -> tuple[Weight, ...]:
    if not fields.one("counted"):
        raise BadValue("Counted: put all of the line on the scale.")
    return read_weights(fields.one("counted"), "Counted", unit_of(request, fields))


@router.post("/lockup/line/{case_id}/do", response_class=HTMLResponse)
def do_something(request: Request, case_id: str, fields: Posted) -> Response:
    """Carry, convert, freeze or bin what is free of the line."""
    room, faults = room_of(request), Faults()
    do = faults.take("do", lambda: read_choice(fields.one("do"), "What to do", WAYS), "")
    asked = _read(request, do, fields, faults)
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return _show(request, case_id, fields, faults, status=422)
    key = fields.one("key")[:64] or uuid4().hex
    try:
        _do(room, do, case_id, asked, fields, by=by, key=key)
    except (BadValue, NotEnoughFree) as error:
        faults.add(error.where if error.where in _FIELDS else "weight", error.message)
        return _show(request, case_id, fields, faults, status=422)
    except NotFound:
        raise
    except ShopError as error:
        return _show(request, case_id, fields, faults, status=409, trouble=error.message)
    return RedirectResponse(f"/lockup?done={do}", status_code=303)


def _read(request: Request, do: str, fields: Fields, faults: Faults) -> _Asked:
    unit = unit_of(request, fields)
    none: tuple[Weight, ...] = ()
    weight = gives = none
    if do != "carry":
        weight = faults.take(
            "weight", lambda: read_weights(fields.one("weight"), "Weight", unit), none
        )
    if do in {"convert", "freeze"} and fields.one("gives"):
        label = "Packs weigh" if do == "freeze" else "After the work"
        gives = faults.take("gives", lambda: read_weights(fields.one("gives"), label, unit), none)
    if do == "bin" and not fields.one("why"):
        faults.add("why", "Why: say why it is binned; a word or two will do.")
    return _Asked(weight, gives, fields.one("why")[:200])


def _do(
    room: Room, do: str, case_id: str, asked: _Asked, fields: Fields, *, by: str, key: str
) -> None:
    lockup = room.shop.lockup
    if do == "carry":
        lockup.carry(case_id, by=by, key=key, why=asked.why)
    elif do == "bin":
        lockup.bin(case_id, asked.whole, by=by, key=key, why=asked.why, pieces=asked.pieces)
    elif do == "freeze":
        lockup.freeze(case_id, asked.whole, packed=asked.kept, pieces=asked.pieces,
                      parts=asked.gives, by=by, key=key, why=asked.why)  # fmt: skip
    else:
        lockup.convert(case_id, asked.whole, into=fields.one("into"), gives=asked.kept,
                       rest=fields.one("rest"), pieces=asked.pieces, parts=asked.gives, by=by,
                       key=key, why=asked.why)  # fmt: skip


def _targets(room: Room, line: LockLine) -> list[tuple[str, str]]:
    """Return what a line may be made into: the trim bin, and other lines of its species."""
    case = {one.id: one for one in room.shop.case()}
    mine = case[line.case_id]
    others = [
        (one.id, one.name) for one in case.values()
        if one.id != mine.id and one.species == mine.species != "none" and one.form == mine.form
        and one.cook_as == mine.cook_as and not is_freezer_line(one.name)
    ]  # fmt: skip
    return [("", "the trim bin of its species"), *others]


def _opened(sheet_line: LockLine, fields: Fields) -> str:
    """Return the way whose form stands open: the asked one, else the best that can be done."""
    if fields.one("do") in WAYS:
        return fields.one("do")
    return next((way.what for way in sheet_line.ways if not way.no), "")


def _show(
    request: Request, case_id: str, fields: Fields, faults: Faults, *, status: int = 200,
    trouble: str = "", sure: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    sheet: LockUp = room.shop.lockup.sheet(also=case_id)
    line = sheet.line(case_id)
    if line is None:
        raise NotFound(f"There is no case line {case_id[:40]!r} with a price; look at the case.")
    counted, chosen = line.counted, room.shop.settings()
    unit = unit_of(request, fields)
    gap = None if counted is None or counted.gap is None else counted.gap
    return page(
        request, "lockup_line.html", status=status, line=line, sheet=sheet, ways=WAYS, gap=gap,
        gap_board=None if gap is None else money_at(gap, line.price, chosen),
        gap_cost=None if gap is None or line.cost is None else money_at(gap, line.cost, chosen),
        gap_pct=_percent(gap, counted.expected) if gap is not None and counted else None,
        targets=_targets(room, line), rests=RESTS, opened=_opened(line, fields),
        offered={way.what: _offered(way.weight, unit) for way in line.ways}, unit=unit, form=fields,
        faults=faults, people=room.shop.people(), key=uuid4().hex, trouble=trouble, sure=sure,
        told=in_units(shown_for(request)),
    )  # fmt: skip


def _offered(weight: Weight, unit: WeightUnit) -> str:
    """Return a weight as its field is filled: never more than there is, so it is cut off."""
    thousandths = weight.exact(unit) * 1000 // 1
    return str(decimal_of(Fraction(thousandths, 1000), 3)).removesuffix("0")


def _percent(gap: Weight, expected: Weight) -> str:
    if not expected.count:
        return ""
    return f"{100 * gap.count / expected.count:+.1f} %"
