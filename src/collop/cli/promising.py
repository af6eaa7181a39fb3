"""Commands on dates: ``freeby``, what may be promised; ``pickups`` with the feed; ``reminders``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from datetime import datetime

    from collop.measures import Weight
    from collop.shop import FreeBy, PromiseAnswer

__all__ = ["freeby", "pickups", "reminders"]

_DAY = click.DateTime(formats=["%Y-%m-%d"])


def _text(weight: Weight) -> str:
    """Return a weight in its unit, cut off at two decimals."""
    from collop.measures import Weight as Exact

    step = Exact.of("0.01", weight.unit).count
    return str(Exact(weight.count // step * step, weight.unit).decimal(weight.unit, 2))


def _free_json(one: FreeBy) -> dict[str, Any]:
    from collop.measures import Weight

    weights = {
        name: _text(getattr(one, name))
        for name in ("weight", "case", "thaw", "plan", "rail", "wanted")
    }
    parts = [
        {"part": part.part, "weight": _text(part.weight), "words": part.words} for part in one.parts
    ]
    others = [
        {"who": other.who, "day": other.day.isoformat(), "unit": one.weight.unit.value,
         "weight": _text(Weight(other.weight.count, one.weight.unit))}
        for other in one.others
    ]  # fmt: skip
    return {
        "case_id": one.case_id, "name": one.name, "unit": one.weight.unit.value, **weights,
        "parts": parts, "others": others, "why_none": one.why_none,
    }  # fmt: skip


def _answer_json(one: PromiseAnswer) -> dict[str, Any]:
    return {
        "case_id": one.case_id, "day": one.day.isoformat(), "asked": _text(one.weight),
        "unit": one.most.unit.value, "yes": one.is_yes, "most": _text(one.most),
        "other_day": None if one.other_day is None else one.other_day.isoformat(),
        "cousin": one.cousin, "say": one.say,
    }  # fmt: skip


@click.command()
@click.argument("day", type=_DAY)
@DATABASE
@click.option("--line", "case_id", help="One line of the case, such as C02.")
@click.option("--weight", help="How much is asked of that line, such as 6 or 2.2kg.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def freeby(
    day: datetime, path: str, case_id: str | None, weight: str | None, *, as_json: bool
) -> None:
    """Tell what may be promised for DAY: of the case, or the answer to one wish.

    Example: collop freeby 2026-06-13 --line C02 --weight 6 --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        on = day.date()
        answer = None
        if weight is not None:
            from collop.errors import BadValue
            from collop.measures.weight import parse_weight

            if case_id is None:
                raise BadValue("Name the line that is asked for with --line.", where="line")
            asked = parse_weight(weight, shop.settings().legal_unit)
            answer = shop.promising.answer(on, case_id, asked)
        found = shop.promising.free_by(on, case_id)
    if as_json:
        rows = [_free_json(one) for one in found]
        more = {} if answer is None else {"answer": _answer_json(answer)}
        tell_json({"day": on.isoformat(), "lines": rows, **more})
        return
    if answer is not None:
        click.echo(answer.say)
        return
    click.echo(f"Free by {on:%A} {on.day} {on:%B}")
    for one in found:
        words = "; ".join(dict.fromkeys(part.words for part in one.parts)) or one.why_none
        click.echo(f"{one.case_id:<5}{one.name:<30.30}{_text(one.weight):>8} {one.weight.unit}"
                   f"  {words}".rstrip())  # fmt: skip


@click.command()
@DATABASE
@click.option("--ics", "file", help="Write the feed of pick-ups there, - for standard output.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def pickups(path: str, file: str | None, *, as_json: bool) -> None:
    """Tell the pick-ups of the coming fortnight, or write them as iCalendar text.

    Example: collop pickups --ics pickups.ics --db demo.db
    """
    from datetime import timedelta

    with one_sentence(as_json=as_json), open_at(path) as shop:
        today = shop.now().date()
        found = [
            one for one in shop.bookings(today, today + timedelta(days=14)) if one.state.holds
        ]  # fmt: skip
        feed = shop.promising.calendar() if file is not None else b""
        if file is not None:
            _write(file, feed)
    if file == "-":
        return
    rows = [
        {"booking": one.id, "name": one.name, "collect_at": one.collect_at.isoformat(),
         "heads": one.heads, "state": str(one.state), "total": str(one.total)}
        for one in found
    ]  # fmt: skip
    if as_json:
        tell_json({"pickups": rows, **({} if file is None else {"ics": file})})
        return
    for one in found:
        click.echo(f"{one.collect_at:%a %d %b %H:%M}  {one.id:<5}{one.name:<34.34}{one.state:<8}"
                   f"{one.total!s:>9}")  # fmt: skip
    if file is not None:
        click.echo(f"{file} holds the feed of pick-ups.")


def _write(file: str, feed: bytes) -> None:
    import sys

    from collop.errors import ProblemError

    if file == "-":
        sys.stdout.buffer.write(feed)
        return
    try:
        Path(file).write_bytes(feed)
    except OSError as error:
        raise ProblemError(
            f"{file} cannot be written: {error.strerror}; choose another name."
        ) from None


@click.command()
@DATABASE
@click.option("--day", type=_DAY, help="Day of the pick-ups, by default today.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def reminders(path: str, day: datetime | None, *, as_json: bool) -> None:
    """Tell what to say to whom about pick-ups of a day and the next open one.

    Example: collop reminders --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        found = shop.promising.reminders(None if day is None else day.date())
    if as_json:
        rows = [
            {"kind": one.kind, "booking": one.booking_id, "name": one.name,
             "phone_end": one.phone_end, "collect_at": one.at.isoformat(), "say": one.say}
            for one in found
        ]  # fmt: skip
        tell_json({"reminders": rows})
        return
    if not found:
        click.echo("Nobody is to be told anything.")
    for one in found:
        click.echo(f"{one.booking_id:<5}{one.phone_end:<5}{one.kind:<9}{one.say}")
