"""What the pages of tickets show: elements with their rules, pictures, pages."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fastapi.responses import Response

from collop.errors import NotFound
from collop.reference import FROM_MEMORY

__all__ = ["Checked", "elements_of", "names_of", "parts_of", "pdf_answer", "png_answer"]

_MOST_PARTS = 20


@dataclass(frozen=True, slots=True)
class Checked:
    """One element of a label: what it says, and the rules that ask for it."""

    name: str
    words: str
    rules: tuple[tuple[str, str], ...]
    from_memory: bool


def elements_of(plan: Mapping[str, Any]) -> tuple[Checked, ...]:
    """Return the elements of a plan, each once, with all its rules."""
    found: dict[tuple[str, str], list[Mapping[str, Any]]] = {}
    for row in plan["elements"]:
        found.setdefault((row["element"], row["words"]), []).append(row)
    return tuple(
        Checked(name, words, tuple((row["rule"], _source(row)) for row in rows),
                all(row["status"] == "memory" for row in rows))
        for (name, words), rows in found.items()
    )  # fmt: skip


def names_of(plan: Mapping[str, Any]) -> tuple[str, ...]:
    """Return the names of the elements of a plan, each once; parts of one element are left out."""
    names = dict.fromkeys(str(row["element"]) for row in plan["elements"])
    return tuple(name for name in names if ": " not in name)


def _source(row: Mapping[str, Any]) -> str:
    source = str(row["source"])
    if row["status"] == "memory" and row["rule"] and FROM_MEMORY not in source:
        return f"{source}; {FROM_MEMORY}"
    return source


def parts_of(plan: Mapping[str, Any]) -> int:
    """Return on how many labels a ticket stands."""
    from collop.ticket.layout import layout  # noqa: PLC0415 -- fonts are read when first asked

    return len(layout(plan).parts)


def png_answer(plan: Mapping[str, Any], part: str, *, name: str = "") -> Response:
    """Return one part of a ticket as a picture of the printer's dots.

    Parameters
    ----------
    plan : mapping
        A ``collop.ticket.plan/1`` object.
    part : str
        Its number, from 1 on.
    name : str
        Of the file, where it is to be kept.

    Raises
    ------
    NotFound
        If there is no such part.
    """
    from collop.ticket import pngs  # noqa: PLC0415 -- drawing is heavy

    found = pngs(plan)
    known = {str(number): made for number, made in enumerate(found[:_MOST_PARTS], 1)}
    if part not in known:
        raise NotFound(f"The ticket has {len(found)} parts; there is no part {part[:10]!r}.")
    return _file(known[part], "image/png", f"{name}-{part}.png" if name else "")


def pdf_answer(plans: Iterable[Mapping[str, Any]], name: str) -> Response:
    """Return tickets as pages at their true size."""
    from collop.ticket import pdf  # noqa: PLC0415 -- drawing is heavy

    wanted: Sequence[Mapping[str, Any]] = list(plans)
    if not wanted:
        raise NotFound("There is no ticket to print; print one first.")
    return _file(pdf(wanted), "application/pdf", f"{name}.pdf")


def _file(made: bytes, kind: str, name: str) -> Response:
    headers = {"Cache-Control": "no-store"}
    if name:
        headers["Content-Disposition"] = f'inline; filename="{name}"'
    return Response(made, media_type=kind, headers=headers)
