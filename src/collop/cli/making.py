"""Mince lots and batches in the terminal: ``mince`` lists them, or prints the record of one."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from collop.shop import Making

__all__ = ["mince"]


@click.command()
@click.argument("code", required=False)
@DATABASE
@click.option("--batches", is_flag=True, help="List batches, not mince lots.")
@click.option("--csv", "as_csv", is_flag=True, help="Print the record as a table.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def mince(code: str | None, path: str, *, batches: bool, as_csv: bool, as_json: bool) -> None:
    """List mince lots, incomplete records on top, or print the grind record of one.

    Example: collop mince 26159-G1-01 --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        from collop.shop import making_json, making_rows
        from collop.shop.exporting import csv_text

        names = {person.id: person.name for person in shop.people()}
        making = shop.making
        if code is None:
            found = making.batches() if batches else making.mince()
            if as_json:
                tell_json({"makings": [making_json(one) for one in found]})
                return
            for line in _list(found):
                click.echo(line)
            return
        made = making.record(code)
        if as_json:
            tell_json(making_json(made))
        elif as_csv:
            header, *rows = making_rows(made, names)
            click.echo(csv_text(header, rows), nl=False)
        else:
            for line in _lines(made, names):
                click.echo(line)


def _list(found: tuple[Making, ...]) -> Iterator[str]:
    for one in found:
        mass = one.mass
        yield (
            f"{one.code:14} {one.name:30} {mass.came_in.text():>10} in {mass.out.text():>10} out"
            f"  {one.state_words}"
        )
        if one.state != "open":
            for word in one.missing:
                yield f"  missing: {word}"
    if not found:
        yield "None is on record."


def _lines(made: Making, names: dict[str, str]) -> Iterator[str]:
    late = f", written {made.at:%d %b %H:%M}" if made.is_late else ""
    by = names.get(made.by or "", "")
    yield f"{made.code}: {made.name}, {made.species}; {made.state_words}"
    yield f"Begun {made.done_at:%a %d %b %Y %H:%M}{late}{f' by {by}' if by else ''}"
    for caution in made.cautions:
        yield f"  look: {caution}"
    for one in made.fields:
        yield f"{one.rule_id or '-':6} {one.name}: {'; '.join(one.told) or 'not told'}"
        for word in one.missing:
            yield f"         missing: {word}"
    for part in made.materials:
        weight = part.weight.text() if part.weight else "not weighed"
        back = "  taken back" if part.taken_back else ""
        origin = part.carry_over_of or part.lot_id or ""
        yield f"  in   {weight:>10}  {part.what or 'name not told'}, {part.kind} {origin}{back}"
    for out in made.outputs:
        yield f"  out  {out.weight.text():>10}  {out.what}, {out.lot_id}"
    mass = made.mass
    yield (
        f"  {mass.came_in.text()} in = {mass.out.text()} out + {mass.carried.text()} carried on"
        f" + {mass.lost.text()} lost + {mass.elsewhere.text()} elsewhere + {mass.left.text()} left"
    )
    if made.keep_until is not None:
        yield f"Kept through {made.keep_until:%d %b %Y}. Your local code comes first."
