"""Commands of the end of the day: ``lockup``, the shop's sheet, and ``counting``, from a file."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import answer_file, one_sentence, tell_json

if TYPE_CHECKING:
    from datetime import datetime

    from collop.measures import Weight
    from collop.shop import LockedLine, LockLine, LockUp

__all__ = ["counting", "lockup"]

Plan = dict[str, Any]


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def counting(file: str, *, as_json: bool) -> None:
    """Choose what to count tonight by the money at risk, from FILE (- for standard input).

    Example: collop counting docs/examples/counting.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.chalk.counting import counting as choose

        return choose

    answer_file(file, solve, _counting_lines, as_json=as_json)


def _counting_lines(plan: Plan) -> Iterator[str]:
    if plan["name"]:
        yield plan["name"]
    for line in plan["lines"]:
        yield f"{line['at_risk']:>9}  {line['name']}: {line['say']}"
    yield f"{plan['covered']:>9}  of {plan['at_risk']} at risk; {_left(len(plan['rest']))}"
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"


def _left(count: int) -> str:
    return f"{count} {'line' if count == 1 else 'lines'} left out"


def _text(weight: Weight | None, sheet: LockUp) -> str | None:
    from collop.measures import WeightUnit

    unit = WeightUnit(sheet.problem["unit"])
    return None if weight is None else str(weight.decimal(unit, 3))


def _entry_json(one: LockedLine, sheet: LockUp) -> Plan:
    return {
        "what": one.what,
        "expected": _text(one.expected, sheet),
        "counted": _text(one.counted, sheet),
        "weight": _text(one.weight, sheet),
        "into_case": one.into_case,
        "lot": one.lot_id,
        "why": one.why,
        "at": one.at.isoformat(),
        "by": one.by,
        "after_lock_up": one.after,
    }


def _line_json(line: LockLine, sheet: LockUp) -> Plan:
    return {
        "case_id": line.case_id,
        "name": line.name,
        "expected": _text(line.expected, sheet),
        "free": _text(line.free, sheet),
        "passes": _text(line.passes, sheet),
        "days_left": line.days_left,
        "at_risk": str(line.at_risk),
        "say": line.say,
        "skipped_before": line.is_skipped,
        "entries": [_entry_json(one, sheet) for one in line.entries],
        "ways": [
            {
                "what": way.what,
                "weight": _text(way.weight, sheet),
                "money": None if way.money is None else str(way.money),
                "say": way.no or way.say,
                "possible": not way.no,
            }
            for way in line.ways
        ],
    }


def _sheet_json(sheet: LockUp) -> Plan:
    locked = sheet.locked
    return {
        "day": sheet.day.isoformat(),
        "at": sheet.at.isoformat(),
        "unit": sheet.problem["unit"],
        "currency": sheet.problem["currency"],
        "next_open": sheet.next_open.isoformat(),
        "at_risk": str(sheet.at_risk),
        "covered": str(sheet.covered),
        "lines": [_line_json(line, sheet) for line in sheet.lines],
        "moves": [one.say for one in sheet.moves],
        "open_bookings": [one.id for one in sheet.open_bookings],
        "told_bookings": [{"booking": one.id, "word": word} for one, word in sheet.told_bookings],
        "coming": [one.id for one in sheet.coming],
        "unpaid": [{"booking": number, "open": str(money)} for number, _, money in sheet.unpaid],
        "owed": [
            {"booking": number, "to_give_back": str(money)} for number, _, money in sheet.owed
        ],
        "day_book_gaps": [f"{one.due:%H:%M} {one.name}: {one.words}" for one in sheet.gaps],
        "locked": None
        if locked is None
        else {
            "at": locked.at.isoformat(),
            "by": locked.by,
            "note": locked.note,
            "facts": dict(locked.facts),
        },
        "after_lock_up": [
            {"what": one.what, "at": one.at.isoformat(), "by": one.by} for one in sheet.after
        ],
        "assumptions": list(sheet.notes),
        "problem": dict(sheet.problem),
    }


@click.command()
@DATABASE
@click.option("--day", type=click.DateTime(["%Y-%m-%d"]), help="Today, or a day before it.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON, with the problem of the choice.")
def lockup(path: str, day: datetime | None, *, as_json: bool) -> None:
    """Tell what to count tonight, what may be done with each line, and what is still open.

    Example: collop lockup --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        sheet = shop.lockup.sheet(None if day is None else day.date())
    if as_json:
        tell_json(_sheet_json(sheet))
        return
    for line in _sheet_lines(sheet):
        click.echo(line)


def _sheet_lines(sheet: LockUp) -> Iterator[str]:
    yield f"Lock-up, {sheet.day:%a %d %b}; open next {sheet.next_open:%a %d %b}"
    if sheet.locked is not None:
        yield f"Locked {sheet.locked.at:%a %H:%M} by {sheet.locked.by or 'nobody named'}"
    for line in sheet.lines:
        counted = line.counted
        done = "" if counted is None or counted.gap is None else f", gap {counted.gap.text()}"
        first = "skipped the last time, " if line.is_skipped else ""
        yield (
            f"{line.at_risk!s:>9}  {line.case_id:5} {line.name}: {first}"
            f"{line.expected.text()} expected{done}"
        )
        for way in line.ways:
            if way.money is not None and way.money.minor > 0 and not way.no:
                yield f"{'':17}{way.say}"
    yield f"{sheet.covered!s:>9}  of {sheet.at_risk} at risk; {_left(sheet.others)}"
    yield from _still_open(sheet)
    for move in sheet.moves:
        yield f"Last mark-down: {move.say}"
    for note in sheet.notes:
        yield f"Assumed: {note}"


def _still_open(sheet: LockUp) -> Iterator[str]:
    for one in sheet.open_bookings:
        yield f"Not handed over: {one.id} {one.name}, {one.collect_at:%a %H:%M}"
    for one, word in sheet.told_bookings:
        yield f"Said to be {word}, and still on the hook: {one.id} {one.name}"
    for number, name, money in sheet.unpaid:
        yield f"Not paid: {number} {name}, {money}"
    for number, name, money in sheet.owed:
        yield f"To give back: {number} {name}, {money}"
    for gap in sheet.gaps:
        yield f"Not in the Day Book: {gap.due:%H:%M} {gap.name}: {gap.words}"
