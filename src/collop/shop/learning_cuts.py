"""What the knife and the glass teach: boneless shares from cutting tests, paces from sales."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction
from threading import Lock
from typing import Any

from sqlalchemy import func, insert, select
from sqlalchemy.engine import Connection

from collop.carcass import combine_yields
from collop.chalk.pace import DayOfSales, pace_seen
from collop.errors import BadValue, NotFound
from collop.measures import Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.learning_model import CuttingTest, LearnedCut
from collop.shop.model import Settings
from collop.shop.sales import WEEKS, Line, lines_of, sales_by_day, unit_text
from collop.shop.stock import stock_sums
from collop.shop.tables import bookings, case_lines, ledger_entries, lots, slips
from collop.shop.week_tables import cutting_tests

__all__ = [
    "WORTH", "SeenPace", "days_at_the_glass", "learned_cut", "learned_shares", "load_tests", "note_test",
    "pace_problem", "seen_pace", "take_test_back",
]  # fmt: skip

#: How many cutting tests the written boneless share is worth: a figure of ours.
WORTH = 4
_LONGEST = 200
_NEWEST = 60
#: Less than this left at night, in counts, and a line counts as sold out: a tenth of a pound.
_EMPTY = 4_535_923_700
_MOST_KEPT = 32
_LOCK = Lock()
_KEPT: dict[
    tuple[str, date, int, int | None], Mapping[str, tuple[tuple[date, DayOfSales], ...]]
] = {}
_LB = WeightUnit.LB


def note_test(
    act: Act,
    case_id: str,
    weights: tuple[Weight, Weight],
    *,
    words: str = "",
    lot_id: str | None = None,
    work_number: int | None = None,
) -> int:
    """Write a cutting test of a line: bone-in weight before the knife, boneless weight after it.

    Raises
    ------
    BadValue
        If nothing was left, or more than there was before.
    NotFound
        If there is no such line or lot.
    """
    before, after = weights
    if not Weight.zero() < after <= before:
        raise BadValue(
            f"After the knife {after.text()} of {before.text()} is left; weigh both again.",
            where="after",
        )
    if len(words) > _LONGEST:
        raise BadValue(f"The word is longer than {_LONGEST} characters.", where="words")
    if act.conn.execute(select(case_lines.c.id).where(case_lines.c.id == case_id)).first() is None:
        raise NotFound(f"There is no case line {case_id[:40]!r}; look at the case again.",
                       where="case_id")  # fmt: skip
    known = lot_id is None or act.conn.execute(select(lots.c.id).where(lots.c.id == lot_id)).first()
    if not known:
        raise NotFound(f"There is no lot {str(lot_id)[:60]!r}; leave it out.", where="lot")
    number: int = (act.conn.scalar(select(func.max(cutting_tests.c.number))) or 0) + 1
    act.conn.execute(
        insert(cutting_tests).values(
            number=number, case_id=case_id, before=before.count, after=after.count,
            unit=before.unit.value, lot_id=lot_id, work_number=work_number, words=words.strip(),
            at=act.at, by_id=act.by, key=act.key,
        )
    )  # fmt: skip
    return number


def take_test_back(act: Act, number: int) -> None:
    """Take a cutting test back by a further row.

    Raises
    ------
    NotFound
        If there is none of that number, or it is taken back already.
    """
    table = cutting_tests.c
    row = act.conn.execute(select(cutting_tests).where(table.number == number)).first()
    undone = select(table.number).where(table.takes_back == number)
    if row is None or row.takes_back or act.conn.execute(undone).first():
        raise NotFound(f"There is no cutting test {number} to take back.", where="number")
    act.conn.execute(
        insert(cutting_tests).values(
            case_id=row.case_id, before=row.before, after=row.after, unit=row.unit,
            lot_id=row.lot_id, work_number=row.work_number, words="taken back", takes_back=number,
            at=act.at, by_id=act.by, key=act.key,
        )
    )  # fmt: skip


def load_tests(conn: Connection, case_id: str | None = None) -> tuple[CuttingTest, ...]:
    """Return the newest cutting tests, newest first; of one line if it is named."""
    table = cutting_tests.c
    undone = set(conn.scalars(select(table.takes_back).where(table.takes_back.is_not(None))))
    query = (
        select(cutting_tests, case_lines.c.name)
        .join(case_lines, case_lines.c.id == table.case_id)
        .where(table.takes_back.is_(None))
        .order_by(table.number.desc())
        .limit(_NEWEST)
    )
    if case_id is not None:
        query = query.where(table.case_id == case_id)
    return tuple(
        CuttingTest(
            row.number, row.case_id, row.name, Weight(row.before, WeightUnit(row.unit)),
            Weight(row.after, WeightUnit(row.unit)), row.lot_id, row.words, row.at, row.by_id,
            row.number in undone,
        )
        for row in conn.execute(query)
    )  # fmt: skip


def learned_cut(line: Line, tests: Sequence[CuttingTest]) -> LearnedCut:
    """Return the boneless share of a line with its standing tests in it, to three places.

    Parameters
    ----------
    line : Line
        With the share that is written down; of 0 or 1 there is nothing to learn.
    tests : sequence of CuttingTest
        Any; those of other lines and those taken back are left out.
    """
    standing = [one for one in tests if one.case_id == line.id and not one.is_taken_back]
    if not standing or not 0 < line.boneless < 1:
        return LearnedCut(line.id, line.name, line.boneless, line.boneless, None, 0, {})
    written = float(line.boneless)
    plan: dict[str, Any] = combine_yields(
        {
            "schema": "collop.yields/1", "name": line.name,
            "published": {"shares": {"boneless": written, "bone and trim": 1 - written},
                          "worth": WORTH, "source": "as written down for the line"},
            "tests": [_test(one) for one in reversed(standing)],
        }
    )  # fmt: skip
    told = {one["part"]: one for one in plan["parts"]}["boneless"]
    share = Decimal(str(told["share"])).quantize(Decimal("0.001"))
    return LearnedCut(line.id, line.name, line.boneless, share, told["sd"], len(standing), plan)


def _test(one: CuttingTest) -> dict[str, Any]:
    gone = Weight(one.before.count - one.after.count, one.before.unit)
    weights = {"boneless": one.after, "bone and trim": gone}
    return {
        "label": f"{one.at:%Y-%m-%d} {one.number}", "unit": "lb",
        "weights": {name: str(weight.decimal(_LB, 3)) for name, weight in weights.items()},
    }  # fmt: skip


def learned_shares(conn: Connection, lines: Mapping[str, Line]) -> dict[str, Decimal]:
    """Return the boneless share of the lines that have a standing cutting test, by their id."""
    tests = load_tests(conn)
    told = {one.case_id for one in tests if not one.is_taken_back} & lines.keys()
    return {case_id: learned_cut(lines[case_id], tests).learned for case_id in told}


def days_at_the_glass(conn: Connection, since: date, until: date) -> frozenset[date]:
    """Return the days on which sales at the glass were written, from `since` up to `until`.

    On other days the till was not used, so that no sale means nothing.
    """
    query = (
        select(func.date(slips.c.at))
        .join(bookings, bookings.c.number == slips.c.booking_number)
        .where(
            bookings.c.kind == "counter",
            slips.c.at >= datetime.combine(since, time.min),
            slips.c.at < datetime.combine(until, time.min),
        )
        .distinct()
    )
    return frozenset(
        date.fromisoformat(day) if isinstance(day, str) else day for day in conn.scalars(query)
    )


@dataclass(frozen=True, slots=True)
class SeenPace:
    """Days of sales by line, in counts, on days on which the till was used; and sold-out days."""

    lines: Mapping[str, Line]
    days: Mapping[str, tuple[tuple[date, DayOfSales], ...]]

    def pace(self, case_id: str) -> Fraction | None:
        """Return what a line sells on an open day, in counts; None if nothing tells."""
        usual = self.lines[case_id].usual
        seen = [one for _, one in self.days.get(case_id, ())]
        return pace_seen(None if usual is None else Fraction(usual.count), seen)


def seen_pace(conn: Connection, today: date, chosen: Settings, weeks: int = WEEKS) -> SeenPace:
    """Return what every line sold, day by day, before `today`."""
    newest = conn.scalar(select(func.max(slips.c.number)))
    # days that are over do not change, so they are read once a day
    key = (str(conn.engine.url), today, weeks, newest)
    with _LOCK:
        days = _KEPT.get(key)
    if days is None:
        days = _days_seen(conn, today, weeks)
        with _LOCK:
            if len(_KEPT) >= _MOST_KEPT:
                _KEPT.clear()
            _KEPT[key] = days
    return SeenPace(lines_of(conn, chosen), days)


def _days_seen(
    conn: Connection, today: date, weeks: int
) -> Mapping[str, tuple[tuple[date, DayOfSales], ...]]:
    since = today - timedelta(weeks=weeks)
    days = sorted(days_at_the_glass(conn, since, today))
    if not days:
        return {}
    sold: dict[str, dict[date, int]] = defaultdict(dict)
    for case_id, found in sales_by_day(conn, since=since, until=today).items():
        sold[case_id] = {one.day: one.count for one in found}
    left = _left_at_night(conn, days)
    usual = conn.execute(select(case_lines.c.id, case_lines.c.usual_per_day))
    return {
        row.id: tuple(
            (day, DayOfSales(Fraction(sold[row.id].get(day, 0)), left[day].get(row.id, 0) < _EMPTY))
            for day in days
        )
        for row in usual
        # what never sold may be made for one order only
        if row.usual_per_day is not None or sold[row.id]
    }


def _left_at_night(conn: Connection, days: Sequence[date]) -> Mapping[date, Mapping[str, int]]:
    """Return what was free of each line at the end of each day: that of now, reckoned back."""
    entry = ledger_entries.c
    sums = stock_sums(conn)
    rows = conn.execute(
        select(lots.c.case_id, func.sum(sums.c.total).label("total"))
        .join(lots, lots.c.id == sums.c.lot_id)
        .where(sums.c.place == "case", lots.c.case_id.is_not(None))
        .group_by(lots.c.case_id)
    )
    left: dict[str, int] = {row.case_id: int(row.total) for row in rows}
    day = func.date(entry.at).label("day")
    moved: dict[date, dict[str, int]] = defaultdict(dict)
    for row in conn.execute(
        select(lots.c.case_id, day, func.sum(entry.delta).label("delta"))
        .join(lots, lots.c.id == entry.lot_id)
        .where(entry.place == "case", entry.at >= datetime.combine(days[0], time.min),
               lots.c.case_id.is_not(None))
        .group_by(lots.c.case_id, day)
    ):  # fmt: skip
        on = date.fromisoformat(row.day) if isinstance(row.day, str) else row.day
        moved[on][row.case_id] = int(row.delta)
    found: dict[date, Mapping[str, int]] = {}
    for on in sorted({*moved, *days}, reverse=True):
        found[on] = dict(left)
        for case_id, delta in moved[on].items():
            left[case_id] = left.get(case_id, 0) - delta
    return found


def pace_problem(seen: SeenPace, case_id: str, chosen: Settings) -> dict[str, Any]:
    """Return the ``collop.pace/1`` problem of a line, in the shop's unit."""
    line = seen.lines[case_id]
    return {
        "schema": "collop.pace/1",
        "name": line.name,
        "unit": chosen.legal_unit.value,
        "usual": None if line.usual is None else unit_text(line.usual.count, chosen),
        "days": [
            {"day": f"{day}", "sold": unit_text(one.sold, chosen), "sold_out": one.sold_out}
            for day, one in seen.days.get(case_id, ())
        ],
    }
