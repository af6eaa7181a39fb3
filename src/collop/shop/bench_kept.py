"""Kept cutting plans: when one is due, writing it once, and reading the newest back."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from math import ceil
from typing import Any

from sqlalchemy import delete, func, insert, select
from sqlalchemy.engine import Connection

from collop.shop.acts import Act, Room, once
from collop.shop.bench_diff import differences
from collop.shop.bench_look import today_share
from collop.shop.bench_model import KeptPlan, PlanNote
from collop.shop.bench_tables import bench_plans, booking_wants
from collop.shop.knife_tables import (
    break_events,
    breaks,
    deliveries,
    rail_claims,
    rail_plans,
    stock_counts,
    style_parts,
    weighings,
)
from collop.shop.settings import load_settings
from collop.shop.tables import (
    acts,
    board_prices,
    booking_events,
    booking_lines,
    ledger_entries,
    setting_changes,
)

__all__ = [
    "LEDGER_MARK", "before_of", "begun_at", "keep_plan", "latest_plan", "newest_note", "version_of",
]  # fmt: skip

_KIND = "bench plan"
#: So many of the newest plans are held, and the last of each day for so long.
_HELD = 50
_HELD_DAYS = 35
#: Parts of an open day after which less of it is left to sell and to cut in.
_PARTS = 4
#: Where `version_of` has the number of the newest entry of the ledger.
LEDGER_MARK = 2


def version_of(conn: Connection, now: datetime) -> list[Any]:
    """Return numbers that change with the day and with all that a plan rests on.

    Weights, bookings and their wants, claims and plans on the rail, styles, prices in force,
    settings, and how many quarters of today's opening hours are left; in a fixed order.
    """
    newest = (
        ledger_entries.c.seq, weighings.c.seq, breaks.c.number, break_events.c.seq,
        style_parts.c.id, stock_counts.c.number, deliveries.c.number, rail_claims.c.seq,
        rail_plans.c.seq, booking_events.c.seq, booking_lines.c.id, booking_wants.c.seq,
        setting_changes.c.seq,
    )  # fmt: skip
    queries = [select(func.max(one)).scalar_subquery() for one in newest]
    # a price that was put up for later counts from when it is in force
    in_force = select(func.count()).select_from(board_prices).where(board_prices.c.from_at <= now)
    row = conn.execute(select(*queries, in_force.scalar_subquery())).one()
    left = ceil(_PARTS * today_share(now, now.date(), load_settings(conn)))
    return [now.date().isoformat(), left, *(int(one or 0) for one in row)]


def _digest(value: object) -> str:
    return hashlib.sha256(json.dumps(value, sort_keys=True).encode()).hexdigest()


def latest_plan(
    conn: Connection, now: datetime, *, number: int | None = None
) -> KeptPlan | None:  # fmt: skip
    """Return the newest kept plan, or the one with a number; None if there is no such plan."""
    wanted = select(bench_plans).order_by(bench_plans.c.number.desc()).limit(1)
    if number is not None:
        wanted = wanted.where(bench_plans.c.number == number)
    row = conn.execute(wanted).first()
    if row is None:
        return None
    return KeptPlan(
        number=row.number, at=row.at, plan=row.plan, problem=row.problem,
        changes=tuple(row.changes), is_current=row.version == version_of(conn, now),
    )  # fmt: skip


def newest_note(conn: Connection, now: datetime) -> PlanNote | None:
    """Return what pages tell of the newest plan; quick, as neither plan nor problem is read."""
    row = conn.execute(
        select(bench_plans.c.number, bench_plans.c.at, bench_plans.c.changes, bench_plans.c.version)
        .order_by(bench_plans.c.number.desc())
        .limit(1)
    ).first()
    if row is None:
        return None
    return PlanNote(row.number, row.at, tuple(row.changes), row.version == version_of(conn, now))


def begun_at(conn: Connection) -> list[int]:
    """Return numbers that move with every plan that is kept.

    The number of the newest, and of all that were ever kept: tables that were taken away and made
    again count from 1 once more, acts do not.
    """
    newest = select(func.max(bench_plans.c.number)).scalar_subquery()
    ever = select(func.count()).select_from(acts).where(acts.c.kind == _KIND).scalar_subquery()
    row = conn.execute(select(newest, ever)).one()
    return [int(row[0] or 0), int(row[1])]


def keep_plan(
    room: Room, version: list[Any], problem: Mapping[str, Any], plan: Mapping[str, Any], *,
    after: list[int],
) -> None:  # fmt: skip
    """Keep a plan; two of one version that follow the same plan are one.

    One that is of an older shop than the newest kept is let go of. Held are the newest 50, and the
    last of each day for 35 days: a plan is derived.

    Parameters
    ----------
    room : Room
        Database and clock.
    version : list
        Of the shop the plan was made for; see `version_of`.
    problem, plan : mapping
        ``collop.bench/1`` and ``collop.bench.plan/1``.
    after : list of int
        `begun_at`, as this one was begun.
    """

    def work(act: Act) -> str:
        # told against the plan that is newest now, whoever made it
        former = latest_plan(act.conn, act.at)
        if former is not None and former.is_current and version != version_of(act.conn, act.at):
            return "overtaken"
        changes = () if former is None else differences(former.plan, plan)
        act.conn.execute(
            insert(bench_plans).values(
                at=act.at, version=version, problem_digest=_digest(problem), problem=dict(problem),
                plan=dict(plan), changes=list(changes), by_id=act.by, key=act.key,
            )
        )  # fmt: skip
        _let_go(act)
        return "kept"

    own = [version, after]
    once(room, _KIND, own, by=None, key=f"bench-{_digest(own)}", work=work)


def _let_go(act: Act) -> None:
    """Delete all plans but the newest, and the last of each day for some weeks."""
    kept = bench_plans.c
    newest = select(kept.number).order_by(kept.number.desc()).limit(_HELD)
    held = set(act.conn.scalars(newest))
    since = datetime.combine(act.at.date() - timedelta(days=_HELD_DAYS), time.min)
    older = act.conn.execute(
        select(kept.number, kept.at).where(kept.number < min(held)).order_by(kept.number)
    ).all()
    last = {row.at.date(): row.number for row in older if row.at >= since}
    # the day's last plan may be among the newest
    young = act.conn.scalars(select(kept.at).where(kept.number.in_(held)))
    gone = set(last) & {at.date() for at in young}
    held |= {number for day, number in last.items() if day not in gone}
    let_go = [row.number for row in older if row.number not in held]
    if let_go:
        act.conn.execute(delete(bench_plans).where(kept.number.in_(let_go)))


def before_of(kept: KeptPlan | None, first: date) -> list[dict[str, Any]] | None:
    """Return the breaks of a kept plan from day `first` on, as a start for the next; or None."""
    if kept is None:
        return None
    gone = (first - date.fromisoformat(kept.plan["days"][0])).days
    return [
        {"tag": one["tag"], "style": one["style"], "day": one["day"] - gone}
        for one in kept.plan["breaks"]
        if one["of"] is None and one["day"] >= gone
    ]
