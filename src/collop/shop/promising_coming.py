"""What comes in: cuts of the newest cutting plan, what is made of trim, and planned breaks.

The plan says first which pieces are cut and when; a piece it does not know counts by the day
planned for it on the rail, in the first style that cuts it. Nothing counts that was cut, or taken
to the knife, since: then its weight is in the case, or on the scale.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.measures import Weight, WeightUnit
from collop.shop.bench_kept import LEDGER_MARK, latest_plan
from collop.shop.bench_look import Look, bin_id, load_look
from collop.shop.bench_problem_rail import RailParts, due_days, rail_parts
from collop.shop.bench_tables import bench_plans
from collop.shop.day_tables import making_events
from collop.shop.model import Settings
from collop.shop.promising_model import Coming
from collop.shop.stock import stock_sums
from collop.shop.tables import ledger_entries, lots

__all__ = ["coming_in"]

#: Days ahead that are looked at; as many as a cutting plan may have.
_DAYS = 14


@dataclass(frozen=True, slots=True)
class _Piece:
    """What hangs, in counts, with the share of it that bookings claim and its loss in a day."""

    kind: str
    count: Fraction
    claimed: Fraction
    shrink: Fraction

    def free_on(self, days: int) -> Fraction:
        """Return what of it is the shop's own after so many days, in counts."""
        return self.on(days) * (1 - self.claimed)

    def on(self, days: int) -> Fraction:
        """Return what it weighs after so many days, in counts."""
        return self.count * (1 - self.shrink) ** days


@dataclass(slots=True)
class _Gathered:
    """Supplies by line, and the trim that becomes available, by bin and day."""

    look: Look
    found: dict[str, list[Coming]] = field(default_factory=lambda: defaultdict(list))
    trim: dict[str, list[tuple[date, Fraction]]] = field(default_factory=lambda: defaultdict(list))

    def add(self, case_id: str, part: str, count: Fraction, *, day: date, ref: str,
            words: str) -> None:  # fmt: skip
        """Take in weight of a line that is cut or made on `day`; a crumb is nothing."""
        whole = int(count)
        if whole > 0 and case_id in self.look.keeps:
            last = day + timedelta(days=self.look.keeps[case_id])
            self.found[case_id].append(Coming(part, whole, day, last, ref, words))


def _counts(text: str, unit: WeightUnit) -> Fraction:
    return Fraction(Weight.of(text, unit).count)


def _pieces(rail: RailParts, unit: WeightUnit) -> dict[str, _Piece]:
    found = {}
    for row in rail.rail:
        hangs = _counts(row["weight"], unit)
        claimed = sum((_counts(one["weight"], unit) for one in row["claims"]), Fraction(0))
        share = min(Fraction(1), claimed / hangs) if hangs else Fraction(1)
        found[row["tag"]] = _Piece(row["kind"], hangs, share, Fraction(row["shrink_per_day"]))
    return found


def _trim_now(conn: Connection) -> dict[str, Fraction]:
    """Return the trim on hand by bin, in counts."""
    sums = stock_sums(conn)
    rows = conn.execute(
        select(lots.c.species, func.sum(sums.c.total).label("total"))
        .join(lots, lots.c.id == sums.c.lot_id)
        .where(sums.c.place == "trim")
        .group_by(lots.c.species)
    )
    return {bin_id(row.species): Fraction(int(row.total)) for row in rows}


def _made_since(conn: Connection, number: int) -> dict[str, Fraction]:
    """Return by line what was made since a plan was kept, in counts: less what was taken back."""
    version: Any = conn.scalar(select(bench_plans.c.version).where(bench_plans.c.number == number))
    seen = int(version[LEDGER_MARK])
    made = (
        select(making_events.c.lot_id)
        .where(making_events.c.what == "produced", making_events.c.lot_id.is_not(None))
        .distinct()
    )
    entry = ledger_entries.c
    rows = conn.execute(
        select(lots.c.case_id, entry.lot_id, func.sum(entry.delta).label("total"))
        .join(lots, lots.c.id == entry.lot_id)
        .where(entry.lot_id.in_(made), lots.c.case_id.is_not(None))
        .group_by(lots.c.case_id, entry.lot_id)
        .having(func.min(entry.seq) > seen)
    )
    found: dict[str, Fraction] = defaultdict(Fraction)
    for row in rows:
        found[row.case_id] += int(row.total)
    return found


def _day_words(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


def _planned_breaks(
    into: _Gathered, plan: Mapping[str, Any], pieces: Mapping[str, _Piece], today: date
) -> None:
    """Take in what the plan's breaks give of pieces that still hang as they hung then."""
    unit = WeightUnit(plan["unit"])
    for one in plan["breaks"]:
        piece = pieces.get(one["tag"])
        if piece is None:
            continue  # it was cut since
        day = max(today, date.fromisoformat(one["date"]))
        planned = _counts(one["weight"], unit)
        # a piece that lost more weight than the plan thought gives less, never more
        scale = min(Fraction(1), piece.on((day - today).days) / planned) if planned else 0
        own = scale * (1 - piece.claimed)
        words = f"from {one['tag']}, cut on {_day_words(day)}"
        for out in one["outputs"]:
            count = _counts(out["weight"], unit) * own
            if out["to"] == "cut":
                into.add(out["id"], "plan", count, day=day, ref=one["tag"], words=words)
            elif out["to"] == "bin":
                into.trim[out["id"]].append((day, count))


def _planned_makes(
    into: _Gathered, plan: Mapping[str, Any], there: Mapping[str, Fraction],
    made: dict[str, Fraction], today: date,
) -> None:  # fmt: skip
    """Take in what the plan makes, as far as trim that is there or comes off a break lasts.

    What it would grind from the case is not counted: that is in the case, and may be promised.
    Neither is what was made of it since, in `made`, which is used up.
    """
    unit = WeightUnit(plan["unit"])
    taken: dict[str, Fraction] = defaultdict(Fraction)
    for one in sorted(plan["makes"], key=lambda make: int(make["day"])):
        day, planned = date.fromisoformat(plan["days"][one["day"]]), _counts(one["weight"], unit)
        done = min(planned, made[one["cut"]])
        made[one["cut"]] -= done
        if day < today or done == planned:
            continue
        share = 1 - done / planned
        for source in one["from"]:
            name, wanted = source["bin"], _counts(source["weight"], unit)
            comes = sum((count for on, count in into.trim[name] if on <= day), Fraction(0))
            left = max(Fraction(0), there.get(name, Fraction(0)) + comes - taken[name])
            if wanted > 0:
                share = min(share, left / wanted)
        for source in one["from"]:
            taken[source["bin"]] += _counts(source["weight"], unit) * share
        count = planned * share
        words = f"made on {_day_words(day)}"
        into.add(one["cut"], "plan", count, day=day, ref=one["cut"], words=words)


def _hanging(
    into: _Gathered, rail: RailParts, pieces: Mapping[str, _Piece], known: Mapping[str, date | None]
) -> None:
    """Take in planned breaks of pieces that the plan does not know, or keeps for after it."""
    kinds = {row["id"]: row["styles"][0] for row in rail.kinds}
    today = into.look.view.now.date()
    for tag, piece in pieces.items():
        planned = rail.planned.get(tag)
        until = known.get(tag, date.min)
        if planned is None or until is None or planned <= until:
            continue
        day = max(today, planned)
        style = kinds[piece.kind]
        words = f"from {tag}, cut on {_day_words(day)}"
        weight = piece.free_on((day - today).days)
        for out in style["outputs"]:
            if "cut" in out:
                count = weight * Fraction(out["share"])
                into.add(out["cut"], "rail", count, day=day, ref=tag, words=words)


def coming_in(conn: Connection, now: datetime, chosen: Settings) -> dict[str, list[Coming]]:
    """Return by line what the plan and the rail will give, each with its first and last day.

    Weight that bookings claim on a piece is left out. All of it is expected, not weighed: a plan's
    cuts, or the shop's own yields on what hangs now, less what it loses to air until then.

    Parameters
    ----------
    conn : Connection
        Reading or writing connection.
    now : datetime
        Shop-local.
    chosen : Settings
        Of the shop.
    """
    look = load_look(conn, now, chosen, days=_DAYS)
    rail = rail_parts(conn, look, due_days(conn))
    pieces = _pieces(rail, chosen.legal_unit)
    into, today = _Gathered(look), now.date()
    kept = latest_plan(conn, now)
    known: dict[str, date | None] = {}
    if kept is not None and date.fromisoformat(kept.plan["days"][-1]) >= today:
        plan = kept.plan
        _planned_breaks(into, plan, pieces, today)
        _planned_makes(into, plan, _trim_now(conn), _made_since(conn, kept.number), today)
        last = date.fromisoformat(plan["days"][-1])
        known = {one["tag"]: last for one in plan["kept"]}
        # what the plan cuts was counted above
        known |= {one["tag"]: None for one in plan["breaks"]}
    _hanging(into, rail, pieces, known)
    return dict(into.found)
