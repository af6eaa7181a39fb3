"""Command of a booking's fire sheet: ``firesheet``, in words, as JSON, or as a PDF of one page."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from collop.cli.fire import fire_lines
from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from collop.shop import FireSheet

__all__ = ["firesheet"]


@click.command()
@click.argument("booking")
@DATABASE
@click.option("--json", "as_json", is_flag=True, help="Print the sheet as JSON.")
@click.option("--pdf", "file", help="Write it to this file as a PDF of one page.")
@click.option("--paper", type=click.Choice(["letter", "a4"]), default="letter", show_default=True)
@click.option(
    "--site",
    default="",
    help="Where the shop is reached, for the code on the paper, e.g. https://shop.example.",
)
def firesheet(
    booking: str, path: str, *, as_json: bool, file: str | None, paper: str, site: str
) -> None:
    """Tell how the food of a BOOKING is cooked, so that all of it is ready in time.

    Example: collop firesheet H2 --db demo.db --pdf sheet.pdf
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        sheet = shop.fire.sheet(booking)
        if file is not None:
            _write(file, sheet, paper=paper, site=site)
    if as_json:
        tell_json(_sheet_json(sheet))
    elif file is None:
        click.echo(f"{sheet.booking_id}, collected {sheet.collect_at:%a %d %b, %H:%M}")
        for line in fire_lines(dict(sheet.plan)):
            click.echo(line)
    else:
        click.echo(f"Written: {file}")


def _sheet_json(sheet: FireSheet) -> dict[str, Any]:
    return {
        "booking": sheet.booking_id,
        "name": sheet.name,
        "collect_at": f"{sheet.collect_at:%Y-%m-%dT%H:%M}",
        "path": f"/fire/{sheet.token}",
        "problem": dict(sheet.problem),
        "plan": dict(sheet.plan),
    }


def _write(file: str, sheet: FireSheet, *, paper: str, site: str) -> None:
    from collop.errors import ProblemError
    from collop.fire.paper import fire_pdf

    about = {"paper": paper}
    if site:
        about["address"] = f"{site.rstrip('/')}/fire/{sheet.token}"
    made = fire_pdf(dict(sheet.plan), about)
    try:
        Path(file).write_bytes(made)
    except OSError as error:
        raise ProblemError(f"{file} cannot be written: {error.strerror}; choose another name.",
                           where="pdf") from None  # fmt: skip
