"""Sales tax by class, and cash to five cents: sums on what the shop has set, never advice.

A tax class is a name of the shop's with a rate and the days it holds for. Which goods are of which
class, and what the rates are, the shop asks of its own tax authority.

References
----------
.. [1] Streamlined Sales and Use Tax Agreement s.324, Rounding rule: to the nearest cent, per item
   or per invoice, as the seller chooses (from memory; row TX014).
.. [2] Treasury FAQ on cash without the penny, as reported: totals after tax are rounded, cash only;
   cards and cheques pay the exact cent (rows TX023, TX035, TX036).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from collop.errors import BadValue
from collop.measures import Money, Rounding, decimal_of, minor_places, round_fraction, sum_money

__all__ = [
    "CASH_RULES",
    "TAX_PER",
    "Cash",
    "ClassTax",
    "TaxClass",
    "TaxLine",
    "Taxes",
    "cash_total",
    "percent_text",
    "rate_on",
    "taxes",
]

#: How a total is paid in cash: to the cent, to the nearest five cents, or down to five cents.
CASH_RULES = ("off", "nearest-5", "down-5")
#: What is rounded to the cent: each class of a slip, or each line.
TAX_PER = ("invoice", "item")
_STEP_CENTS = 5
_CENT_PLACES = 2
_PERCENT_PLACES = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class TaxClass:
    """A rate of one class and the days it holds for.

    Parameters
    ----------
    name : str
        The class, e.g. ``prepared``; several rates of one name follow each other in time.
    percent : Fraction
        0 to 100.
    first, last : date or None
        First and last day it holds for, both included; None for no end.
    """

    name: str
    percent: Fraction
    first: date | None = None
    last: date | None = None

    def holds_on(self, day: date) -> bool:
        """Tell whether the rate holds on a day."""
        return (self.first is None or self.first <= day) and (self.last is None or day <= self.last)


@dataclass(frozen=True, slots=True)
class TaxLine:
    """A line of a slip: its class, None for a line that bears no tax, and its money."""

    tax_class: str | None
    amount: Money


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassTax:
    """What one class comes to.

    Parameters
    ----------
    name : str
        The class.
    percent : Fraction or None
        Its rate; None if none holds on that day, and then no tax is added.
    base, tax : Money
        Sum of its lines, and the tax on them.
    """

    name: str
    percent: Fraction | None
    base: Money
    tax: Money

    @property
    def words(self) -> str:
        """Return the class with its rate, e.g. ``prepared 8.25 %``."""
        if self.percent is None:
            return f"{self.name}, no rate"
        return f"{self.name} {percent_text(self.percent)} %"


@dataclass(frozen=True, slots=True, kw_only=True)
class Taxes:
    """Tax of a slip.

    Parameters
    ----------
    classes : tuple of ClassTax
        By name, those with lines on the slip.
    before, tax, total : Money
        Sum of all lines, of all taxes, and of both.
    cautions : tuple of str
        One for each class without a rate on that day.
    """

    classes: tuple[ClassTax, ...]
    before: Money
    tax: Money
    total: Money
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cash:
    """What is to pay in cash, and by how much that differs from the exact total."""

    to_pay: Money
    rounding: Money


def percent_text(percent: Fraction) -> str:
    """Return a rate as it is written, up to six decimals without closing zeros.

    Examples
    --------
    >>> percent_text(Fraction("8.250")), percent_text(Fraction(0))
    ('8.25', '0')
    """
    text = f"{decimal_of(percent, _PERCENT_PLACES):f}"
    return text.rstrip("0").rstrip(".")


def rate_on(classes: Iterable[TaxClass], name: str, day: date) -> Fraction | None:
    """Return the rate of a class on a day, None if none holds.

    Raises
    ------
    BadValue
        If two rates hold at once.
    """
    found = [one.percent for one in classes if one.name == name and one.holds_on(day)]
    if len(found) > 1:
        raise BadValue(
            f"Two rates of {name!r} hold on {day}; let one end before the other begins.",
            where="tax_classes",
        )
    return found[0] if found else None


def taxes(
    lines: Sequence[TaxLine],
    classes: Sequence[TaxClass],
    *,
    on: date,
    per: str = "invoice",
    rule: Rounding = Rounding.HALF_UP,
    currency: str = "USD",
) -> Taxes:
    """Return the tax of a slip.

    Parameters
    ----------
    lines : sequence of TaxLine
        Their amounts are rounded prices, one currency throughout.
    classes : sequence of TaxClass
        What the shop has set.
    on : date
        Day of the sale.
    per : str
        One of `TAX_PER`: ``invoice`` rounds each class of the slip once, ``item`` each line.
    rule : Rounding
        What becomes of an exact half of the last cent.
    currency : str
        For a slip without lines.

    Raises
    ------
    BadValue
        If `per` is none of these, a line is of another currency, or two rates hold at once.

    Examples
    --------
    >>> line = TaxLine("prepared", Money.of("12.38"))
    >>> rate = TaxClass(name="prepared", percent=Fraction("8.25"))
    >>> str(taxes([line], [rate], on=date(2026, 6, 10)).tax)
    '1.02'
    """
    if per not in TAX_PER:
        raise BadValue(f"Tax per {per[:20]!r} is not known; use {', '.join(TAX_PER)}.", where="per")
    by_class: dict[str, list[Money]] = {}
    for line in lines:
        if line.tax_class is not None:
            by_class.setdefault(line.tax_class, []).append(line.amount)
    before = sum_money([line.amount for line in lines], currency)
    found, cautions = [], []
    for name in sorted(by_class):
        percent = rate_on(classes, name, on)
        if percent is None:
            cautions.append(
                f"No rate of {name} holds on {on}, so no tax was added; set one with its days."
            )
        found.append(
            ClassTax(
                name=name,
                percent=percent,
                base=sum_money(by_class[name], currency),
                tax=_tax(by_class[name], percent or Fraction(0), per, rule, currency),
            )
        )
    tax = sum_money([one.tax for one in found], currency)
    return Taxes(
        classes=tuple(found), before=before, tax=tax, total=before + tax, cautions=tuple(cautions)
    )


def _tax(
    amounts: Sequence[Money], percent: Fraction, per: str, rule: Rounding, currency: str
) -> Money:
    parts = amounts if per == "item" else [sum_money(amounts, currency)]
    minor = sum(round_fraction(part.minor * percent / 100, rule) for part in parts)
    return Money(minor, currency)


def cash_total(total: Money, rule: str = "off") -> Cash:
    """Return what is paid in cash.

    Only a total after tax is rounded, and only for cash; no line and no tax ever is.

    Parameters
    ----------
    total : Money
        With tax, less what was paid before; below zero is given back.
    rule : str
        One of `CASH_RULES`. ``nearest-5``: ends of 1, 2, 6, 7 cents go down, of 3, 4, 8, 9 up; a
        total of 1 or 2 cents goes up to 5, so that something is paid. ``down-5``: always for the
        customer, also where money is given back.

    Raises
    ------
    BadValue
        If the rule is none of these.

    Notes
    -----
    A currency with fewer than two decimals has no cents, and its totals stay as they are.
    """
    if rule not in CASH_RULES:
        raise BadValue(
            f"Cash rule {rule[:20]!r} is not known; use {', '.join(CASH_RULES)}.", where="rule"
        )
    places = minor_places(total.currency)
    if rule == "off" or places < _CENT_PLACES:
        return Cash(total, Money(0, total.currency))
    cent: int = 10 ** (places - _CENT_PLACES)
    step = _STEP_CENTS * cent
    if rule == "down-5":
        minor = total.minor // step * step
    else:
        minor = round_fraction(Fraction(total.minor, step)) * step
        if minor == 0 and total.minor > 0:
            minor = step
    to_pay = Money(minor, total.currency)
    return Cash(to_pay, to_pay - total)
