"""The chalk problem of a piece: its weights, what it cost, and the board in force."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sqlalchemy import case, func, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, WrongState
from collop.measures import Money, UnitPrice, Weight, decimal_of, minor_places, round_fraction
from collop.shop.chalk_animals import Sheet, apportion
from collop.shop.chalk_said import gone_note
from collop.shop.knife_tables import stock_counts
from collop.shop.ledger import FOUND
from collop.shop.model import Settings
from collop.shop.sales import Line, per_unit
from collop.shop.tables import ledger_entries, lots

__all__ = [
    "OFF_THE_BOARD", "SHRINK", "SHRINK_NOTE", "Wish", "chalk_problem", "endings_of", "shrink_of",
]  # fmt: skip

#: Share of a cut's weight lost between block and customer where the shop's counts do not tell yet:
#: a starting figure of ours (common practice, no published source).
SHRINK = Fraction(3, 100)
SHRINK_NOTE = (
    f"Shrink from block to customer is taken as {float(SHRINK):.0%} where the shop's own counts do"
    " not tell: a starting figure of ours."
)
_MOST_SHRINK = Fraction(1, 2)
#: So many counts of a line, and its own shrink is believed.
_ENOUGH_COUNTS = 4
#: The id of a part that has no line begins with this.
OFF_THE_BOARD = "part:"
_PLACES = 3
# the kernel reads relatives from a thousandth to a thousand
_MOST = Decimal(1000)
_LEAST_PRICE, _MOST_PRICE = Decimal("0.001"), Decimal(100_000)


@dataclass(frozen=True, slots=True)
class Wish:
    """What somebody tries: prices by cut id, and which hold the price that is on the board.

    All per legal unit. `relatives` stand in the place of board prices where the base is found;
    `margin` is of sales; `paid` is what the piece cost where its delivery does not say.
    """

    prices: Mapping[str, Decimal] = field(default_factory=dict)
    fixed: Collection[str] = ()
    relatives: Mapping[str, Decimal] = field(default_factory=dict)
    margin: Decimal | None = None
    paid: Decimal | None = None
    pulls: Sequence[tuple[str, Decimal]] | None = None


@dataclass(slots=True)
class _Cut:
    name: str
    milli: int = 0
    sold: int = 0


def endings_of(chosen: Settings) -> dict[str, Any]:
    """Return the shop's price endings as the kernels read them; endings win over the step.

    What is finer than the currency is left out, as no price can end on it.
    """
    least = Decimal(1).scaleb(-minor_places(chosen.currency))
    ends = [one for one in chosen.price_endings if not one % least]
    if ends:
        return {"of": [f"{one:f}" for one in ends]}
    step = chosen.price_step
    return {"step": f"{least if step % least else step:f}"}


def shrink_of(conn: Connection) -> dict[str, Fraction]:
    """Return the share of its weight that each line lost in the case, by the shop's own counts.

    Weight lost, less what the scale found again, over all weight that was put on the line and not
    taken back; only of lines counted four times and more.
    """
    entry = ledger_entries.c
    counted = (
        select(stock_counts.c.case_id)
        .where(stock_counts.c.case_id.is_not(None))
        .group_by(stock_counts.c.case_id)
        .having(func.count() >= _ENOUGH_COUNTS)
    )
    known = list(conn.scalars(counted))
    if not known:
        return {}
    # moves within a lot sum to nothing, so what is left is what came in; and what was found
    found = func.sum(case((entry.reason == FOUND, entry.delta), else_=0))
    lost = func.sum(case((entry.place == "drip", entry.delta), else_=0))
    rows = conn.execute(
        select(lots.c.case_id, func.sum(entry.delta).label("whole"), found.label("found"),
               lost.label("lost"))
        .join(ledger_entries, entry.lot_id == lots.c.id)
        .where(lots.c.case_id.in_(known))
        .group_by(lots.c.case_id)
    )  # fmt: skip
    return {
        row.case_id: min(_MOST_SHRINK, max(Fraction(0), Fraction(int(row.lost - row.found), came)))
        for row in rows
        if (came := int(row.whole - row.found)) > 0
    }


def _milli(sheet: Sheet, chosen: Settings) -> tuple[int, list[int]]:
    """Return start and parts in thousandths of the legal unit; they close as the weights did."""
    one = Fraction(Weight.of(1, chosen.legal_unit).count, 10**_PLACES)
    start = round_fraction(sheet.start.count / one)
    return start, apportion(start, [part.count for part in sheet.parts])


def _cuts(
    sheet: Sheet, milli: Sequence[int], lines: Mapping[str, Line], one: Fraction
) -> dict[str, _Cut]:
    """Return the cuts by id; parts that go to one line are one cut."""
    found: dict[str, _Cut] = {}
    for part, weight in zip(sheet.parts, milli, strict=True):
        if not weight or (part.kind != "cut" and part.case_id is None):
            continue
        key = part.case_id or f"{OFF_THE_BOARD}{part.name}"
        line = lines.get(key)
        cut = found.setdefault(key, _Cut(line.name if line else part.name))
        cut.milli += weight
        cut.sold += min(weight, int(part.sold / one))
    return found


def _text(milli: int) -> str:
    return f"{Decimal(milli).scaleb(-_PLACES):f}"


def _credits(sheet: Sheet, milli: Sequence[int], chosen: Settings) -> list[dict[str, Any]]:
    return [
        {"name": part.name, "weight": _text(weight),
         "value_per_unit": f"{chosen.worths.get(part.kind, Decimal(0)):f}"}
        for part, weight in zip(sheet.parts, milli, strict=True)
        if weight and part.case_id is None and part.kind not in {"cut", "loss"}
    ]  # fmt: skip


def _cost(sheet: Sheet, wish: Wish, chosen: Settings) -> dict[str, str]:
    rule, currency = chosen.rounding, chosen.currency
    haulage = Money(round_fraction(sheet.haulage, rule), currency)
    if wish.paid is not None:
        bought, haulage = Money.of(wish.paid, currency), Money(0, currency)
    elif sheet.bought is None:
        raise WrongState(
            f"Nobody wrote down what {sheet.tag} cost; say what was paid and try again.",
            where="paid",
        )
    else:
        bought = Money(round_fraction(sheet.bought + sheet.haulage, rule), currency) - haulage
    return {
        "bought": str(bought),
        "haulage": str(haulage),
        "labour_minutes": str(sheet.style.labour_minutes or 0),
        "labour_per_hour": f"{chosen.labour_per_hour:f}",
        "other": "0",
    }


def _known(wish: Wish, cuts: Mapping[str, _Cut], tag: str) -> None:
    pulls = [] if wish.pulls is None else list(wish.pulls)
    for key in (*wish.prices, *wish.fixed, *wish.relatives, *(key for key, _ in pulls)):
        if key not in cuts:
            raise BadValue(f"{tag} gives no {str(key)[:60]!r}; choose one of its cuts.",
                           where=str(key)[:60])  # fmt: skip
    for key, amount in (*wish.prices.items(), *wish.relatives.items()):
        _checked_amount(amount, cuts[key].name, key)
    for key, by in pulls:
        _checked_amount(abs(by) if by.is_finite() else by, cuts[key].name, key)


def _checked_amount(amount: Decimal, name: str, where: str) -> None:
    """See that an amount is one the board can bear, before it is written out or added up."""
    if not amount.is_finite() or not _LEAST_PRICE <= amount <= _MOST_PRICE:
        raise BadValue(f"{name}: write a price from {_LEAST_PRICE} to {_MOST_PRICE}, like 8.90.",
                       where=where)  # fmt: skip


def _mean(cuts: Mapping[str, _Cut], scale: Mapping[str, Decimal]) -> Decimal:
    """Return the mean of the known prices, by weight; 1 if none is known."""
    weight = sum(cuts[key].milli for key in scale)
    if not weight:
        return Decimal(1)
    total = sum((Fraction(scale[key]) * cuts[key].milli for key in scale), Fraction(0))
    return decimal_of(total / weight, 4)


def _cut_json(
    key: str, cut: _Cut, board: Mapping[str, Decimal], wish: Wish, relative: Decimal | None
) -> dict[str, Any]:
    present = board.get(key)
    held = wish.prices.get(key, present if key in wish.fixed else None)
    return {
        "id": key,
        "name": cut.name,
        "weight": _text(cut.milli),
        "relative": None if relative is None else float(min(_MOST, max(1 / _MOST, relative))),
        "price": None if present is None else f"{present:f}",
        "fixed": None if held is None else f"{held:f}",
        "sold": _text(cut.sold),
        # what has no line has no price to move
        "answers": present is not None,
    }


def chalk_problem(
    sheet: Sheet, wish: Wish, board: Mapping[str, UnitPrice], lines: Mapping[str, Line], *,
    shrink: Mapping[str, Fraction], chosen: Settings,
) -> tuple[dict[str, Any], tuple[str, ...]]:  # fmt: skip
    """Return the ``collop.chalk/1`` problem of a piece, and sentences on what it takes for granted.

    Weights are in the legal unit, to a thousandth, and close: cuts, by-products and loss add up to
    what the piece weighs.

    Parameters
    ----------
    sheet : Sheet
        The piece, part by part.
    wish : Wish
        What is tried.
    board : mapping of str to UnitPrice
        Prices in force by case line.
    lines : mapping of str to Line
        Case lines by id.
    shrink : mapping of str to Fraction
        Known shrink by case line; else `SHRINK`.
    chosen : Settings
        Of the shop.

    Raises
    ------
    BadValue
        If a price is tried for what the piece does not give.
    WrongState
        If nobody wrote down what it cost, or it gives nothing to sell.
    """
    start, milli = _milli(sheet, chosen)
    one = Fraction(Weight.of(1, chosen.legal_unit).count, 10**_PLACES)
    cuts = _cuts(sheet, milli, lines, one)
    if not cuts:
        raise WrongState(f"{sheet.tag} gives no cut to sell by {sheet.style.name!r}.")
    _known(wish, cuts, sheet.tag)
    prices = {key: per_unit(board[key], chosen) for key in cuts if key in board}
    scale = {key: wish.relatives.get(key, prices.get(key)) for key in cuts}
    mean = _mean(cuts, {key: one for key, one in scale.items() if one is not None})
    # one relative given means all are: they stand beside each other
    is_told = bool(wish.relatives) or None in scale.values()
    told = [
        _cut_json(key, cut, prices, wish, (scale[key] or mean) if is_told else None)
        | {"shrink": float(shrink.get(key, SHRINK))}
        for key, cut in cuts.items()
    ]
    loss = sum(w for part, w in zip(sheet.parts, milli, strict=True)
               if part.kind == "loss" and part.case_id is None)  # fmt: skip
    problem = {
        "schema": "collop.chalk/1",
        "name": f"{sheet.tag}, {sheet.what}",
        "currency": chosen.currency,
        "rounding": chosen.rounding.value,
        "unit": chosen.legal_unit.value,
        "cost": _cost(sheet, wish, chosen),
        "margin": float(chosen.target_margin if wish.margin is None else wish.margin),
        "cuts": told,
        "credits": _credits(sheet, milli, chosen),
        "start_weight": _text(start),
        "loss_weight": _text(loss),
        "endings": endings_of(chosen),
        "pulls": None if wish.pulls is None
        else [{"id": key, "by": f"{by:f}"} for key, by in wish.pulls],
    }  # fmt: skip
    untold = [key for key in cuts if scale[key] is None and key not in wish.prices]
    notes = _notes(sheet, {key: cuts[key].name for key in untold}, cuts, shrink)
    return problem, (*notes, *gone_note(sheet, _names(sheet, cuts), chosen))


def _names(sheet: Sheet, cuts: Mapping[str, _Cut]) -> dict[str, str]:
    """Return the name of the cut that each part is of, by the part's name."""
    found = {}
    for part in sheet.parts:
        key = part.case_id or f"{OFF_THE_BOARD}{part.name}"
        if key in cuts:
            found[part.name] = cuts[key].name
    return found


def _notes(
    sheet: Sheet, untold: Mapping[str, str], cuts: Collection[str],
    shrink: Mapping[str, Fraction],
) -> tuple[str, ...]:  # fmt: skip
    notes = list(sheet.notes)
    notes += [
        f"{name} is not on the board: priced like the mean of the others."
        for name in untold.values()
    ]
    if not set(cuts) <= set(shrink):
        notes.append(SHRINK_NOTE)
    if sheet.style.labour_minutes is None:
        notes.append(f"{sheet.style.name!r} says no minutes, so no labour is counted.")
    return tuple(notes)
