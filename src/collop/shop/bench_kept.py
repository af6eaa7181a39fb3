"""Kept cutting plans: when one is due, writing it once, and reading the newest back."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from sqlalchemy import func, insert, select
from sqlalchemy.engine import Connection

from collop.shop.acts import Act, Room, once
from collop.shop.bench_diff import differences
from collop.shop.bench_model import KeptPlan
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
from collop.shop.tables import (
    board_prices,
    booking_events,
    booking_lines,
    ledger_entries,
    setting_changes,
)

__all__ = ["before_of", "keep_plan", "latest_plan", "version_of"]


def version_of(conn: Connection, now: datetime) -> list[Any]:
    """Return numbers that change with the day and with all that a plan rests on.

    Weights, bookings and their wants, claims and plans on the rail, styles, prices in force, and
    settings; in a fixed order.
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
    return [now.date().isoformat(), *(int(one or 0) for one in row)]


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


def keep_plan(
    room: Room, version: list[Any], problem: Mapping[str, Any], plan: Mapping[str, Any], *,
    after: int,
) -> None:  # fmt: skip
    """Keep a plan; two of one version that follow the same plan are one.

    Parameters
    ----------
    room : Room
        Database and clock.
    version : list
        Of the shop the plan was made for; see `version_of`.
    problem, plan : mapping
        ``collop.bench/1`` and ``collop.bench.plan/1``.
    after : int
        Number of the plan that was newest when this one was begun; 0 if there was none.
    """

    def work(act: Act) -> str:
        # told against the plan that is newest now, whoever made it
        former = latest_plan(act.conn, act.at)
        changes = () if former is None else differences(former.plan, plan)
        act.conn.execute(
            insert(bench_plans).values(
                at=act.at, version=version, problem_digest=_digest(problem), problem=dict(problem),
                plan=dict(plan), changes=list(changes), by_id=act.by, key=act.key,
            )
        )  # fmt: skip
        return "kept"

    own = [version, after]
    once(room, "bench plan", own, by=None, key=f"bench-{_digest(own)}", work=work)


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
