"""``export`` and ``import``: everything in one file, and lists people keep in a spreadsheet."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

import click

from collop.cli.papers import written
from collop.cli.shop import DATABASE, address_of, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from collop.shop.csv_model import ListChanges

__all__ = ["export", "import_"]

_LISTS = ("case", "board", "bookings", "standing", "people", "sales")


@click.command()
@DATABASE
@click.option("--to", default="", help="File to write: a zip, or of a list a CSV file.")
@click.option("--list", "name", type=click.Choice(_LISTS), help="One list for a spreadsheet.")
def export(path: str, to: str, name: str | None) -> None:
    """Write everything the shop keeps to one zip, or one list as CSV (printed without --to).

    Example: collop export --db demo.db --to demo.zip
    """
    with one_sentence(as_json=False), open_at(path) as shop:
        if name is None and not to:
            from collop.errors import BadValue

            raise BadValue("Give the file with --to, or a list with --list.", where="to")
        data = shop.exchange.export() if name is None else shop.exchange.list_out(name).encode()
        if to:
            written(to, data)
    if not to:
        sys.stdout.write(data.decode())
        return
    click.echo(f"{to}: {len(data):,} bytes.")


@click.command("import")
@click.argument("file", type=click.Path(allow_dash=True))
@DATABASE
@click.option("--list", "name", type=click.Choice(_LISTS), help="The file is this list.")
@click.option("--by", default="", help="Who brings the list in.")
@click.option("--why", default="", help="Why, where a price jumps or is under its cost.")
@click.option("--write", is_flag=True, help="Do it; without, the list is only tried.")
@click.option("--json", "as_json", is_flag=True, help="Tell it as JSON.")
def import_(
    file: str, path: str, name: str | None, by: str, why: str, *, write: bool, as_json: bool
) -> None:  # fmt: skip
    """Make a new shop from an exported zip, or bring a list into a shop: all of it or nothing.

    A list is first only tried, and what it would change is told; --write does it.

    Example: collop import demo.zip --db copy.db
    """
    with one_sentence(as_json=as_json):
        data = _read(file)
        if name is None:
            from collop.shop.exchange_loading import import_zip

            rows = import_zip(data, address_of(path))
        else:
            with open_at(path) as shop:
                found = shop.exchange.list_in(name, data, by=by, key=uuid4().hex, why=why,
                                              write=write)  # fmt: skip
    if name is None:
        if as_json:
            tell_json({"rows": rows, "file": path})
        else:
            click.echo(f"{path} is made: {sum(rows.values()):,} rows in {len(rows)} tables.")
        return
    _tell(found, as_json=as_json)


def _tell(found: ListChanges, *, as_json: bool) -> None:
    if as_json:
        tell_json({
            "list": found.name, "rows": found.rows, "say": found.say, "written": found.is_written,
            "changes": [{"row": one.row, "kind": one.kind, "name": one.name, "words": one.words}
                        for one in found.changes],
        })  # fmt: skip
        return
    for one in found.changes:
        click.echo(f"  row {one.row}: {one.kind}, {one.name}, {one.words}")
    tried = "" if found.is_written or not found.changes else " Only tried; --write does it."
    click.echo(f"{found.say}{tried}")


def _read(file: str) -> bytes:
    from collop.errors import StorageTrouble

    if file == "-":
        return sys.stdin.buffer.read()
    try:
        return Path(file).read_bytes()
    except OSError as error:
        raise StorageTrouble(f"{file} cannot be read: {error.strerror}.") from None
