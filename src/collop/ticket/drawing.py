"""Tickets drawn: pictures for the label printer, pages for any other, cards for a pen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from collop.errors import BadValue

__all__ = ["blank_card_pdf", "pdf", "png", "pngs"]


def png(plan: Mapping[str, Any]) -> bytes:
    """Return the first part of a ticket as a picture of the printer's dots.

    Parameters
    ----------
    plan : mapping
        A ``collop.ticket.plan/1`` object.

    Returns
    -------
    bytes
        A PNG file of one bit a dot; its further parts come from `pngs`.

    Raises
    ------
    BadValue
        If the plan does not fit its form or cannot be drawn.
    """
    return pngs(plan)[0]


def pngs(plan: Mapping[str, Any]) -> list[bytes]:
    """Return every part of a ticket as a picture, the first one first; raises as `png` does."""
    from collop.ticket.drawing_png import part_png  # noqa: PLC0415  heavy; help stays quick
    from collop.ticket.layout import layout  # noqa: PLC0415

    found = layout(plan)
    return [part_png(part, found.form) for part in found.parts]


def pdf(plans: Sequence[Mapping[str, Any]]) -> bytes:
    """Return tickets as one PDF file, a page of the form's true size for each part.

    Raises
    ------
    BadValue
        If there is no plan, or one does not fit its form or cannot be drawn.
    """
    from collop.ticket.drawing_pdf import layouts_pdf  # noqa: PLC0415  heavy; help stays quick
    from collop.ticket.layout import layout  # noqa: PLC0415

    if isinstance(plans, Mapping) or not plans:
        raise BadValue("There is no ticket to print; give a list of at least one plan.")
    return layouts_pdf([layout(plan) for plan in plans], "Tickets")


def blank_card_pdf(paper: str = "letter") -> bytes:
    """Return a sheet of four cards with a ticket's fields, for when the printer is out.

    Parameters
    ----------
    paper : str
        ``letter`` or ``a4``.

    Raises
    ------
    BadValue
        If there is no such paper.
    """
    from collop.ticket.drawing_pdf import cards_pdf  # noqa: PLC0415  heavy; help stays quick

    return cards_pdf(paper)
