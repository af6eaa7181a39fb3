"""Reading the form of a supplier's quote into an offer of ``collop.buying/1``."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from collop.shop import NewQuote
from collop.web.forms import Faults, Fields, read_amount, read_day, read_name, read_whole
from collop.web.room import Room

__all__ = ["BASES", "ROWS", "field_of", "read_quote"]

#: The ways to buy, and how they are called.
BASES = {"live": "Live", "hanging": "Hanging", "box": "In a box"}
#: Rows of cuts on the form of a box.
ROWS = 8
_FIELDS = frozenset({
    "supplier", "name", "species", "weight", "price", "price_head", "haulage", "kill_fee",
    "cutting_fee", "labour_minutes", "credits", "dressing", "good_until", "animals", "basis",
    "live_shrink_pct", "weight_is",
})  # fmt: skip
_MONEY = {"kill_fee": "Kill fee an animal", "cutting_fee": "Cutting fee"}


def field_of(where: str) -> str:
    """Return the field of the form that an error of the quote belongs to.

    Examples
    --------
    >>> field_of("$.offers[0].credits"), field_of("$.offers[0].cuts[2].weight")
    ('credits', 'cut3')
    """
    last = where.removeprefix("$.offers[0].")
    if last.startswith("cuts["):
        return f"cut{int(last[5:].partition(']')[0]) + 1}"
    first = last.partition(".")[0]
    return first if first in _FIELDS else "supplier"


class _Form:
    """The fields and what is wrong with them, while an offer comes about."""

    def __init__(self, fields: Fields, faults: Faults) -> None:
        self.fields, self.faults = fields, faults
        self.offer: dict[str, Any] = {}

    def _take(self, name: str, read: Callable[[], Any]) -> Any:  # noqa: ANN401 -- what it reads
        return self.faults.take(name, read, None)

    def amount(self, name: str, label: str, *, needed: bool = False, places: int = 4) -> None:
        """Take an amount as decimal text; left out if it is empty and not needed."""
        text = self.fields.one(name)
        if text and not needed and _is_zero(text):
            return
        if text or needed:
            found = self._take(name, lambda: read_amount(text, label, places=places))
            if found is not None:
                self.offer[name] = f"{found:f}"

    def per_cent(self, name: str, label: str) -> float | None:
        """Return a share in per cent, None if it is empty."""
        text = self.fields.one(name)
        if not text or _is_zero(text):
            return None
        found = self._take(name, lambda: read_amount(text, label, high="100"))
        return None if found is None else float(found)


def _is_zero(text: str) -> bool:
    """Tell whether a text means zero."""
    return not text.strip("0.")


def _carcass(form: _Form, basis: str) -> None:
    fields = form.fields
    form.amount("weight", "Weight", needed=True, places=3)
    is_head = basis == "live" and bool(fields.one("price_head"))
    if is_head:
        form.amount("price_head", "Price a head", needed=True)
        if fields.one("price"):
            form.faults.add("price_head", "Price a head: give it or the price of the weight.")
    else:
        form.amount("price", "Price", needed=True)
    for name, label in _MONEY.items():
        form.amount(name, label)
    if fields.one("animals"):
        found = form.faults.take(
            "animals", lambda: read_whole(fields.one("animals"), "Animals", 1, 1000), 1
        )
        form.offer["animals"] = found
    if basis == "hanging":
        form.offer["weight_is"] = "cold" if fields.one("weight_is") == "cold" else "hot"
        return
    ends = {end: form.per_cent(name, label) for end, name, label in (
        ("pct", "dressing", "Dressing"), ("low", "dressing_low", "Dressing, from"),
        ("high", "dressing_high", "Dressing, to"))}  # fmt: skip
    if ends["pct"] is not None:
        form.offer["dressing"] = {end: pct for end, pct in ends.items() if pct is not None}
    elif ends["low"] is not None or ends["high"] is not None:
        form.faults.add("dressing", "Dressing: give the usual figure between its ends.")
    if (shrink := form.per_cent("live_shrink_pct", "Lost on the way")) is not None:
        form.offer["live_shrink_pct"] = shrink


def _box(form: _Form) -> None:
    cuts, fields = [], form.fields
    for at in range(1, ROWS + 1):
        cut = fields.one(f"cut{at}")
        if not cut:
            continue
        row: dict[str, Any] = {"cut": cut}
        for key, label in (("weight", "Weight"), ("price", "Price")):
            text = fields.one(f"{key}{at}")
            found = form.faults.take(
                f"{key}{at}",
                lambda text=text, label=label: read_amount(text, label, places=4),  # type: ignore[misc]
                None,
            )
            row[key] = f"{found:f}" if found is not None else "1"
        trim = form.per_cent(f"trim{at}", "Trimmed off")
        cuts.append(row if trim is None else row | {"trim_loss_pct": trim})
    if not cuts:
        form.faults.add("cut1", "Cut: choose at least one cut of the box.")
    form.offer["cuts"] = cuts


def read_quote(room: Room, fields: Fields, faults: Faults) -> NewQuote:
    """Read a quote; what is wrong is noted beside its field.

    Parameters
    ----------
    room : Room
        The open shop.
    fields : Fields
        As posted; figures in the legal unit.
    faults : Faults
        Takes what cannot be read.
    """
    today, form = room.now().date(), _Form(fields, faults)
    basis = fields.one("basis") if fields.one("basis") in BASES else "live"
    supplier = faults.take("supplier", lambda: read_name(fields.one("supplier"), "Supplier"), "")
    name = faults.take("name", lambda: read_name(fields.one("name"), "What"), "")
    if not fields.one("species"):
        faults.add("species", "Animal: choose one.")
    good: date | None = None
    if fields.one("good_until"):
        good = faults.take(
            "good_until",
            lambda: read_day(fields.one("good_until"), "Good until", first=today), None,
        )  # fmt: skip
    if basis == "box":
        _box(form)
    else:
        _carcass(form, basis)
    form.amount("haulage", "Haulage")
    if fields.one("labour_minutes") and not _is_zero(fields.one("labour_minutes")):
        minutes = faults.take(
            "labour_minutes",
            lambda: read_amount(fields.one("labour_minutes"), "Own minutes", high="600"), None,
        )  # fmt: skip
        if minutes is not None:
            form.offer["labour_minutes"] = float(minutes)
    form.amount("credits", "By-products bring")
    if money := form.offer.pop("credits", None):
        form.offer["credits"] = [{"name": "by-products", "money": money}]
    if faults:
        return NewQuote(supplier, name, basis, {}, good)
    return NewQuote(supplier, name, basis, {**form.offer, "species": fields.one("species")}, good)
