"""Command ``tickets``: the tickets of a day, a lot or a booking, and printing one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from collop.measures import Weight
    from collop.shop import Shop, Ticket

__all__ = ["tickets"]


@click.group(invoke_without_command=True)
@DATABASE
@click.option("--lot", help="Those of a lot.")
@click.option("--booking", help="Those of a booking, such as H2.")
@click.option("--day", help="Those of a day, such as 2026-06-08; left out, of today.")
@click.option("--json", "as_json", is_flag=True, help="Print them as JSON.")
@click.pass_context
def tickets(
    context: click.Context, *, path: str, lot: str | None, booking: str | None, day: str | None,
    as_json: bool,
) -> None:  # fmt: skip
    """Tell the tickets of today, of a day, of a lot or of a booking; void ones are marked.

    Example: collop tickets --booking H2 --db demo.db
    """
    context.obj = path
    if context.invoked_subcommand is not None:
        return
    with one_sentence(as_json=as_json), open_at(path) as shop:
        found = _found(shop, lot, booking, day)
    if as_json:
        tell_json({"tickets": [_ticket_json(one) for one in found]})
        return
    for line in _lines(found):
        click.echo(line)


def _found(shop: Shop, lot: str | None, booking: str | None, day: str | None) -> tuple[Ticket, ...]:
    from datetime import date

    from collop.errors import BadValue

    if day is not None and (lot or booking):
        raise BadValue("Ask for a day, or for a lot or a booking, not for both.", where="day")
    if lot is not None or booking is not None:
        return shop.tickets.tickets_of(lot=lot, booking=booking)
    if day is None:
        return shop.tickets.today()
    try:
        return shop.tickets.on(date.fromisoformat(day))
    except ValueError:
        raise BadValue(f"{day[:20]!r} is no day; write it like 2026-06-08.", where="day") from None


def _ticket_json(one: Ticket) -> dict[str, Any]:
    unit = one.net.unit
    return {
        "ticket": one.id,
        "case_id": one.case_id,
        "name": one.name,
        "lot": one.lot,
        "booking_line": one.booking_line,
        "net": f"{one.net.decimal(unit, 3):f}",
        "tare": f"{one.tare.decimal(unit, 3):f}",
        "unit": unit.value,
        "price": f"{one.price.amount:f}",
        "price_per": one.price.per.value,
        "total": str(one.total),
        "currency": one.total.currency,
        "at": f"{one.at:%Y-%m-%dT%H:%M:%S}",
        "by": one.by,
        "printed": one.times,
        "void": None if one.void is None else {"why": one.void.why, "by": one.void.by},
    }


def _lines(found: tuple[Ticket, ...]) -> Iterator[str]:
    if not found:
        yield "No tickets."
    for one in found:
        void = f"  VOID: {one.void.why}" if one.void else ""
        what = one.booking_line or "case"
        yield (
            f"{one.id:<6}{one.at:%a %d %b %H:%M}  {one.name:<30} {one.net.text():>10}"
            f" {one.total!s:>9}  {one.lot:<12} {what:<6}{void}"
        )


@tickets.command("print")
@click.argument("case_id", metavar="CASE")
@click.option("--lot", help="The lot in the pack.")
@click.option("--gross", help="What the scale says with the packing, such as 4.87.")
@click.option("--tare", help="Name of a tare, or 'no packing'.")
@click.option("--booking-line", help="The promised line it is for, such as H2-1.")
@click.option("--form", "size", default="80x80", show_default=True, help="Form of the ticket.")
@click.option("--dpi", default="203", show_default=True, type=click.Choice(["203", "300"]))
@click.option("--code", "codes", multiple=True, help="A bar code; left out, the usual ones.")
@click.option("--by", required=True, help="Who prints it.")
@click.option("--out", "file", required=True, help="Where it is written: a .pdf or a .png file.")
@click.option("--json", "as_json", is_flag=True, help="Print the ticket as JSON.")
@click.pass_obj
def print_one(
    path: str, *, case_id: str, lot: str | None, gross: str | None, tare: str | None,
    booking_line: str | None, size: str, dpi: str, codes: tuple[str, ...], by: str, file: str,
    as_json: bool,
) -> None:  # fmt: skip
    """Print a ticket for a pack of a CASE line; it is kept with its number.

    Example: collop tickets --db demo.db print C02 --lot C02-0609 --gross 4.87 --tare "Paper and
    bag" --by ines --out ticket.pdf
    """
    import uuid

    with one_sentence(as_json=as_json):
        kind = _kind(file)
        with open_at(path) as shop:
            from collop.shop import NewTicket

            new = NewTicket(
                case_id=case_id, gross=_gross(shop, gross), tare=tare, lot=lot, size=size,
                booking_line=booking_line, dpi=int(dpi), codes=codes or None,
            )  # fmt: skip
            kept = shop.tickets.print(new, by=by, key=f"cli-{uuid.uuid4().hex}")
            written = _write(file, kind, dict(shop.tickets.plan(kept)))
    if as_json:
        tell_json(_ticket_json(kept) | {"written": written})
        return
    for line in (*_lines((kept,)), *(f"Written: {name}" for name in written)):
        click.echo(line)


def _kind(file: str) -> str:
    from collop.errors import ProblemError

    kind = Path(file).suffix.casefold()
    if kind not in {".pdf", ".png"}:
        raise ProblemError(f"{file} is neither a .pdf nor a .png file; name one.", where="out")
    if not Path(file).absolute().parent.is_dir():
        raise ProblemError(f"{file} cannot be written: there is no such folder; name another.",
                           where="out")  # fmt: skip
    return kind


def _gross(shop: Shop, text: str | None) -> Weight | None:
    from collop.measures import parse_weight

    return None if text is None else parse_weight(text, shop.settings().legal_unit)


def _write(file: str, kind: str, plan: dict[str, Any]) -> list[str]:
    """Write the ticket; of several labels the pictures are numbered from the second on."""
    from collop.errors import ProblemError
    from collop.ticket import pdf, pngs

    made = [pdf([plan])] if kind == ".pdf" else pngs(plan)
    path = Path(file)
    names = [path, *(path.with_stem(f"{path.stem}-{part}") for part in range(2, len(made) + 1))]
    for name, content in zip(names, made, strict=True):
        try:
            name.write_bytes(content)
        except OSError as error:
            raise ProblemError(f"{name} cannot be written: {error.strerror}; the ticket is kept,"
                               " print it again from its page.", where="out") from None  # fmt: skip
    return [str(name) for name in names]
