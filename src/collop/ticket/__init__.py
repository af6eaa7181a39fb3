"""Tickets: bar codes, what must stand on a label, and drawing it in whole printer dots."""

from collop.ticket.drawing import blank_card_pdf, pdf, png, pngs
from collop.ticket.elements import (
    Element,
    ElementString,
    check_digit,
    decode,
    digital_link,
    encode,
    full,
    price_verifier,
    variable_ean,
    variable_upc,
)
from collop.ticket.kernel import ticket
from collop.ticket.symbols import KINDS, Modules, symbol_of

__all__ = [
    "KINDS",
    "Element",
    "ElementString",
    "Modules",
    "blank_card_pdf",
    "check_digit",
    "decode",
    "digital_link",
    "encode",
    "full",
    "pdf",
    "png",
    "pngs",
    "price_verifier",
    "symbol_of",
    "ticket",
    "variable_ean",
    "variable_upc",
]
