"""The case and the bins as the cutting plan reads them: lines, stock, trim, and what is made."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.shop import bench_figures as figures
from collop.shop.ageing import GRIND_MINUTES_PER_LB, GRIND_YIELD
from collop.shop.bench_look import Look, amount, bin_id, plain
from collop.shop.sales import Line
from collop.shop.stock import stock_sums
from collop.shop.store import AnyRow
from collop.shop.tables import booking_lines, bookings, ledger_entries, lots

__all__ = ["CaseParts", "case_parts"]

_MOST_LOTS = 200
_MOST_KEEPS = 3650
_LEAST_ELASTICITY, _MOST_ELASTICITY = 0.5, 6.0
_PACE_PLACES = 3


@dataclass(frozen=True, slots=True)
class CaseParts:
    """``cuts``, ``bins`` and ``makes`` of the problem, the room of the case, and sentences."""

    cuts: list[dict[str, Any]]
    bins: list[dict[str, Any]]
    makes: list[dict[str, Any]]
    room: str | None
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _OnHand:
    """One lot somewhere, in counts."""

    lot: str
    count: int
    use_by: date | None


def _held_beyond(conn: Connection, look: Look) -> dict[str, int]:
    """Return what is held for bookings collected after the plan, or long overdue, in counts by lot.

    Neither is among the plan's bookings, and what they hold is not free.
    """
    long_ago = look.first - timedelta(days=figures.BOOKING_WAITS_DAYS)
    entry = ledger_entries.c
    later = (
        select(booking_lines.c.id)
        .join(bookings, bookings.c.number == booking_lines.c.booking_number)
        .where(
            (bookings.c.collect_at > datetime.combine(look.last, time.max))
            | (bookings.c.collect_at < datetime.combine(long_ago, time.min))
        )
        .scalar_subquery()
    )
    rows = conn.execute(
        select(entry.lot_id, func.sum(entry.delta).label("held"))
        .where(entry.place == "booked", entry.booking_line_id.in_(later))
        .group_by(entry.lot_id)
    )
    return {row.lot_id: int(row.held) for row in rows}


def _in_case(conn: Connection, look: Look) -> dict[str, list[_OnHand]]:
    """Return the lots on hand by line, free and booked, without what later bookings hold."""
    sums = stock_sums(conn)
    total = func.sum(sums.c.total).label("total")
    rows = conn.execute(
        select(lots.c.id, lots.c.case_id, lots.c.use_by, total)
        .join(lots, lots.c.id == sums.c.lot_id)
        .where(sums.c.place.in_(("case", "booked")), lots.c.case_id.is_not(None))
        .group_by(lots.c.id, lots.c.case_id, lots.c.use_by)
        .order_by(lots.c.use_by, lots.c.id)
    )
    beyond = _held_beyond(conn, look)
    found: dict[str, list[_OnHand]] = defaultdict(list)
    for row in rows:
        count = int(row.total) - beyond.get(row.id, 0)
        found[row.case_id].append(_OnHand(row.id, count, row.use_by))
    return found


def _in_bins(conn: Connection) -> dict[str, list[_OnHand]]:
    """Return the trim on hand by species; it keeps `TRIM_KEEPS_DAYS` unless its lot says."""
    sums = stock_sums(conn)
    rows: Iterable[AnyRow] = conn.execute(
        select(lots.c.id, lots.c.species, lots.c.use_by, lots.c.since, sums.c.total)
        .join(lots, lots.c.id == sums.c.lot_id)
        .where(sums.c.place == "trim", sums.c.total > 0)
        .order_by(lots.c.since, lots.c.id)
    )
    found: dict[str, list[_OnHand]] = defaultdict(list)
    keeps = timedelta(days=figures.TRIM_KEEPS_DAYS)
    for row in rows:
        use_by = row.use_by or row.since.date() + keeps
        found[row.species].append(_OnHand(row.id, int(row.total), use_by))
    return found


def _stock(look: Look, there: Iterable[_OnHand], keeps: int) -> tuple[list[dict[str, Any]], int]:
    """Return the lots that may still be used on day 0, and the counts of those that may not."""
    found: list[dict[str, Any]] = []
    past = 0
    for one in there:
        days = keeps if one.use_by is None else look.day_of(one.use_by)
        text = look.text(max(0, one.count))
        if days < 0:
            past += one.count
        elif Decimal(text):
            found.append(
                {"weight": text, "days_left": min(days, _MOST_KEEPS), "lot": plain(one.lot)}
            )
    return _few(found), past


def _few(found: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return lots as they are, or, of very many, those of one day together."""
    if len(found) <= _MOST_LOTS:
        return found
    sums: dict[int, Decimal] = defaultdict(Decimal)
    for one in found:
        sums[one["days_left"]] += Decimal(one["weight"])
    days = sorted(sums)
    for far in days[_MOST_LOTS:]:  # what keeps so long keeps no less for being counted sooner
        sums[days[_MOST_LOTS - 1]] += sums.pop(far)
    return [{"weight": f"{sums[day]:f}", "days_left": day, "lot": ""} for day in sorted(sums)]


def _ground(look: Look, line: Line) -> dict[str, Any] | None:
    """Return how a cut becomes trim: raw, plain, never frozen meat of a species that has a bin."""
    if (
        line.id in look.made or line.species not in look.binned or line.form != "fresh"
        or line.contains or line.casing is not None or line.boneless <= 0
    ):  # fmt: skip
        return None
    gives = GRIND_YIELD * Fraction(line.boneless)
    return {
        "bin": bin_id(line.species),
        "yield": amount(gives, 6),
        "minutes_per_unit": amount(look.per_lb(GRIND_MINUTES_PER_LB)),
    }


def _usual(look: Look, case_id: str) -> list[str]:
    """Return what a line is expected to sell each day at the price in force; none when shut."""
    pace = look.pace(case_id)
    return [
        amount(
            Fraction(0) if not look.chosen.is_open(day)
            else _units(look, pace) * (look.today_share if day == look.first else 1),
            _PACE_PLACES,
        )
        for day in look.days
    ]  # fmt: skip


def _units(look: Look, count: Fraction) -> Fraction:
    # a count of one legal unit reads as 1.000
    return count / look.unit


def _left(look: Look, case_id: str) -> dict[str, str]:
    """Return what sound stock is worth at the end, and how much of it.

    A unit left counts at its price less the shop's target margin: about what one costs again. So
    much counts as usually sells in half the days the line keeps.
    """
    worth = look.price(case_id) * (1 - Fraction(look.chosen.target_margin))
    half = -(-look.keeps[case_id] // 2)
    days = (look.last + timedelta(days=ahead) for ahead in range(1, half + 1))
    sells = look.pace(case_id) * sum(1 for day in days if look.chosen.is_open(day))
    return {"worth": amount(worth), "takes": amount(_units(look, sells), _PACE_PLACES)}


def _cut(look: Look, line: Line, stock: list[dict[str, Any]]) -> dict[str, Any]:
    elasticity = float(look.view.demand(line.id)["elasticity"])
    return {
        "id": line.id,
        "name": plain(line.name),
        "species": line.species,
        "price": amount(look.price(line.id), 6),
        "keeps_days": min(look.keeps[line.id], _MOST_KEEPS),
        "usual": _usual(look, line.id),
        "elasticity": round(min(_MOST_ELASTICITY, max(_LEAST_ELASTICITY, elasticity)), 4),
        "steps": list(figures.STEPS),
        "salvage": "0",
        "ground": _ground(look, line),
        "left": _left(look, line.id),
        "stock": stock,
    }


def _bin(look: Look, species: str, stock: list[dict[str, Any]]) -> dict[str, Any]:
    return {
        "id": bin_id(species),
        "name": f"{species.capitalize()} trim",
        "species": species,
        "fat": amount(figures.TRIM_FAT.get(species, figures.OTHER_FAT)),
        "keeps_days": figures.TRIM_KEEPS_DAYS,
        "worth": amount(look.worth("trim")),
        "stock": stock,
    }


def _make(look: Look, line: Line) -> dict[str, Any]:
    """Return how a line is made of the trim of its species."""
    links, limit = figures.is_links(line), figures.fat_limit(line.name)
    minutes = figures.LINKS_MINUTES_PER_LB if links else figures.MINCE_MINUTES_PER_LB
    added = figures.ADDED_SHARE if links and figures.takes_rusk(line) else Fraction(0)
    return {
        "cut": line.id,
        "name": plain(line.name),
        "bins": [bin_id(line.species)],
        "fat_max": None if limit is None else amount(limit),
        "fat_min": None,
        "added": amount(added),
        "added_cost": amount(look.per_lb(figures.RUSK_COST_PER_LB) if added else Fraction(0)),
        "cost_per_unit": amount(
            look.per_lb(figures.CASING_COST_PER_LB) if links else Fraction(0)
        ),
        "minutes_per_unit": amount(look.per_lb(minutes)),
    }  # fmt: skip


def _room(look: Look, there: Mapping[str, list[_OnHand]]) -> str | None:
    """Return the room of the case for lines of the plan: without what the others take now."""
    if look.chosen.case_room is None:
        return None
    others = sum(
        one.count for key, found in there.items()
        if key not in look.lines and look.view.lines[key].form != "frozen" for one in found
    )  # fmt: skip
    return look.text(max(0, look.chosen.case_room.count - others))


def case_parts(conn: Connection, look: Look) -> CaseParts:
    """Return the lines of the case, the bins and what is made of trim.

    Parameters
    ----------
    conn : Connection
        Reading connection, of the same moment as `look`.
    look : Look
        The shop.
    """
    there, bins = _in_case(conn, look), _in_bins(conn)
    cuts, told, past = [], [], list[tuple[int, str]]()
    for key, line in look.lines.items():
        stock, gone = _stock(look, there.get(key, ()), look.keeps[key])
        past.append((gone, f"{line.name} is past its day and not counted"))
        cuts.append(_cut(look, line, stock))
    for species in sorted(look.binned):
        stock, gone = _stock(look, bins.get(species, ()), figures.TRIM_KEEPS_DAYS)
        past.append((gone, f"{species} trim waited too long and is not counted; look at it"))
        told.append(_bin(look, species, stock))
    notes = [f"{look.text(count)} {look.unit_name} of {said}." for count, said in past if count > 0]
    makes = [_make(look, line) for key, line in look.lines.items() if key in look.made]
    silent = [line.name for key, line in look.lines.items() if not look.pace(key)]
    if silent:
        notes.append(f"Nothing tells what sells of {', '.join(silent)}: taken as none.")
    return CaseParts(cuts, told, makes, _room(look, there), tuple(notes))
