"""Reading the form of a ticket, and what a device remembers of its printer and its scale."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from fastapi import Request
from fastapi.responses import Response

from collop.errors import BadValue
from collop.measures import Weight, WeightUnit
from collop.rules.weighing_scale import check_capacity, check_division, weight_text
from collop.shop import NO_PACKING, NewTicket, Scale
from collop.shop.ticket_problem import usual_scale
from collop.ticket.layout_model import FORMS
from collop.ticket.symbols import KINDS
from collop.web.cookies import keep_setting
from collop.web.forms import Faults, Fields, read_choice
from collop.web.knife_reading import read_weight

if TYPE_CHECKING:
    from collop.shop import TicketDraft

__all__ = ["CODE_WORDS", "PRINTER_COOKIE", "SIZE_WORDS", "Printer", "again_with", "fault_fields",
           "note_missing", "plain_fault", "printer_of", "read_new", "remember"]  # fmt: skip

PRINTER_COOKIE = "collop_printer"
#: What a device is taken to print on until it was told.
_USUAL_SIZE, _USUAL_DPI = "80x80", "203"
SIZE_WORDS = {"58x40": "58 x 40 mm", "58x60": "58 x 60 mm", "80x50": "80 x 50 mm",
              "80x80": "80 x 80 mm", "4x6": "4 x 6 in"}  # fmt: skip
CODE_WORDS = {
    "upc-a": "till code with the price (UPC-A)", "ean-13": "till code with the price (EAN-13)",
    "databar-expanded-stacked": "weight, price, day and lot (DataBar)",
    "gs1-128": "weight, price, day and lot (GS1-128)",
    "gs1-datamatrix": "the same as DataMatrix", "gs1-qr": "the same as QR",
    "datamatrix": "ticket and lot (DataMatrix)", "qr": "ticket and lot (QR)",
}  # fmt: skip
_DPIS = ("203", "300")
# fields of the form that carry a ticket from one page to the next
_CARRIED = ("case", "gross", "lot", "other_lot", "tare", "booking_line", "size", "dpi", "division",
            "capacity", "codes_told", "codes", "by")  # fmt: skip
#: What a missing element is called on the form.
_FIELD = {"weight": "gross", "lot": "lot", "tare": "tare"}
_FAULTS = {"gross", "lot", "tare", "size", "codes", "division", "capacity", "booking_line"}


@dataclass(frozen=True, slots=True)
class Printer:
    """What this device prints on and weighs with: form, dots per inch, plate of the scale."""

    size: str = _USUAL_SIZE
    dpi: str = _USUAL_DPI
    division: str = ""
    capacity: str = ""

    def kept(self) -> str:
        """Return it as a cookie holds it."""
        return f"{self.size}|{self.dpi}|{self.division}|{self.capacity}"


def printer_of(request: Request, fields: Fields, unit: WeightUnit) -> Printer:
    """Return what the form says, else what the device was told last, else the usual."""
    kept = request.cookies.get(PRINTER_COOKIE, "").split("|")
    known = len(kept) == 4 and kept[0] in FORMS and kept[1] in _DPIS
    before = Printer(*kept) if known else Printer()
    plate = usual_scale(unit)
    return Printer(
        size=fields.one("size", before.size),
        dpi=fields.one("dpi", before.dpi),
        division=fields.one("division", before.division) or _figure(plate.division),
        capacity=fields.one("capacity", before.capacity) or _figure(plate.capacity),
    )


def _figure(weight: Weight) -> str:
    return weight_text(weight).partition(" ")[0]


def remember(response: Response, printer: Printer) -> None:
    """Let the device remember its printer and its scale."""
    keep_setting(response, PRINTER_COOKIE, printer.kept())


@dataclass(slots=True)
class _Reading:
    """A form as it is read: its faults, and the printer it names."""

    fields: Fields
    printer: Printer
    unit: WeightUnit
    faults: Faults = field(default_factory=Faults)

    def scale(self) -> Scale:
        """Return the plate of the scale."""
        division = self._plate("division", "Step of the scale", self.printer.division)
        capacity = self._plate("capacity", "Most the scale weighs", self.printer.capacity)
        scale = Scale(division, capacity)
        for name, check in (("division", lambda: check_division(division)),
                            ("capacity", lambda: check_capacity(capacity, division))):  # fmt: skip
            self.faults.take(name, check, None)
        return scale

    def _plate(self, name: str, label: str, text: str) -> Weight:
        usual: Weight = getattr(usual_scale(self.unit), name)
        return self.faults.take(name, lambda: self._own(text, label), usual)

    def _own(self, text: str, label: str) -> Weight:
        weight = read_weight(text, label, self.unit)
        if weight.unit is not self.unit:
            raise BadValue(f"{label}: tickets here are in {self.unit}; write it in {self.unit}.")
        return weight

    def gross(self) -> Weight | None:
        """Return the weight on the scale, None if it is empty."""
        text = self.fields.one("gross")
        if not text:
            return None
        return self.faults.take("gross", lambda: self._own(text, "Gross"), None)

    def codes(self) -> tuple[str, ...] | None:
        """Return the kinds of code, None for the usual ones."""
        told = tuple(dict.fromkeys(self.fields.all("codes")))
        if not told and not self.fields.one("codes_told"):
            return None
        if unknown := [kind for kind in told if kind not in KINDS]:
            known = ", ".join(KINDS)
            self.faults.add("codes", f"Codes: {unknown[0][:30]!r} is not one of {known}.")
        return told


def read_new(
    case_id: str, fields: Fields, printer: Printer, unit: WeightUnit, faults: Faults
) -> NewTicket:
    """Read the form of a ticket; what is left empty stays untold.

    Parameters
    ----------
    case_id : str
        The line it is for.
    fields : Fields
        The form.
    printer : Printer
        From `printer_of`.
    unit : WeightUnit
        The shop's legal unit: tickets are in it, whatever the device shows.
    faults : Faults
        Takes what is wrong.
    """
    reading = _Reading(fields, printer, unit, faults)
    size = faults.take("size", lambda: read_choice(printer.size, "Form", FORMS), _USUAL_SIZE)
    dpi = faults.take("size", lambda: read_choice(printer.dpi, "Dots per inch", _DPIS), _USUAL_DPI)
    return NewTicket(
        case_id=case_id, gross=reading.gross(), tare=fields.one("tare") or None,
        lot=fields.one("other_lot") or fields.one("lot") or None,
        booking_line=fields.one("booking_line") or None, size=size, dpi=int(dpi),
        codes=reading.codes(), scale=reading.scale(),
    )  # fmt: skip


def note_missing(draft: TicketDraft, faults: Faults) -> None:
    """Put what a draft lacks beside its fields; the rest beside the label's own link."""
    for one in draft.missing:
        faults.add(_FIELD.get(one.element, "facts" if one.place == "facts" else "price"), one.words)


def fault_fields(where: str) -> str:
    """Return the field a refusal shows at."""
    return where if where in _FAULTS else "facts"


def plain_fault(where: str, message: str) -> str:
    """Return a refusal as the page says it: what is wrong, and what the page can do about it."""
    if where != "codes":
        return message
    # what follows the first part names keys of the JSON problem, which the page does not have
    smaller = ", or pack it in two" if " does not fit " in message else ""
    return f"{message.partition(';')[0].rstrip('.')}; choose another code{smaller}."


def again_with(fields: Fields, **changes: str | list[str]) -> str:
    """Return the address of the same ticket with some fields changed, to be looked at."""
    pairs = [(name, text) for name in _CARRIED if name not in changes for text in fields.all(name)]
    for name, value in changes.items():
        pairs += [(name, one) for one in ([value] if isinstance(value, str) else value)]
    return f"/tickets?{urlencode([*pairs, ('do', 'look')])}"


#: The button of who sells without packing.
NONE_NEEDED = NO_PACKING
