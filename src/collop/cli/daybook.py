"""Commands of the Day Book: ``daybook`` reads it, ``cold`` writes a cold check."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING, Any
from uuid import uuid4

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from collop.shop import DayLine, DayPage, InspectorBook, Shop
    from collop.shop.day_model import DayGap

__all__ = ["cold", "daybook"]


def _day(text: str, where: str) -> date:
    from collop.errors import BadValue

    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadValue(f"{text[:20]!r} is no day; write it like 2026-06-09.",
                       where=where) from None  # fmt: skip


@click.command()
@DATABASE
@click.option("--day", default="", help="One day, like 2026-06-09; left out, today.")
@click.option("--from", "first", default="", help="First of up to 90 days.")
@click.option("--to", "last", default="", help="Last of them; left out, today.")
@click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")
@click.option("--csv", "as_table", is_flag=True, help="Print lines and gaps as a table.")
def daybook(path: str, day: str, first: str, last: str, *, as_json: bool, as_table: bool) -> None:
    """Tell what the Day Book says of a day, or of up to 90 days: gaps first.

    Example: collop daybook --db demo.db --day 2026-05-22
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        names = {person.id: person.name for person in shop.people()}
        book = _asked(shop, day, first, last)
        on = None if book is not None else shop.day.page(_day(day, "day") if day else None)
        if as_table and book is None:
            assert on is not None
            book = shop.day.inspector(on.day, on.day)
    if as_table:
        from collop.shop.day_print import as_csv

        assert book is not None
        click.echo(as_csv(book.as_rows(names)), nl=False)
    elif book is not None:
        _tell_book(book, names, as_json=as_json)
    else:
        assert on is not None
        _tell_day(on, names, as_json=as_json)


def _asked(shop: Shop, day: str, first: str, last: str) -> InspectorBook | None:
    """Return the days asked for, None if one day is."""
    if not first and not last:
        return None
    from collop.errors import BadValue

    if day:
        raise BadValue("Give --day, or --from and --to, not both.", where="day")
    if not first:
        raise BadValue("Give the first day with --from.", where="from")
    until = _day(last, "to") if last else shop.now().date()
    return shop.day.inspector(_day(first, "from"), until)


def _tell_book(book: InspectorBook, names: dict[str, str], *, as_json: bool) -> None:
    if as_json:
        tell_json({
            "from": book.first.isoformat(), "to": book.last.isoformat(),
            "open_days": book.open_days, "gaps": [_gap_json(gap) for gap in book.gaps],
            "over": [_over_json(one) for one in book.over],
            "lines": [_line_json(line, names) for lines in book.lines.values() for line in lines],
        })  # fmt: skip
        return
    click.echo(f"{book.first} to {book.last}, {book.open_days} days open")
    for text in _gap_lines(book.gaps):
        click.echo(text)
    for one in book.over:
        click.echo(f"  OVER {one.name}, {one.first:%a %-d %b %H:%M}: {one.words}")
    for lines in book.lines.values():
        for line in lines:
            click.echo(_line_text(line, names))


def _tell_day(on: DayPage, names: dict[str, str], *, as_json: bool) -> None:
    if as_json:
        tell_json({
            "day": on.day.isoformat(), "open": on.is_open,
            "due": [{"tile": tile.key, "state": tile.state, "words": tile.words,
                     "due": None if tile.due is None else tile.due.isoformat(timespec="minutes")}
                    for tile in on.tiles],
            "rounds": [{"place": one.place.id, "due": one.due.isoformat(timespec="minutes"),
                        "state": str(one.state)} for one in on.rounds],
            "gaps": [_gap_json(gap) for gap in on.gaps],
            "over": [_over_json(one) for one in on.over],
            "lines": [_line_json(line, names) for line in on.lines],
        })  # fmt: skip
        return
    click.echo(f"{on.day:%A %-d %B %Y}{'' if on.is_open else ', shut to customers'}")
    for tile in on.tiles:
        when = "" if tile.due is None else f" {tile.due:%a %-d %b %H:%M}"
        mark = "LATE " if tile.state == "late" else ""
        click.echo(f"  {tile.name:<18}{mark}{tile.state if not mark else ''}{when}: {tile.words}")
    for text in _gap_lines(on.gaps):
        click.echo(text)
    for one in on.over:
        click.echo(f"  OVER {one.name}, {one.first:%a %-d %b %H:%M}: {one.words}")
    for line in on.lines:
        click.echo(_line_text(line, names))
    if not on.lines:
        click.echo("  nothing written on this day")


def _gap_lines(gaps: tuple[DayGap, ...]) -> Iterator[str]:
    for gap in gaps:
        yield f"  GAP {gap.name}, {gap.due:%a %-d %b %H:%M}: {gap.words}"


def _line_text(line: DayLine, names: dict[str, str]) -> str:
    when = f"{line.done_at:%a %-d %b %H:%M}"
    if line.is_late:
        when = f"{when} (late entry, written {line.at:%a %-d %b %H:%M})"
    parts = [f"  {line.id:<6}{when}  {line.name}: {line.said}"]
    if line.limit:
        parts.append(f"limit {line.limit}")
    if line.is_over:
        parts.append(f"OVER; {line.action.rstrip('.')}; told {line.told}" if line.told else "OVER")
    if line.corrects:
        parts.append(f"in the place of {line.corrects}, written {line.at:%a %-d %b %H:%M}")
    if line.corrected_by:
        parts.append(f"see {line.corrected_by}")
    return ", ".join([*parts, names.get(line.by or "", "")]).rstrip(", ")


def _gap_json(gap: DayGap) -> dict[str, Any]:
    return {
        "tile": gap.tile, "name": gap.name, "due": gap.due.isoformat(timespec="minutes"),
        "words": gap.words, "entered": None if gap.entered is None else gap.entered.id,
    }  # fmt: skip


def _over_json(one: Any) -> dict[str, Any]:  # noqa: ANN401 -- an OverLimit, named late
    return {
        "name": one.name, "first": one.first.isoformat(timespec="minutes"),
        "last": one.last.isoformat(timespec="minutes"), "at_least_min": one.at_least_min,
        "at_most_min": one.at_most_min, "open": one.is_open, "words": one.words,
    }  # fmt: skip


def _line_json(line: DayLine, names: dict[str, str]) -> dict[str, Any]:
    from collop.shop.day_model import line_row

    return line_row(line, names) | {"reading_f": None if line.reading is None else str(
        line.reading.in_fahrenheit(1))}  # fmt: skip


# a freezer reads below zero: a minus is no option
@click.command(context_settings={"ignore_unknown_options": True})
@click.argument("place")
@click.argument("reading")
@DATABASE
@click.option("--by", required=True, help="Who read it.")
@click.option("--action", default="", help="What was done, if it is over its limit.")
@click.option("--told", default="", help="Who was told of it.")
@click.option("--at", "done_at", default="", help="When it was read, like 2026-06-09T08:05.")
@click.option("--key", default="", help="Sent twice with one key, it is written once.")
@click.option("--json", "as_json", is_flag=True, help="Print the line as JSON.")
def cold(  # noqa: PLR0917 -- click passes them by name
    place: str, reading: str, path: str, by: str, action: str, told: str, *, done_at: str,
    key: str, as_json: bool,
) -> None:  # fmt: skip
    """Write down what PLACE was READING at, such as 39, 39F or 3.9C.

    Example: collop cold walk-in 39F --by Kofi --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        from collop.shop import Told
        from collop.shop.day_degrees import read_degrees

        where = _place(shop, place)
        kinds = {one.id: one.kind for one in shop.day.places()}
        read = read_degrees(reading.strip(), "Reading", "F", kinds.get(where, ""))
        line = shop.day.check_cold(
            where, read, told=Told(action, told),
            done_at=_moment(done_at), by=by, key=key or uuid4().hex,
        )  # fmt: skip
        names = {person.id: person.name for person in shop.people()}
    if as_json:
        tell_json(_line_json(line, names))
    else:
        click.echo(_line_text(line, names).strip())


def _place(shop: Shop, name: str) -> str:
    """Return the id of a place named by its id or its name."""
    wanted = name.strip().casefold()
    for place in shop.day.places():
        if wanted in {place.id, place.name.casefold()}:
            return place.id
    return name


def _moment(text: str) -> Any:  # noqa: ANN401 -- a time or None
    from datetime import datetime

    from collop.errors import BadValue

    if not text:
        return None
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        raise BadValue(f"{text[:20]!r} is no time; write it like 2026-06-09T08:05.",
                       where="done_at") from None  # fmt: skip
