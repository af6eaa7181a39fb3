"""The demo week of Tollebank Meats: an invented shop, so that every screen has something on it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from sqlalchemy import insert, select

from collop.measures import Money, UnitPrice, Weight, WeightUnit
from collop.shop.acts import Act, Room, once
from collop.shop.bench_choices import BenchHand
from collop.shop.bench_wants import note_want
from collop.shop.board import set_price
from collop.shop.booking import Terms, book_in, enter
from collop.shop.case import cover_days
from collop.shop.clock import DEMO_MONDAY, DEMO_START, StillClock
from collop.shop.demo_day import seed_day_book
from collop.shop.demo_fire import demo_cooks, seed_cooks, seed_fires
from collop.shop.demo_making import MADE_ON_MONDAY, seed_makings
from collop.shop.demo_rail import (
    FROM_THE_BREAK,
    demo_table,
    seed_break,
    seed_claims,
    seed_rail,
    seed_styles,
)
from collop.shop.demo_tickets import seed_labels, seed_tickets
from collop.shop.ledger import receive
from collop.shop.lots import NewLot, make_lot
from collop.shop.model import CaseLine, NewBooking, NewLine, Person, Settings, State
from collop.shop.standing_demo import seed_standing
from collop.shop.store import Store
from collop.shop.tables import bookings, case_lines

__all__ = ["DEMO_PEOPLE", "DEMO_SETTINGS", "demo_case_friday", "seed_demo"]

_SIX_DAYS = (60, 60, 60, 60, 60, 60, 0)
DEMO_SETTINGS = Settings(
    "Tollebank Meats", "Weir Lane, Oddwater Lock", demo=True,
    rail_carries=Weight.of("1600", WeightUnit.LB),
    hands=(
        BenchHand("Ines", (240,) * 6 + (0,), (0,) * 7),
        BenchHand("Marek", (480,) * 6 + (0,), _SIX_DAYS),
        BenchHand("Kofi", (300,) * 6 + (0,), (0,) * 7),
    ),
    case_room=Weight.of("600", WeightUnit.LB),
)  # fmt: skip
DEMO_PEOPLE = (
    Person("ines", "Ines", "owner; bench mornings, counter afternoons"),
    Person("marek", "Marek", "bench"),
    Person("dot", "Dot", "counter, Thursday to Saturday"),
    Person("kofi", "Kofi", "apprentice, second year"),
)
# everything of the demo was entered on Monday evening, the shop's breaking day
_ENTERED = DEMO_START - timedelta(hours=14)
_FRIDAY = datetime(2026, 6, 12, 15, 0)  # noqa: DTZ001 -- shop-local
_LB = WeightUnit.LB


def _bare(name: str) -> str:
    """Return the name without what the table counts in brackets, e.g. "(15 birds, 4.1 lb)"."""
    return name.partition(" (")[0]


def _lb(text: str) -> Weight:
    return Weight.of(text, _LB)


def _scores(text: str) -> dict[str, float]:
    pairs = (pair.split(":") for pair in text.split())
    return {style: float(score) for style, score in pairs}


def _kept(row: dict[str, str], more: dict[str, str], position: int) -> dict[str, Any]:
    """Return the columns of a case line from its two demo rows."""
    return {
        "id": row["id"],
        "position": position,
        "name": _bare(row["name"]),
        "species": row["species"],
        "form": row["form"],
        "by_piece": bool(more["piece_lb"]),
        "boneless_fraction": row["boneless_fraction"],
        "contains": [word.strip() for word in row["declared_allergens"].split(";") if word.strip()],
        "casing": row["casing"] or None,
        "grill_sq_in_per_lb": row["grill_sq_in_per_lb"],
        "minutes_low": int(row["cook_min_low"]),
        "minutes_high": int(row["cook_min_high"]),
        "method": row["method"],
        "cook_as": more["cook_as"],
        "styles": _scores(more["styles"]),
        "slots": more["slots"].split(),
        "neighbour": more["neighbour"] or None,
        "usual_per_day": _lb(more["usual_lb_per_day"]).count,
        "keeps_days": int(row["days_left"]),
    }


def _pieces(weight: Weight, piece_lb: str) -> tuple[Weight, ...]:
    if not piece_lb:
        return ()
    piece = _lb(piece_lb)
    return (piece,) * (weight.count // piece.count)


def _seed_lines(act: Act) -> None:
    more = {row["id"]: row for row in demo_table("case_more.csv")}
    rows = demo_table("scenario_case.csv")
    kept = [_kept(row, more[row["id"]], at) for at, row in enumerate(rows, 1)]
    # a line goes in after the neighbour it points at
    rank = sorted(kept, key=lambda line: _depth(line["neighbour"], more))
    act.conn.execute(insert(case_lines), rank)


def _seed_case(act: Act, *, leave_empty: frozenset[str]) -> None:
    more = {row["id"]: row for row in demo_table("case_more.csv")}
    for row in demo_table("scenario_case.csv"):
        weight = _lb(row["on_hand_lb"])
        if row["id"] not in leave_empty:
            _stock(act, row, weight, _pieces(weight, more[row["id"]]["piece_lb"]))
        price = UnitPrice.of(row["price_per_lb"], _LB, act.settings.currency)
        set_price(act, row["id"], price, why="Tuesday's board", from_at=act.at)


def _stock(act: Act, row: dict[str, str], weight: Weight, pieces: tuple[Weight, ...]) -> None:
    """Put stock on a case line of which the demo tells no animal."""
    lot = NewLot(
        id=f"{row['id']}-{DEMO_START:%m%d}", kind="stock", species=row["species"],
        what=_bare(row["name"]), weight=weight, since=act.at, case_id=row["id"],
        use_by=DEMO_START.date() + timedelta(days=int(row["days_left"])),
    )  # fmt: skip
    make_lot(act, lot)
    receive(act, lot.id, weight, "case", pieces)


def _depth(neighbour: str | None, more: dict[str, dict[str, str]]) -> int:
    steps = 0
    while neighbour and steps < len(more):
        neighbour = more[neighbour]["neighbour"]
        steps += 1
    return steps


def _seed_orders(act: Act, *, not_there: frozenset[str]) -> None:
    lines: dict[str, list[NewLine]] = {}
    about: dict[str, dict[str, str]] = {}
    for row in demo_table("scenario_orders.csv"):
        about[row["order"]] = row
        wanted = lines.setdefault(row["order"], [])
        if row["case_id"]:
            price = UnitPrice.of(row["price_per_lb"], _LB, act.settings.currency)
            wanted.append(NewLine(row["case_id"], _lb(row["reserved_lb"]), unit_price=price))
    for more in demo_table("orders_more.csv"):
        if not_there.intersection(line.case_id for line in lines[more["order"]]):
            continue  # what it wants still hangs
        _seed_order(act, more, about[more["order"]], lines[more["order"]])


def _seed_order(act: Act, more: dict[str, str], row: dict[str, str], wanted: list[NewLine]) -> None:
    ask: dict[str, Any] = {"eaters": row["eaters"], "status": row["status"]}
    if Decimal(row["budget"]):
        ask["budget_total"] = str(Money.of(row["budget"], act.settings.currency))
    if more["heads"]:
        ask["heads"] = int(more["heads"])
    new = NewBooking(
        name=row["occasion"],
        phone_end=more["phone_end"],
        collect_at=datetime.fromisoformat(more["collect_at"]),
        heads=int(more["heads"]) if more["heads"] else None,
        ask=ask,
        lines=tuple(wanted),
        note=more["note"],
        deposit=Money.of(more["deposit"], act.settings.currency),
        state=State(more["state"]),
        by=more["by"],
    )
    number = int(more["order"].removeprefix("H"))
    act = replace(act, by=more["by"])
    if wanted:
        book_in(act, new, Terms(), number)
    else:  # cut from the rail: nothing of the case is promised
        enter(act, new, None, number)


def _seed_wants(act: Act) -> None:
    """Write what bookings want beyond what is reserved, those whose booking is there."""
    there = set(act.conn.scalars(select(bookings.c.number)))
    for row in demo_table("wants.csv"):
        number = int(row["order"].removeprefix("H"))
        if number in there:
            note_want(act, number, row["case_id"], _lb(row["lb"]), row["note"])


def seed_demo(store: Store, day: str = "tuesday") -> None:
    """Fill a new shop with the demo week, all or nothing.

    Parameters
    ----------
    store : Store
        A new shop.
    day : str
        ``tuesday``: open, the forequarter broken the day before. ``monday``: the breaking day,
        it still hangs, and what comes from it is not in the case nor promised.
    """

    def work(act: Act) -> str:
        empty = FROM_THE_BREAK if day == "monday" else frozenset()
        seed_rail(act)
        _seed_lines(act)
        seed_styles(act)
        seed_day_book(act, DEMO_START if day == "tuesday" else DEMO_MONDAY)
        if day != "monday":
            seed_break(act)
            seed_makings(act)
        made = frozenset() if day == "monday" else MADE_ON_MONDAY
        _seed_case(act, leave_empty=FROM_THE_BREAK | made)
        _seed_orders(act, not_there=empty)
        seed_claims(act)
        _seed_wants(act)
        seed_standing(act)
        seed_cooks(act)
        seed_fires(act, set(act.conn.scalars(select(bookings.c.number))))
        seed_labels(act)
        if day != "monday":
            seed_tickets(act)
        return "demo"

    entered = _ENTERED if day == "tuesday" else DEMO_MONDAY - timedelta(minutes=5)
    once(Room(store, StillClock(entered)), "demo", day, by="ines", key="demo-week", work=work)


def _friday_line(row: dict[str, str], full: dict[str, str], more: dict[str, str]) -> CaseLine:
    """Return a line of Friday's table; what it leaves out is as on Tuesday."""
    kept = _kept(full, more, 0)
    free = _lb(row["free_lb"])
    gone = (_FRIDAY.date() - DEMO_START.date()).days
    # fresh goods were made or cut again since Tuesday, so they keep Tuesday's days
    days = int(full["days_left"]) - (gone if full["form"] == "frozen" else 0)
    return CaseLine(
        id=row["id"], name=_bare(row["name"]), species=full["species"], form=full["form"],
        price=UnitPrice.of(row["price_per_lb"], _LB), on_hand=_lb(row["on_hand_lb"]),
        booked=_lb(row["reserved_lb"]), free=free,
        boneless_fraction=Decimal(row["boneless_fraction"]), contains=tuple(kept["contains"]),
        casing=kept["casing"], grill_sq_in_per_lb=Decimal(full["grill_sq_in_per_lb"]),
        minutes=(kept["minutes_low"], kept["minutes_high"]), method=full["method"],
        use_by=_FRIDAY.date() + timedelta(days=days), days_left=days, styles=kept["styles"],
        slots=tuple(kept["slots"]), piece_lb=_pieces(free, more["piece_lb"]) or None,
        neighbour=kept["neighbour"], cook_as=kept["cook_as"], lot=f"{row['id']}-{_FRIDAY:%m%d}",
        cover_days=cover_days(free, Weight(kept["usual_per_day"])),
        cook=demo_cooks().get(row["id"]),
    )  # fmt: skip


def demo_case_friday() -> tuple[CaseLine, ...]:
    """Return the demo case as it stands on Friday at 15:00, more than half of it booked."""
    full = {row["id"]: row for row in demo_table("scenario_case.csv")}
    more = {row["id"]: row for row in demo_table("case_more.csv")}
    rows = demo_table("scenario_case_friday.csv")
    return tuple(_friday_line(row, full[row["id"]], more[row["id"]]) for row in rows)
