"""What goes under the knife next, and what it covers: from the kept plan, else from the rail."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from sqlalchemy.engine import Connection

from collop.shop.bench_list_model import BenchBreak
from collop.shop.breaking import load_break, open_breaks
from collop.shop.knife_model import Break, Claim, RailPiece, Style
from collop.shop.model import Settings
from collop.shop.railing import load_rail
from collop.shop.styles import load_styles, styles_for

__all__ = ["breaks_of", "covers_of", "planned_style"]

_MOST_COVERS = 4


def covers_of(made: Mapping[str, Any], days: Iterable[str]) -> tuple[str, ...]:
    """Return what a break of the plan covers: bookings by id, sales by their last day.

    Parameters
    ----------
    made : mapping
        One of ``breaks`` of a ``collop.bench.plan/1``.
    days : iterable of str
        The plan's days.

    Examples
    --------
    >>> made = {"covers": [
    ...     {"cut": "C13", "name": "Beef rump", "booking": None, "first_day": 0, "last_day": 1},
    ...     {"cut": "C12", "name": "Beef fillet", "booking": "H9", "first_day": 1, "last_day": 1},
    ... ]}
    >>> covers_of(made, ["2026-06-12", "2026-06-13"])
    ('Beef fillet H9', 'Beef rump Sat')
    """
    known = list(days)
    booked = [f"{one['name']} {one['booking']}" for one in made["covers"] if one["booking"]]
    last: dict[str, int] = {}
    for one in made["covers"]:
        if not one["booking"]:
            last[one["name"]] = max(last.get(one["name"], 0), one["last_day"])
    sold = [f"{name} {date.fromisoformat(known[day]):%a}" for name, day in last.items()]
    found = list(dict.fromkeys([*booked, *sold]))
    more = len(found) - _MOST_COVERS
    return (*found[:_MOST_COVERS], f"{more} more") if more > 1 else tuple(found)


def planned_style(plan: Mapping[str, Any] | None, tag: str, styles: Iterable[Style]) -> str:
    """Return the id of the style that a plan breaks a piece in; empty if it has none of `styles`.

    Parameters
    ----------
    plan : mapping, optional
        A ``collop.bench.plan/1``.
    tag : str
        The piece.
    styles : iterable of Style
        The shop's styles that cut it. The plan may have the kind beside their id, so that of the
        same name counts as well.
    """
    made = next((one for one in (plan or {"breaks": ()})["breaks"]
                 if one["tag"] == tag and one["of"] is None), None)  # fmt: skip
    if made is None:
        return ""
    known = {one.name: one.id for one in styles}
    style = str(made["style"])
    return style if style in known.values() else known.get(made["style_name"], "")


def _claimed(claims: Iterable[Claim]) -> tuple[str, ...]:
    return tuple(f"{one.booking_id} {one.name}" for one in claims)


def _under(found: Break, hung: Mapping[str, int], today: date) -> BenchBreak:
    return BenchBreak(
        tag=found.tag, what=found.what, species=found.style.species,
        days=hung.get(found.tag, 0), weight=found.left, day=today, covers=_claimed(found.claims),
        style=found.style.name, under=found.number,
    )  # fmt: skip


def _from_plan(
    plan: Mapping[str, Any], rail: Mapping[str, RailPiece], today: date, styles: tuple[Style, ...]
) -> list[BenchBreak]:
    """Return the plan's breaks of pieces that still hang; large cuts are part of theirs."""
    found = []
    for made in plan["breaks"]:
        piece = rail.get(made["tag"])
        if piece is None or made["of"] is not None:
            continue
        day = max(today, date.fromisoformat(plan["days"][made["day"]]))
        covers = covers_of(made, plan["days"])
        fits = styles_for(styles, piece.piece, piece.species)
        found.append(
            BenchBreak(
                tag=piece.tag, what=piece.what, species=piece.species, days=piece.days,
                weight=piece.weight_now, day=day, covers=covers or _claimed(piece.claims),
                style=made["style_name"], say=made["say"],
                style_id=planned_style(plan, piece.tag, fits),
            )
        )  # fmt: skip
    return found


def _from_rail(rail: Iterable[RailPiece], today: date) -> list[BenchBreak]:
    return [
        BenchBreak(
            tag=one.tag, what=one.what, species=one.species, days=one.days, weight=one.weight_now,
            day=max(today, one.break_on), covers=_claimed(one.claims),
        )
        for one in rail
        if one.break_on is not None
    ]  # fmt: skip


def breaks_of(
    conn: Connection, now: datetime, chosen: Settings, plan: Mapping[str, Any] | None
) -> tuple[BenchBreak, ...]:
    """Return what is under the knife, then what is broken today, else the next to come.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    now : datetime
        The moment.
    chosen : Settings
        The shop's.
    plan : mapping, optional
        The kept plan; left out, the days planned on the rail count.
    """
    today = now.date()
    rail = load_rail(conn, now, chosen)
    due = _from_rail(rail, today) if plan is None else (
        _from_plan(plan, {one.tag: one for one in rail}, today, load_styles(conn)))  # fmt: skip
    due.sort(key=lambda one: (one.day, -one.days, one.tag))
    now_due = [one for one in due if one.day == today] or due[:1]
    under = [load_break(conn, number) for number in open_breaks(conn)]
    return (*(_under(one, {}, today) for one in under), *now_due)
