"""What the pricing sheets share: their list, reading of shares and lists, filling from the shop."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any, TypeVar

from fastapi import Request
from fastapi.responses import HTMLResponse

from collop.chalk import chalk
from collop.errors import BadValue, CollopError, PlanRejected, StorageTrouble
from collop.measures import decimal_of
from collop.web.forms import Faults, Fields, read_amount
from collop.web.rendering import page
from collop.web.room import room_of
from collop.web.yields_carcass import MARKS
from collop.web.yields_sheet import Sheet

if TYPE_CHECKING:
    from collop.web.room import Room

__all__ = ["SUMS", "Filled", "Filling", "Pairs", "SumSheet", "filled_from", "fitting", "frame",
           "percent", "piece_notes", "plain", "priced", "show"]  # fmt: skip

#: What there is: address, name, and what it answers.
SUMS = (
    ("/chalk/sums/equation", "What the board must be",
     "Prices that bring an animal's cost and margin, and what pulling one of them does."),
    ("/chalk/sums/share-cost", "Share a joint cost",
     "One cost over all that came of it, four ways; for stock and write-offs."),
    ("/chalk/sums/whole", "Whole or cut",
     "The price above which a piece sells better whole than as its cuts."),
    ("/chalk/sums/mark-down", "Mark down",
     "Stock in its last days: which price now, what to grind or freeze."),
    ("/chalk/sums/put-out", "How much to put out",
     "Too few against too many, for one filling of the case."),
    ("/chalk/sums/clearing", "Clearing prices",
     "Prices and ways to cut that make all of the supply pay."),
    ("/chalk/sums/demand", "Demand of a cut",
     "How many percent fewer sell at a price one percent up."),
    ("/chalk/sums/blend", "Blend trim",
     "Trim into mince and links: how much of each bin, within the fat that may be in it."),
)  # fmt: skip

#: Names and texts of fields.
Pairs = Iterable[tuple[str, str]]
_T = TypeVar("_T")
_SPLIT = re.compile(r"[\s;]+|,\s+")
_NOTHING = re.compile(r"0{1,6}([.,]0{0,6})?")
_MOST_LISTED = 400
_PERCENT_PLACES = 6
_MONEY_PLACES = 4


class SumSheet(Sheet):
    """A sheet with shares in percent, plain numbers and lists of amounts."""

    __slots__ = ()

    def named(self, name: str, label: str, path: str, *, most: int = 400) -> str:
        """Read the name of a line in full, for names that differ only at their end."""
        self.part(name, label, path)
        return self.one(name)[:most]

    def share(self, name: str, label: str, path: str, *, high: str = "100") -> float | None:
        """Read a share typed in percent, as a fraction; None if it is empty."""
        text = self.amount(name, label, path, high=high, places=_PERCENT_PLACES)
        return None if text is None else float(Decimal(text) / 100)

    def number(
        self, name: str, label: str, path: str, *, high: str = "1000", needed: bool = False
    ) -> float | None:
        """Read a plain number, zero or more; None if it is empty."""
        text = self.amount(name, label, path, high=high, places=6, needed=needed)
        return None if text is None else float(text)

    def amounts(self, name: str, label: str, path: str) -> list[str] | None:
        """Read a list of amounts with spaces between; None if it is empty."""
        text = self.one(name)
        self.stands_for(path, name, label)
        if not text:
            return None
        words = [word for word in _SPLIT.split(text.rstrip(",;")) if word]
        if len(words) > _MOST_LISTED:
            self.faults.add(name, f"{label}: {len(words)} are too many; give {_MOST_LISTED}.")
            return None
        return self.faults.take(name, lambda: [_amount(word, label) for word in words], None)

    def endings(self) -> dict[str, Any] | None:
        """Read where prices may end: a step, or a list of endings."""
        step = self.amount("step", "Step of prices", "$.endings.step")
        ends = self.amounts("ends", "Endings", "$.endings.of")
        self.stands_for("$.endings", "step", "Step of prices")
        if step and ends:
            self.faults.add("ends", "Endings: a step is given too; keep one of the two.")
        if step:
            return {"step": step}
        return {"of": ends} if ends else None

    def work_out(
        self, kernel: Callable[[object], dict[str, Any]], problem: dict[str, Any]
    ) -> dict[str, Any] | None:
        """Return the kernel's plan; None, with a fault, if there is none to be shown."""
        try:
            return super().work_out(kernel, problem)
        except PlanRejected as error:
            self.faults.add(self.main, error.message)
            return None


def _amount(word: str, label: str) -> str:
    if _NOTHING.fullmatch(word):
        return "0"
    return f"{read_amount(word, label, places=_MONEY_PLACES):f}"


@dataclass(slots=True)
class Filled:
    """A sheet's texts, as typed or as filled from the shop.

    Parameters
    ----------
    fields : Fields
        The texts.
    faults : Faults
        What is wrong with the thing that was asked for.
    note : str
        What was filled in; empty if nothing was.
    told : sequence of str
        What the shop took for granted.
    ours : sequence of str
        Figures among it that are starting figures of ours.
    """

    fields: Fields
    faults: Faults = field(default_factory=Faults)
    note: str = ""
    told: Sequence[str] = ()
    ours: Sequence[str] = ()

    def asks(self, name: str) -> bool:
        """Tell whether the sheet is to be worked out: `name` was sent, and nothing is wrong yet."""
        return name in self.fields and not self.faults


@dataclass(frozen=True, slots=True)
class Filling:
    """What the shop fills in: fields with texts, a note, what it took for granted, what is ours."""

    pairs: Pairs
    note: str
    told: Sequence[str] = ()
    ours: Sequence[str] = ()


def filled_from(fields: Fields, key: str, make: Callable[[str], Filling]) -> Filled:
    """Return the fields as typed, or as filled from what `key` names.

    Parameters
    ----------
    fields : Fields
        What was typed.
    key : str
        Field that names a piece or a line; empty or absent: nothing is filled.
    make : callable
        Returns what fills the sheet; raises `CollopError` if the shop has no such thing.
    """
    asked = fields.one(key)
    if not asked:
        return Filled(fields)
    try:
        found = make(asked)
    except StorageTrouble:
        raise
    except CollopError as error:
        filled = Filled(fields)
        filled.faults.add(key, error.message)
        return filled
    fields = Fields([(key, asked), *found.pairs])
    return Filled(fields, note=found.note, told=found.told, ours=found.ours)


def piece_notes(room: Room, tag: str) -> list[str]:
    """Return what the shop takes for granted in the board of a piece; nothing if it has none."""
    try:
        plan = room.shop.chalk.plan(tag)
        own = chalk(room.shop.chalk.problem(tag))["assumptions"]
    except StorageTrouble:
        raise
    except CollopError:  # e.g. nobody knows what it cost
        return []
    return [note for note in plan["assumptions"] if note not in own]


def frame(room: Room) -> dict[str, Any]:
    """Return currency, rounding and legal unit of the shop, as every problem has them."""
    chosen = room.shop.settings()
    return {
        "currency": chosen.currency,
        "rounding": chosen.rounding.value,
        "unit": chosen.legal_unit.value,
    }


def plain(value: object) -> str:
    """Return a number or a decimal text as it stands in a field; empty for None."""
    if value is None:
        return ""
    return f"{Decimal(str(value)).normalize():f}"


def priced(value: object) -> str:
    """Return money as it stands in a field: two to four decimals; empty for None.

    A price set per lb has more of them per kg than a field takes, so it is rounded half up.
    """
    if value is None:
        return ""
    amount = decimal_of(Fraction(str(value)), _MONEY_PLACES).normalize()
    return f"{amount:.2f}" if amount == round(amount, 2) else f"{amount:f}"


def fitting(lines: Sequence[_T], most: int, what: str) -> Sequence[_T]:
    """Return the lines if a sheet holds them all; else refuse, for a part would tell nothing."""
    if len(lines) > most:
        raise BadValue(f"It has {len(lines)} {what}; this sheet holds {most}, so type them in.")
    return lines


def percent(value: float | None) -> str:
    """Return a fraction as it stands in a field for percent; empty for None."""
    if value is None:
        return ""
    return plain(round(Decimal(str(value)) * 100, _PERCENT_PLACES))


def show(
    request: Request, template: str, sheet: SumSheet, plan: dict[str, Any] | None,
    **context: Any,  # noqa: ANN401 -- what the template names
) -> HTMLResponse:  # fmt: skip
    """Show a sheet with its faults or its plan."""
    context.setdefault("filled", Filled(sheet.fields))
    return page(
        request, template, status=422 if sheet.faults else 200, sheet=sheet, faults=sheet.faults,
        plan=plan, sums=SUMS, unit=room_of(request).shop.settings().legal_unit.value,
        marks=MARKS, **context,
    )  # fmt: skip
