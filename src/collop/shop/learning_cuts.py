"""What the knife teaches: boneless shares from cutting tests."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from functools import lru_cache
from typing import Any

from sqlalchemy import Select, func, insert, select
from sqlalchemy.engine import Connection

from collop.carcass import combine_yields
from collop.errors import BadValue, NotFound
from collop.measures import Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.learning_model import CuttingTest, LearnedCut
from collop.shop.sales import Line
from collop.shop.store import AnyRow
from collop.shop.tables import case_lines, lots
from collop.shop.week_tables import cutting_tests

__all__ = [
    "WORTH", "learned_cut", "learned_shares", "load_tests", "note_test", "standing_tests",
    "take_test_back", "take_work_test_back",
]  # fmt: skip

#: How many cutting tests the written boneless share is worth: a figure of ours.
WORTH = 4
_LONGEST = 200
#: So many tests of a line are looked at: the newest tell how it is cut now.
_NEWEST = 60
#: Pounds are told to the kernel to so many places: a millionth.
_PLACES = 6
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


def take_work_test_back(act: Act, work_number: int) -> None:
    """Take back the cutting test a piece of work wrote, if it wrote one and it still stands."""
    table = cutting_tests.c
    query = select(table.number).where(
        table.work_number == work_number, table.takes_back.is_(None), table.number.not_in(_undone())
    )
    for number in act.conn.scalars(query).all():
        take_test_back(act, number)


def _undone() -> Select[Any]:
    """Return the numbers of the tests that were taken back."""
    return select(cutting_tests.c.takes_back).where(cutting_tests.c.takes_back.is_not(None))


def load_tests(conn: Connection, case_id: str | None = None) -> tuple[CuttingTest, ...]:
    """Return the newest cutting tests, newest first; of one line if it is named.

    They are for reading, and those that were taken back are among them; a share is learned from
    `standing_tests`.
    """
    table = cutting_tests.c
    query = (
        select(cutting_tests, case_lines.c.name)
        .join(case_lines, case_lines.c.id == table.case_id)
        .where(table.takes_back.is_(None))
        .order_by(table.number.desc())
        .limit(_NEWEST)
    )
    if case_id is not None:
        query = query.where(table.case_id == case_id)
    undone = set(conn.scalars(_undone()))
    return tuple(_test(row, is_taken_back=row.number in undone) for row in conn.execute(query))


def standing_tests(conn: Connection, case_id: str | None = None) -> tuple[CuttingTest, ...]:
    """Return the newest tests of each line that were not taken back, newest first."""
    table = cutting_tests.c
    place = func.row_number().over(partition_by=table.case_id, order_by=table.number.desc())
    stand = select(table.number, place.label("place")).where(
        table.takes_back.is_(None), table.number.not_in(_undone())
    )
    if case_id is not None:
        stand = stand.where(table.case_id == case_id)
    found = stand.subquery()
    query = (
        select(cutting_tests, case_lines.c.name)
        .join(found, found.c.number == table.number)
        .join(case_lines, case_lines.c.id == table.case_id)
        .where(found.c.place <= _NEWEST)
        .order_by(table.number.desc())
    )
    return tuple(_test(row, is_taken_back=False) for row in conn.execute(query))


def _test(row: AnyRow, *, is_taken_back: bool) -> CuttingTest:
    unit = WeightUnit(row.unit)
    return CuttingTest(
        row.number, row.case_id, row.name, Weight(row.before, unit), Weight(row.after, unit),
        row.lot_id, row.words, row.at, row.by_id, is_taken_back,
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
    plan = _combined(line.name, line.boneless, tuple(_told(one) for one in reversed(standing)))
    told = {one["part"]: one for one in plan["parts"]}["boneless"]
    share = Decimal(str(told["share"])).quantize(Decimal("0.001"))
    return LearnedCut(line.id, line.name, line.boneless, share, told["sd"], len(standing), plan)


def _told(one: CuttingTest) -> tuple[str, str, str]:
    gone = Weight(one.before.count - one.after.count, one.before.unit)
    boneless, bone = (f"{weight.decimal(_LB, _PLACES)}" for weight in (one.after, gone))
    return f"{one.at:%Y-%m-%d} {one.number}", boneless, bone


@lru_cache(maxsize=256)
def _combined(
    name: str, written: Decimal, tests: tuple[tuple[str, str, str], ...]
) -> dict[str, Any]:
    """Return the plan of the yields kernel; kept, as the case asks for it again and again."""
    published = float(written)
    plan: dict[str, Any] = combine_yields(
        {
            "schema": "collop.yields/1", "name": name,
            "published": {"shares": {"boneless": published, "bone and trim": 1 - published},
                          "worth": WORTH, "source": "as written down for the line"},
            "tests": [
                {"label": label, "unit": "lb",
                 "weights": {"boneless": boneless, "bone and trim": bone}}
                for label, boneless, bone in tests
            ],
        }
    )  # fmt: skip
    return plan


def learned_shares(conn: Connection, lines: Mapping[str, Line]) -> dict[str, Decimal]:
    """Return the boneless share of the lines that have a standing cutting test, by their id."""
    by_line: dict[str, list[CuttingTest]] = {}
    for one in standing_tests(conn):
        by_line.setdefault(one.case_id, []).append(one)
    return {
        case_id: learned_cut(lines[case_id], tests).learned
        for case_id, tests in by_line.items()
        if case_id in lines
    }
