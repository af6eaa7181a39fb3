"""Commands of the reckoning: ``reckoning`` of a shop, and ``drift`` of yields from a file."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import answer_file, one_sentence, tell_json

if TYPE_CHECKING:
    from collop.shop import AnimalRow, Drift, Reckoning, Statement

__all__ = ["drift", "reckoning"]

_DAY = click.DateTime(["%Y-%m-%d"])


def _plain(value: object) -> object:
    """Return money as a decimal string, a weight as pounds, and records by their fields."""
    from collop.measures import Money, Weight, WeightUnit

    if isinstance(value, Weight):
        return str(value.decimal(WeightUnit.LB, 3))
    if isinstance(value, (Money, Decimal)):
        return str(value)
    if isinstance(value, (date, datetime)):
        return value.isoformat()
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    if is_dataclass(value) and not isinstance(value, type):
        return {one.name: _plain(getattr(value, one.name)) for one in fields(value)}
    return value


def _money(money: object) -> str:
    return "not known" if money is None else f"{money}"


@click.command()
@click.argument("tag", required=False)
@DATABASE
@click.option("--since", type=_DAY, help="Only animals that came on that day or later.")
@click.option("--day", type=_DAY, help="The money on the slips of a day, by animal.")
@click.option("--week", type=_DAY, help="The money on the slips of the week of a day, by animal.")
@click.option(
    "--drift",
    "as_drift",
    is_flag=True,
    help="Yields by hand and farm; as JSON the problem, for `collop drift -`.",
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON; weights are pounds.")
def reckoning(
    tag: str | None, path: str, since: datetime | None, day: datetime | None,
    week: datetime | None, *, as_drift: bool, as_json: bool,
) -> None:  # fmt: skip
    """Tell whether each animal paid; of TAG, from cost to result; or whose the slips' money is.

    Example: collop reckoning B-41 --db demo.db
    """
    from datetime import timedelta

    from collop.errors import BadValue

    with one_sentence(as_json=as_json), open_at(path) as shop:
        if sum(one is not None for one in (tag, since, day, week, as_drift or None)) > 1:
            raise BadValue("Ask for one thing: a tag, --since, --day, --week or --drift.")
        currency, told = shop.settings().currency, shop.reckoning
        if as_drift:
            _tell_drift(told.drift(), as_json=as_json)
        elif tag is not None:
            _tell(told.animal(tag), _animal_lines, currency, as_json=as_json)
        elif day is not None:
            _tell(told.day(day.date()), _statement_lines, currency, as_json=as_json)
        elif week is not None:
            monday = week.date() - timedelta(days=week.weekday())
            _tell(told.week(monday), _statement_lines, currency, as_json=as_json)
        else:
            rows = told.animals(None if since is None else since.date())
            _tell(rows, _row_lines, currency, as_json=as_json)


def _tell_drift(found: Drift | None, *, as_json: bool) -> None:
    from collop.errors import WrongState

    if found is None:
        raise WrongState("No break has closed yet; close one on the Knife page first.")
    if as_json:
        tell_json(dict(found.problem))
        return
    for line in _drift_lines(dict(found.plan)):
        click.echo(line)
    for one in found.shorts:
        click.echo(f"Short: {one.name} of {one.booking_id}, {one.short.text()}, {one.reason}.")


def _tell(
    found: Any, lines: Callable[[Any], Iterator[str]], currency: str, *, as_json: bool  # noqa: ANN401
) -> None:  # fmt: skip
    if not as_json:
        for line in lines(found):
            click.echo(line)
        return
    plain = _plain(found)
    body = plain if isinstance(plain, dict) else {"animals": plain}
    if hasattr(found, "closes"):
        body |= {"closes": found.closes}
    tell_json({"currency": currency, "unit": "lb", **body})


def _row_lines(rows: tuple[AnimalRow, ...]) -> Iterator[str]:
    if not rows:
        yield "No animal came then."
        return
    names = ("cost", "to air", "sold", "left", "so far", "if sold")
    yield f"{'animal':<12}" + "".join(f"{one:>12}" for one in names)
    for row in rows:
        cells = (row.cost, row.air.text(), row.sold, row.left_board, row.result, row.if_sold)
        yield f"{row.tag:<12}" + "".join(f"{_money(one):>12}" for one in cells)


def _animal_lines(found: Reckoning) -> Iterator[str]:
    row = found.row
    yield f"{row.tag}, {row.species}, {row.farm or 'farm not told'}, {row.state}"
    for bar in found.bars:
        weight = bar.weight.text() if bar.weight is not None else ""
        if bar.kind == "result":
            yield f"= {bar.name:<34}{'':>14}{'':>12}{bar.end!s:>12}"
        else:
            yield f"  {bar.name:<34.34}{weight:>14}{bar.amount!s:>12}{bar.end!s:>12}"
    yield from found.say
    for note in row.notes:
        yield f"Assumed: {note}"


def _statement_lines(told: Statement) -> Iterator[str]:
    days = f"{told.first}" if told.first == told.last else f"{told.first} to {told.last}"
    yield f"Money on slips, {days}"
    for one in told.animals:
        yield f"  {one.tag:<24}{one.weight.text():>14}{one.money!s:>12}"
    yield f"  {'of no animal':<24}{'':>14}{told.rest!s:>12}"
    yield f"  {'together':<24}{'':>14}{told.total!s:>12}"
    verdict = "Closes to the cent" if told.closes else "DOES NOT CLOSE"
    yield f"{verdict}: slips {told.slips}, given back {told.returned}."


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def drift(file: str, *, as_json: bool) -> None:
    """Tell whether hands or farms give other yields, or chance, from FILE (- for standard input).

    Example: collop drift docs/examples/drift.json
    """

    def solve() -> Callable[[object], dict[str, Any]]:
        from collop.carcass.drifting import drift as compare

        return compare

    answer_file(file, solve, _drift_lines, as_json=as_json)


def _drift_lines(plan: dict[str, Any]) -> Iterator[str]:
    if plan["name"]:
        yield plan["name"]
    yield from plan["say"]
    for one in plan["compared"]:
        if one["part"] is None:
            yield f"  {one['say']}"
    for one in plan["same"]:
        yield f"  {one['say']}"
    for one in plan["not_compared"]:
        yield f"  {one['style']}, by {one['factor']}: {one['why']}"
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"
