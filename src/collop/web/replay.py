"""What if: a past day or week with another cutting plan, side by side with what it was."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.errors import BadValue, CollopError, StorageTrouble
from collop.web.bench_plan_view import weigh
from collop.web.forms import Faults, Fields, read_whole
from collop.web.rendering import page
from collop.web.room import Queried, Room, room_of

__all__ = ["router"]

router = APIRouter()
Json = dict[str, Any]
#: Chosen for a piece that is not cut in those days.
NOT_CUT = "-"
_MOST_DAYS = 7
_AT_LEAST_MOVED = ("came", "sold", "booked", "binned", "left")
_MONEY = (
    ("Sold at the glass", "sales"), ("Bookings", "bookings"),
    ("Trim, bone and the like", "by_products"), ("Left, sound", "left"),
    ("Still hanging", "kept"), ("Labour", "labour"),
)  # fmt: skip
_WEIGHTS = (
    ("Sold", "sold"), ("To bookings", "booked"), ("Binned", "binned"), ("Left", "left"),
    ("Short of what was promised or sold", "short"),
    ("Short with the estimate", "short_estimated"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Choice:
    """One piece on the form: what was done, what may be chosen, what is."""

    at: int
    piece: Json
    days: tuple[int, ...]
    style: str
    day: int | None


@router.get("/replay", response_class=HTMLResponse)
def show_replay(request: Request, fields: Queried) -> HTMLResponse:
    """Show a past day as it was, and as it would have been with what is chosen."""
    room, faults = room_of(request), Faults()
    day, days = _when(room, fields, faults)
    try:
        problem = room.shop.replaying.last(day, days=days)
    except StorageTrouble:
        raise
    except CollopError as error:
        if isinstance(error, BadValue):
            faults.add("day", error.message)
        return _bare(request, day, days, faults, "" if faults else error.message)
    choices = [_choice(at, piece, fields, faults) for at, piece in enumerate(problem["pieces"])]
    plan = _replayed({**problem, "changes": [] if faults else list(_changes(choices))})
    return page(
        request, "replay.html", status=422 if faults else 200, faults=faults, trouble="",
        day=day, days=days, most=_MOST_DAYS, plan=plan, choices=choices, not_cut=NOT_CUT,
        money=_MONEY, weights=_WEIGHTS, lines=_lines(plan), cuts=_cuts(plan),
        dates=[date.fromisoformat(one) for one in plan["days"]], text=fields.one("day"),
        weigh=lambda text: weigh(text, plan["unit"]),
    )  # fmt: skip


def _replayed(problem: Mapping[str, Any]) -> Json:
    from collop.bench.replaying import replay  # noqa: PLC0415 -- seldom needed

    return replay(problem)


def _bare(request: Request, day: date, days: int, faults: Faults, trouble: str) -> HTMLResponse:
    """Show the form for a day alone, with why there is nothing to look at."""
    return page(request, "replay.html", status=422 if faults else 409, faults=faults, day=day,
                days=days, most=_MOST_DAYS, plan=None, trouble=trouble, text="")  # fmt: skip


def _when(room: Room, fields: Fields, faults: Faults) -> tuple[date, int]:
    """Return the first day and how many; the last day on which was cut or sold by itself."""
    usual = room.shop.replaying.last_day()
    day = usual
    if fields.one("day"):
        day = faults.take("day", lambda: _day(room, fields.one("day")), usual)
    days = 1
    if fields.one("days"):
        days = faults.take(
            "days", lambda: read_whole(fields.one("days"), "Days", 1, _MOST_DAYS), 1
        )  # fmt: skip
    return day, days


def _day(room: Room, text: str) -> date:
    today = room.now().date()
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise BadValue(f"Day: choose a day, written like {today.isoformat()}.") from None
    if day > today:
        raise BadValue("Day: choose a day that is over, or today.")
    return day


def _choice(at: int, piece: Json, fields: Fields, faults: Faults) -> _Choice:
    """Read what is chosen for a piece; nothing is what was done."""
    days = tuple(day for day, weight in enumerate(piece["weights"]) if weight is not None)
    if fields.one(f"tag-{at}") != piece["tag"]:  # the form was of other days
        return _Choice(at, piece, days, "", None)
    style = fields.one(f"style-{at}")
    known = {one["id"] for one in piece["styles"]} | {"", NOT_CUT}
    if piece["actual"] is not None:
        known.add(piece["actual"]["style"])
    if style not in known:
        faults.add(f"style-{at}", f"{piece['tag']}: choose one of the styles that are there.")
        style = ""
    text = fields.one(f"day-{at}")
    day = next((one for one in days if str(one) == text), None)
    if text and day is None:
        faults.add(f"day-{at}", f"{piece['tag']} did not hang that day; choose another.")
    return _Choice(at, piece, days, style, day)


def _changes(choices: list[_Choice]) -> Iterator[Json]:
    for one in choices:
        actual = one.piece["actual"]
        if one.style == NOT_CUT:
            yield {"tag": one.piece["tag"]}
        elif one.style or (one.day is not None and actual is not None):
            style = one.style or actual["style"]
            first = one.days[0] if actual is None else actual["day"]
            yield {"tag": one.piece["tag"], "style": style,
                   "day": first if one.day is None else one.day}  # fmt: skip


def _lines(plan: Json) -> list[Json]:
    """Return the difference line by line, both ways beside each other, the largest first."""
    found: dict[tuple[str, str], Json] = {}
    for name in ("seen", "estimated"):
        for line in plan["lines"][name]:
            row = found.setdefault(
                (line["what"], line["id"]),
                {"name": line["name"], "seen": "0.00", "estimated": "0.00"},
            )
            row[name] = line["more"]
    return sorted(found.values(), key=lambda one: (-abs(float(one["seen"])), one["name"]))


def _cuts(plan: Json) -> list[Json]:
    """Return the cuts that would have moved, and those that sold out."""
    return [
        cut for cut in plan["cuts"]
        if any(cut["demand"]["guessed"]) or any(
            cut[name][part] != cut["actual"][part]
            for name in ("seen", "estimated") for part in _AT_LEAST_MOVED
        )
    ]  # fmt: skip
