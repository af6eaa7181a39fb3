"""The command ``barcode``: check digits, what a code holds, and drawing one."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import click

from collop.cli.telling import one_sentence, read_text, tell_json
from collop.errors import BadValue, ProblemError

__all__ = ["barcode"]

_AS_JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON.")


def _this_year() -> int:
    return dt.datetime.now(tz=dt.UTC).year


@click.group()
def barcode() -> None:
    """Work with bar codes: check digits, verifiers, element strings, drawing.

    Example: collop barcode check-digit 629104150021
    """


@barcode.command("check-digit")
@click.argument("digits")
@_AS_JSON
def check_digit(digits: str, *, as_json: bool) -> None:
    """Work out the check digit behind 7 to 17 DIGITS.

    Example: collop barcode check-digit 629104150021
    """
    with one_sentence(as_json=as_json):
        from collop.ticket.digits import check_digit as check
        from collop.ticket.digits import full

        found = {"check_digit": check(digits), "full": full(digits)}
    if as_json:
        tell_json(found)
    else:
        click.echo(f"check digit {found['check_digit']}, whole number {found['full']}")


@barcode.command()
@click.argument("digits")
@_AS_JSON
def verifier(digits: str, *, as_json: bool) -> None:
    """Work out the verifier of a price field of 4 or 5 DIGITS.

    Example: collop barcode verifier 2875
    """
    with one_sentence(as_json=as_json):
        from collop.ticket.variable import price_verifier

        found = {"verifier": price_verifier(digits)}
    if as_json:
        tell_json(found)
    else:
        click.echo(f"verifier {found['verifier']}")


@barcode.command()
@click.argument("text")
@_AS_JSON
def decode(text: str, *, as_json: bool) -> None:
    """Read an element string TEXT: scanned, in brackets, or a web address.

    {GS} or <GS> stands for the separator.

    Example: collop barcode decode "(01)90614141000015(3103)000195"
    """
    with one_sentence(as_json=as_json):
        from collop.ticket.elements import decode as read
        from collop.ticket.elements_any import from_keyboard

        typed = from_keyboard(text)
        try:
            found = read(typed, read_in=_this_year())
        except BadValue:
            if not re.fullmatch(r"[0-9]{8}|[0-9]{12,14}", typed):
                raise
            raise BadValue(
                f"{typed} is a plain number and no element string; collop barcode read tells what"
                " it holds."
            ) from None
    if as_json:
        tell_json({"valid": True, "elements": [one.as_json() for one in found]})
        return
    for one in found:
        note = " (from memory, not checked)" if one.status == "memory" else ""
        click.echo(f"({one.ai}) {one.value}  {one.title}: {one.decoded}{note}")


@barcode.command()
@click.argument("file", default="-")
@_AS_JSON
def encode(file: str, *, as_json: bool) -> None:
    """Write an element string from a JSON object in FILE: identifier to value.

    Example: echo '{"01": "90614141000015", "3103": "000195"}' | collop barcode encode
    """
    with one_sentence(as_json=as_json):
        from collop.ticket.elements import GS
        from collop.ticket.elements import encode as write
        from collop.wire import load_json

        found = write(load_json(read_text(file)), read_in=_this_year())
    if as_json:
        tell_json(found.as_json())
    else:
        click.echo(found.element_string)
        click.echo(found.transmitted.replace(GS, "{GS}"))


@barcode.command()
@click.argument("text")
@click.option("--place", default="us", help="Whose weighed packs: us, gb, dk, de, fi, se and more.")
@_AS_JSON
def read(text: str, place: str, *, as_json: bool) -> None:
    """Tell what any code TEXT holds: a retail number, a weighed pack, an element string.

    Example: collop barcode read 200101804990
    """
    with one_sentence(as_json=as_json):
        from collop.ticket.elements_any import from_keyboard, read_code

        found = read_code(from_keyboard(text), place, read_in=_this_year())
    if as_json:
        tell_json(found.as_json())
        return
    click.echo(found.sort)
    for fact in found.facts:
        note = " (from memory, not checked)" if fact.from_memory else ""
        click.echo(f"  {fact.name}: {fact.value}{note}")


@barcode.command()
@click.argument("kind")
@click.argument("data")
@click.option("--out", required=True, help="The PNG file to write.")
@click.option("--dots", default=3, show_default=True, help="Printer dots a module.")
@click.option("--columns", type=int, help="Columns of a stacked DataBar.")
@click.option("--dpi", type=click.IntRange(50, 2400), help="Printer dots an inch.")
@_AS_JSON
def draw(
    kind: str,
    data: str,
    *,
    out: str,
    dots: int,
    columns: int | None,
    dpi: int | None,
    as_json: bool,
) -> None:
    """Draw one bar code of a KIND with DATA in whole dots, without the line under it.

    Example: collop barcode draw upc-a 200101804990 --out pack.png --dots 3
    """
    with one_sentence(as_json=as_json):
        from collop.ticket.elements_any import from_keyboard
        from collop.ticket.symbols import symbol_of
        from collop.ticket.symbols_png import symbol_png

        code = symbol_of(kind, from_keyboard(data), columns=columns)
        picture = symbol_png(code, dots, dpi=dpi)
        try:
            Path(out).write_bytes(picture)
        except OSError as error:
            raise ProblemError(f"{out} cannot be written: {error.strerror}.") from None
    size = {
        "width": (code.width + 2 * code.quiet[0]) * dots,
        "height": (code.height + 2 * code.quiet[1]) * dots,
    }
    if as_json:
        tell_json({"kind": code.kind, "data": code.data, "text": code.text, "dots": size})
    else:
        click.echo(f"{out}: {code.kind} {code.data}, {size['width']} x {size['height']} dots")
