"""Command ``ticket``: a label checked, and drawn for the printer or as a page."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from collop.cli.telling import one_sentence, read_text, tell_json
from collop.errors import ProblemError

__all__ = ["ticket"]

Plan = dict[str, Any]


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
@click.option("--png", "png_file", metavar="OUT", help="Draw it at the printer's dots; of several "
              "parts the others are OUT-2 and on.")  # fmt: skip
@click.option("--pdf", "pdf_file", metavar="OUT", help="Draw it as pages of its true size.")
def ticket(file: str, *, as_json: bool, png_file: str | None, pdf_file: str | None) -> None:
    """Check a ticket from FILE (- for standard input), and draw it.

    Example: collop ticket docs/examples/ticket.json --png ticket.png
    """
    with one_sentence(as_json=as_json):
        from collop.wire import load_json

        problem = load_json(read_text(file))
        from collop.ticket import ticket as plan_of

        plan = plan_of(problem)
        written = [*_pngs(plan, png_file), *_pdf(plan, pdf_file)]
    if as_json:
        tell_json(plan)
        return
    for line in _lines(plan):
        click.echo(line)
    for name in written:
        click.echo(f"Drawn: {name}")


def _pngs(plan: Plan, out: str | None) -> Iterator[str]:
    if out is None:
        return
    from collop.ticket import pngs

    path = Path(out)
    for number, drawn in enumerate(pngs(plan), start=1):
        part = path if number == 1 else path.with_name(f"{path.stem}-{number}{path.suffix}")
        yield _write(part, drawn)


def _pdf(plan: Plan, out: str | None) -> Iterator[str]:
    if out is None:
        return
    from collop.ticket import pdf

    yield _write(Path(out), pdf([plan]))


def _write(path: Path, content: bytes) -> str:
    try:
        path.write_bytes(content)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "that is no file name"
        raise ProblemError(f"{path} cannot be written: {why}; choose another name.") from None
    return str(path)


def _lines(plan: Plan) -> Iterator[str]:
    form = plan["form"]
    number = f"Ticket {plan['ticket']}" if plan["ticket"] else "Ticket"
    yield f"{number}, {form['size']}, {form['width_dots']} x {form['height_dots']} dots"
    for line in plan["lines"]:
        yield f"  {line['text']}"
    for code in plan["codes"]:
        yield f"  [{code['kind']}] {code['data']}"
    yield "Asked for by:"
    told: dict[str, list[str]] = {}
    for element in plan["elements"]:
        mark = " (from memory, not checked)" if element["status"] == "memory" else ""
        rule = f"{element['rule']}{mark}" if element["rule"] else element["source"]
        told.setdefault(element["element"], []).append(rule)
    for element, rules in told.items():
        yield f"  {element:<30}{', '.join(rules)}"
    for caution in plan["cautions"]:
        yield f"Heed: {caution}"
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"
