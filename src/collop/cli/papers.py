"""``papers``: the paper set of a day as a PDF file."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from collop.shop.papers_drawing import Page

__all__ = ["papers", "written"]

_KINDS = ("bench", "board", "bookings", "cold", "orders", "sales")


def written(path: str, data: bytes) -> None:
    """Write a file, whole or not at all, or raise `StorageTrouble` with one sentence."""
    import os

    from collop.errors import StorageTrouble

    target = Path(path)
    making = target.with_name(f"{target.name}.making-{os.getpid()}")
    try:
        making.write_bytes(data)
        making.replace(target)
    except OSError as error:
        making.unlink(missing_ok=True)
        raise StorageTrouble(f"{path} cannot be written: {error.strerror}.") from None


@click.command()
@DATABASE
@click.option("--day", default="", help="Like 2026-06-09; left out, today.")
@click.option("--sheet", "kinds", multiple=True, type=click.Choice(_KINDS), help="Only these.")
@click.option("--paper", type=click.Choice(["letter", "a4"]), default="letter", show_default=True)
@click.option("--pdf", "to", default="", help="File to write; left out, the sheets are told.")
@click.option("--json", "as_json", is_flag=True, help="Tell the sheets as JSON.")
def papers(
    path: str, day: str, kinds: tuple[str, ...], paper: str, to: str, *, as_json: bool
) -> None:  # fmt: skip
    """Print the day on paper: bench list, board, bookings, cold checks, order pad, sales.

    Example: collop papers --db demo.db --pdf papers.pdf
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        from collop.shop.papers_sheets import paper_pages, papers_pdf

        on = shop.papers.day(_day(day) if day else None)
        wanted = kinds or _KINDS
        pages = paper_pages(on, wanted, paper)
        if to:
            written(to, papers_pdf(on, wanted, paper))
    if as_json:
        tell_json({"day": on.day.isoformat(), "as_of": on.at.isoformat(timespec="minutes"),
                   "paper": paper, "sheets": [page.sheet for page in pages],
                   "file": to or None})  # fmt: skip
        return
    _tell(pages, to, f"{on.day:%A %-d %B %Y}, as of {on.at:%H:%M}")


def _tell(pages: list[Page], to: str, day: str) -> None:
    click.echo(day)
    for page in pages:
        click.echo(f"  {page.sheet}")
    click.echo(f"{len(pages)} pages in {to}." if to else f"{len(pages)} pages; --pdf FILE writes.")


def _day(text: str) -> date:
    from collop.errors import BadValue

    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadValue(f"{text[:20]!r} is no day; write it like 2026-06-09.",
                       where="day") from None  # fmt: skip
