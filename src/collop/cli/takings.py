"""Command ``takings``: the money of a day, as lines, JSON or CSV; and who pays later."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from datetime import date

    from collop.shop import OnAccount, Takings

__all__ = ["takings"]


@click.command()
@DATABASE
@click.option("--day", help="Such as 2026-06-09; left out, today.")
@click.option("--accounts", is_flag=True, help="Tell who pays later, instead.")
@click.option("--csv", "as_csv", is_flag=True, help="Print it as CSV with named columns.")
@click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")
def takings(path: str, *, day: str | None, accounts: bool, as_csv: bool, as_json: bool) -> None:
    """Tell the takings of a day: slips, tax, returns, ways of paying, deposits.

    Example: collop takings --day 2026-06-09 --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        from collop.shop.takings_export import accounts_json, takings_csv, takings_json

        if accounts:
            later = shop.money.accounts()
            if as_json:
                tell_json({"accounts": accounts_json(later)})
            else:
                _echo(_account_lines(later))
            return
        found = shop.money.takings(_day(day))
    if as_csv:
        click.echo(takings_csv(found), nl=False)
    elif as_json:
        tell_json(takings_json(found))
    else:
        _echo(_lines(found))


def _echo(lines: Iterator[str]) -> None:
    for line in lines:
        click.echo(line)


def _day(text: str | None) -> date | None:
    from datetime import date

    from collop.errors import BadValue

    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadValue(f"{text[:20]!r} is no day; write it like 2026-06-09.", where="day") from None


def _account_lines(later: tuple[OnAccount, ...]) -> Iterator[str]:
    if not later:
        yield "Nobody pays later."
    for one in later:
        yield f"{one.name:<30}{one.due!s:>12}"
        for slip in one.slips:
            yield f"  {slip.booking_id:<6}{slip.at:%a %d %b %Y}{slip.on_account!s:>16}"


def _lines(found: Takings) -> Iterator[str]:
    count = len(found.slips)
    yield f"{found.day:%A %d %B %Y}, {count} {'slip' if count == 1 else 'slips'}"
    yield f"  {'lines':<32}{found.lines!s:>12}"
    for one in found.taxes:
        yield f"  {'tax, ' + one.words:<32}{one.tax!s:>12}"
    yield f"  {'total':<32}{found.total!s:>12}"
    if found.returns:
        yield f"  {'back over the glass':<32}{found.returned!s:>12}"
    yield f"  {'net sales, without tax':<32}{found.net!s:>12}"
    for way, (came, went) in found.ways.items():
        yield f"  {way:<32}{came!s:>12} in {went!s:>10} out"
    deposits = {"taken": found.deposits_taken, "used": found.deposits_used,
                "given back": found.deposits_back, "kept": found.deposits_kept}  # fmt: skip
    for words, money in deposits.items():
        if money.minor:
            yield f"  {'deposits ' + words:<32}{money!s:>12}"
    if found.rounding.minor:
        yield f"  {'cash rounding':<32}{found.rounding!s:>12}"
    yield f"  {'cash, beside the float':<32}{found.drawer!s:>12}"
    yield from _open_lines(found)


def _open_lines(found: Takings) -> Iterator[str]:
    for slip in found.unpaid:
        yield f"Not noted as paid: {slip.booking_id} {slip.name}, {slip.open}"
    for slip in found.to_give_back:
        yield f"Still to give back: {slip.booking_id} {slip.name}, {slip.due * -1}"
    for slip in found.without_deposit:
        yield f"Deposit taken off, not noted: {slip.booking_id} {slip.name}, {slip.deposit_due}"
    for back in found.back_not_noted:
        yield f"{back.booking_id} {back.name}: {back.words}"
