"""The ``collop.bench/1`` problem of the shop as it stands, and what it takes for granted."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from fractions import Fraction
from typing import Any

from sqlalchemy.engine import Connection

from collop.errors import BadValue, WrongState
from collop.shop import bench_figures as figures
from collop.shop.bench_look import Look, load_look, plain, short_id
from collop.shop.bench_problem_case import case_parts
from collop.shop.bench_problem_hook import hook_parts
from collop.shop.bench_problem_rail import due_days, rail_parts
from collop.shop.model import Settings

__all__ = ["SCHEMA", "bench_problem"]

SCHEMA = "collop.bench/1"
_GAP = 0.001
_KEYS = ("tag", "style", "day")


def _minutes(look: Look, minutes: Sequence[int]) -> list[str]:
    """Return minutes of each day of the plan; today, of what is left of the opening hours."""
    found = []
    for day in look.days:
        there = 0 if day in look.chosen.closed_dates else minutes[day.weekday()]
        share = look.today_share if day == look.first else Fraction(1)
        found.append(str(int(there * share)))
    return found


def _hands(look: Look) -> tuple[list[dict[str, Any]], list[str]]:
    chosen = look.chosen
    pay = f"{chosen.labour_per_hour:f}"
    taken: set[str] = set()
    if chosen.hands:
        return [
            {"name": short_id(one.person, taken), "minutes": _minutes(look, one.minutes),
             "overtime": _minutes(look, one.overtime) if any(one.overtime) else None,
             "per_hour": pay, "cannot": []}
            for one in chosen.hands
        ], []  # fmt: skip
    week = [figures.USUAL_MINUTES if day in chosen.open_days else 0 for day in range(7)]
    note = (f"Nobody is named at the block: one pair of hands, {figures.USUAL_MINUTES} minutes on"
            " open days.")  # fmt: skip
    return [{"name": "the block", "minutes": _minutes(look, week), "overtime": None,
             "per_hour": pay, "cannot": []}], [note]  # fmt: skip


def _locks(given: Iterable[Mapping[str, Any]], kept: Iterable[str]) -> list[dict[str, Any]]:
    """Return the decisions taken: the person's own, and pieces that wait for after the plan."""
    found = list(given)
    if not all(isinstance(one, Mapping) for one in found):
        raise BadValue("A lock names a tag, a style and a day; leave style and day out to keep the"
                       " piece.", where="locks")  # fmt: skip
    rows = [{key: one.get(key) for key in _KEYS} for one in found]
    own = {row["tag"] for row in rows}
    return rows + [{"tag": tag, "style": None, "day": None} for tag in kept if tag not in own]


def _figures_said(look: Look) -> list[str]:
    """Return what every plan takes from the shop's starting figures."""
    fat = ", ".join(
        f"{one} {float(figures.TRIM_FAT.get(one, figures.OTHER_FAT)):.0%}"
        for one in sorted(look.binned)
    )
    block = "; ".join(
        f"{species} {float(look.block_worth(species)):.2f}"
        for species in sorted({style.species for style in look.styles})
    )
    makes = (
        f"Trim waits {figures.TRIM_KEEPS_DAYS} days; a pound of mince takes"
        f" {float(figures.MINCE_MINUTES_PER_LB)} min, of links"
        f" {float(figures.LINKS_MINUTES_PER_LB):.0f} min; links with rusk hold"
        f" {float(figures.ADDED_SHARE):.0%} rusk and water (our own figures)."
    )
    bare = (
        f"A cut without a line of the case is sold at {float(figures.BLOCK_SHARE):.0%} of the mean"
        f" board price of its species, a {look.unit_name}: {block}."
    )
    left = (
        "Stock left sound at the end counts at its price less"
        f" {float(look.chosen.target_margin):.0%} margin, up to what sells in half the days it"
        " keeps."
    )
    return [
        f"Fat of trim as it is sorted here: {fat} (our own figures).", makes, bare, left,
        "A piece is not broken before the day planned for it on the rail.",
        "The usual daily sale is counted beside what is booked.",
        "Bought-in, frozen and meat-free lines are not in the plan; their bookings are reserved.",
    ]  # fmt: skip


def bench_problem(
    conn: Connection, now: datetime, chosen: Settings, *,
    locks: Iterable[Mapping[str, Any]] = (), before: Iterable[Mapping[str, Any]] | None = None,
    days: int = 7, start: date | None = None, reasons: bool = True,
) -> tuple[dict[str, Any], tuple[str, ...]]:  # fmt: skip
    """Return the problem and one sentence for each thing it takes for granted.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    now : datetime
        Shop-local.
    chosen : Settings
        Of the shop.
    locks : iterable of mapping
        Decisions taken: ``tag``, ``style`` (None: kept) and ``day`` (None: any).
    before : iterable of mapping, optional
        Breaks of the last plan, as a start.
    days : int
        Days of the plan, from 1 to 14.
    start : date, optional
        Day 0, by default today.
    reasons : bool
        Whether runners-up and what would save a short booking are worked out.

    Raises
    ------
    BadValue
        If the days are out of range or over.
    WrongState
        If no line on the board is cut or made here.
    """
    look = load_look(conn, now, chosen, start=start, days=days)
    rail = rail_parts(conn, look, due_days(conn))
    case, hook = case_parts(conn, look), hook_parts(conn, look)
    if not case.cuts:
        raise WrongState("No line on the board comes from a cutting style yet; add a style that"
                         " gives one, and put a price up.")  # fmt: skip
    hands, said = _hands(look)
    there = {row["tag"] for row in rail.rail}
    problem = {
        "schema": SCHEMA,
        "name": plain(f"{chosen.name}, {look.first}"),
        "currency": chosen.currency,
        "rounding": chosen.rounding.value,
        "unit": look.unit_name,
        "days": [{"day": day.isoformat(), "open": chosen.is_open(day)} for day in look.days],
        "hands": hands,
        "case_room": case.room,
        "kinds": rail.kinds,
        "rail": rail.rail,
        "cuts": case.cuts,
        "bins": case.bins,
        "makes": case.makes,
        "bookings": hook.bookings,
        "locks": _locks(locks, rail.kept),
        "before": None if before is None else [row for row in before if row["tag"] in there],
        "gap": _GAP,
        "reasons": reasons,
    }
    notes = (*said, *rail.notes, *case.notes, *hook.notes, *_figures_said(look))
    return problem, notes
