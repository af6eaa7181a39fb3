"""What may be done with a line tonight, and what each of it is worth: best first.

The money is that of the mark-down kernel with the price left alone: what the other use brings more
than letting what does not sell pass its day. So it is the same figure as in the moves of the day.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from collop.chalk import markdown
from collop.measures import Money, UnitPrice, Weight, minor_places, round_fraction
from collop.shop.ageing import Ageing, CaseView, ageing_of, convert_of, freeze_of, markdown_problem
from collop.shop.converting import may_be_trim
from collop.shop.freezing import may_be_frozen
from collop.shop.lockup_model import LockWay
from collop.shop.model import CaseLine, Settings
from collop.shop.store import AnyRow

__all__ = ["Evening", "carry_no", "money_at", "ways_of"]


def carry_no(line: CaseLine, passes: Weight, opens: date) -> str:
    """Return why a line cannot be carried to the next open day; empty if it can."""
    if not passes:
        return ""
    return (
        f"{passes.text()} of {line.name} is past its day before the shop opens on {opens:%a %d %b}:"
        " convert, freeze or bin that first."
    )


@dataclass(frozen=True, slots=True)
class Evening:
    """One line tonight: what of it passes its day before the shop opens next, and when that is."""

    view: CaseView
    line: CaseLine
    row: AnyRow
    passes: Weight
    opens: date

    @property
    def worn(self) -> Ageing | None:
        """Return what of it is in its last days; None if all of it sells in time."""
        return ageing_of(self.view, self.line.id)


def ways_of(evening: Evening) -> tuple[LockWay, ...]:
    """Return what may be done with a line tonight, what brings most first.

    What cannot be done comes last, with the reason.

    Parameters
    ----------
    evening : Evening
        The line as it is now.
    """
    one = evening.worn
    found = (_convert(evening, one), _freeze(evening, one), _carry(evening), _bin(evening))
    # leaving it as it is comes before what nobody can put in money
    order = {"carry": 0, "convert": 1, "freeze": 1, "bin": 2}
    return tuple(sorted(found, key=lambda way: (bool(way.no), -_amount(way), order[way.what])))


def money_at(weight: Weight, price: UnitPrice, chosen: Settings) -> Money:
    """Return the money of a weight at a price, rounded once; below zero if the weight is."""
    scale = 10 ** minor_places(chosen.currency)
    minor = round_fraction(
        weight.exact(price.per) * Fraction(price.amount) * scale, chosen.rounding
    )
    return Money(minor, chosen.currency)


def _amount(way: LockWay) -> Decimal:
    return way.money.decimal() if way.money is not None else Decimal(0)


def _carry(evening: Evening) -> LockWay:
    line, currency = evening.line, evening.view.chosen.currency
    no = carry_no(line, evening.passes, evening.opens)
    left = "no last day" if line.days_left is None else f"{_days(line.days_left)} left"
    return LockWay("carry", line.free, Money(0, currency), f"Carry {line.free.text()}: {left}.", no)


def _days(count: int) -> str:
    return f"{count} {'day' if count == 1 else 'days'}"


def _bin(evening: Evening) -> LockWay:
    line, chosen = evening.line, evening.view.chosen
    weight = line.past or evening.passes or line.free
    no = "" if weight else f"Nothing of {line.name} is free to be binned."
    money = str(money_at(weight, line.price, chosen))
    day = " past its day" if line.past else ""
    return LockWay("bin", weight, Money(0, chosen.currency),
                   f"Bin {weight.text()}{day}: {money} at the board is lost.", no)  # fmt: skip


def _worth(evening: Evening, one: Ageing, way: str, use: dict[str, Any]) -> dict[str, Any]:
    """Return the mark-down plan with the price left alone and this other use only."""
    view = evening.view
    problem = markdown_problem(view, one, float(view.demand(one.line.id)["elasticity"]))
    price = problem["price"]
    plan: dict[str, Any] = markdown(problem | {
        "convert": None, "freeze": None, "floor": price, "cap": price, "endings": None, way: use,
    })  # fmt: skip
    return plan


def _told(
    evening: Evening, one: Ageing, way: str, use: dict[str, Any], verb: tuple[str, str]
) -> LockWay:
    plan, chosen = _worth(evening, one, way, use), evening.view.chosen
    line = next((rest for rest in plan["rest"] if rest["way"] == way), None)
    if line is None:
        return LockWay(way, Weight.zero(), Money(0, chosen.currency),
                       f"{verb[0]} nothing: all of it sells by its day.")  # fmt: skip
    weight = Weight.of(line["weight"], chosen.legal_unit)
    return LockWay(
        way, weight, Money.of(plan["gain"], chosen.currency),
        f"{verb[0]} {weight.text()}{verb[1]}: worth {plan['gain']} more than letting it pass its"
        " day.",
    )  # fmt: skip


def _convert(evening: Evening, one: Ageing | None) -> LockWay:
    view, line = evening.view, evening.line
    no = may_be_trim(evening.row, view.thawed) or (
        "" if line.free else f"Nothing of {line.name} is free."
    )
    bare = LockWay("convert", line.free, None, "Send it to the trim bin, or make another line.", no)
    if no or one is None:
        return bare
    use = convert_of(view, one.line, one.periods, one.first_share, is_bounded=False)
    if use is None:
        return bare
    return _told(evening, one, "convert", use, ("Send", f" to the trim bin for {use['to']}"))


def _freeze(evening: Evening, one: Ageing | None) -> LockWay:
    view, line = evening.view, evening.line
    no = may_be_frozen(evening.row, view.thawed)
    if not no and not any(last > view.today for last, _ in view.stock.get(line.id, ())):
        no = f"Nothing of {line.name} is free with a day left: it is frozen before its last day."
    bare = LockWay("freeze", line.free, None, "Freeze it while it is in date.", no)
    if no or one is None:
        return bare
    use = freeze_of(view, one.line, one.last)
    return bare if use is None else _told(evening, one, "freeze", use, ("Freeze", ""))
