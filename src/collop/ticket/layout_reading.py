"""Reading what a drawing needs of a ticket's plan: the form, the lines, the codes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from collop.errors import BadValue
from collop.ticket.layout_model import Form, form_of
from collop.ticket.layout_rows import ELEMENTS, Line
from collop.ticket.layout_text import clean
from collop.wire import Reader

__all__ = ["Ask", "read_plan"]

_SCHEMA = "collop.ticket.plan/1"
_MOST_LINES, _MOST_CODES = 60, 6
_ORDER = {role: at for at, role in enumerate(ELEMENTS)}
_LINE = ("role", "text", "weight", "bold", "side")
_CODE = ("kind", "data", "text")


@dataclass(frozen=True, slots=True)
class Ask:
    """What is to be laid out.

    Parameters
    ----------
    form : Form
        The paper.
    lines : tuple of Line
        In the order of reading.
    codes : tuple of (kind, data)
        In their order.
    name : str
        Of the ticket, e.g. ``T12``; empty for none.
    """

    form: Form
    lines: tuple[Line, ...]
    codes: tuple[tuple[str, str], ...]
    name: str


def read_plan(plan: Mapping[str, Any]) -> Ask:
    """Return what a drawing needs of a plan.

    Raises
    ------
    BadValue
        If something of it is missing, of the wrong kind, or cannot be drawn.
    """
    if not isinstance(plan, Mapping):
        raise BadValue("A ticket's plan must be one JSON object in braces.", where="$")
    reader = Reader(dict(plan), "$", plan)
    reader.choice("schema", [_SCHEMA])
    of_form = Reader(reader.value.get("form"), "$.form", reader.value.get("form") or ())
    form = form_of(of_form.text("size"), of_form.whole("dpi", 1, 10_000))
    lines = _lines(reader)
    codes = []
    for path, value in reader.each("codes", []):
        code = Reader(value, path, _CODE)
        codes.append((code.text("kind"), code.text("data")))
    if len(codes) > _MOST_CODES:
        raise reader.fail("codes", f"has {len(codes)}; a ticket holds at most {_MOST_CODES}.")
    return Ask(form, lines, tuple(codes), str(reader.text("ticket", "")))


def _lines(reader: Reader) -> tuple[Line, ...]:
    given = list(reader.each("lines"))
    if not given:
        raise reader.fail("lines", "is empty; a ticket has at least a name and a weight.")
    if len(given) > _MOST_LINES:
        raise reader.fail("lines", f"has {len(given)}; a ticket holds at most {_MOST_LINES}.")
    lines = []
    for index, (path, value) in enumerate(given):
        one = Reader(value, path, _LINE)
        role = one.choice("role", ELEMENTS)
        text = clean(one.text("text"), ELEMENTS[role], one.where("text"))
        if not text:
            raise one.fail("text", "is empty; write it or leave the line out.")
        lines.append(Line(
            index, role, text, one.choice("weight", ["big", "plain", "small"], "plain"),
            one.flag("bold", default=False), one.choice("side", ["left", "right", "full"], "full"),
        ))  # fmt: skip
    return tuple(sorted(lines, key=lambda line: _ORDER[line.role]))
