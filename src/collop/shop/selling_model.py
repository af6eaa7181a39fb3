"""What is sold at the glass, what came back, and money as it is noted: frozen records."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction

from collop.measures import Money, Rounding, UnitPrice, Weight, decimal_of, sum_money
from collop.rules.taxing import ClassTax
from collop.shop.till_model import SlipTotals

__all__ = [
    "COUNTER", "DepositWord", "Estimate", "EstimatedLine", "Gap", "NewPayment", "NewSale",
    "OnAccount", "Payment", "Returned", "SlipMoney", "Takings", "TakingsSlip", "gap_of",
]  # fmt: skip

#: The name on a slip of somebody who said none.
COUNTER = "Counter"
_PERCENT_PLACES = 1


@dataclass(frozen=True, slots=True)
class NewSale:
    """One line at the glass.

    Parameters
    ----------
    case_id : str
        Line of the case; may be left out where a ticket names it.
    net : Weight or None
        Net weight, the tare taken off before; left out, that of the ticket.
    pieces : tuple of Weight or None
        Which pieces, for goods sold whole; left out, those that fit the scale.
    tare : str or None
        Name of the packing that was taken off; kept with the sale.
    ticket : str or None
        Id of a ticket such as ``T12``: its net, price and lot then hold.
    asked : Weight or None
        What the customer asked for.
    agreed : bool
        Whether the customer takes what lies further from it than the shop's limit.
    """

    case_id: str = ""
    net: Weight | None = None
    pieces: tuple[Weight, ...] | None = None
    tare: str | None = None
    ticket: str | None = None
    asked: Weight | None = None
    agreed: bool = False


@dataclass(frozen=True, slots=True)
class NewPayment:
    """How a sale is paid: cash, card, other or account; `given` is cash laid on the counter."""

    way: str
    given: Money | None = None


@dataclass(frozen=True, slots=True)
class Gap:
    """What the scale says against what was asked.

    `share` is the gap over the asked weight, below zero where it is less; `beyond` tells whether
    the shop asks before it is sold.
    """

    asked: Weight
    net: Weight
    asked_money: Money
    money: Money
    share: Fraction
    beyond: bool

    @property
    def is_over(self) -> bool:
        """Tell whether it is more than asked."""
        return self.net > self.asked

    @property
    def weight(self) -> Weight:
        """Return the gap without a sign."""
        return self.net - self.asked if self.is_over else self.asked - self.net

    @property
    def percent(self) -> Decimal:
        """Return the gap in per cent of the asked weight, without a sign."""
        return decimal_of(abs(self.share) * 100, _PERCENT_PLACES)

    @property
    def words(self) -> str:
        """Return it in words, e.g. ``0.08 lb over (8.0 %)``; empty where there is none."""
        if not self.share:
            return ""
        side = "over" if self.is_over else "under"
        return f"{self.weight.text(self.net.unit)} {side} ({self.percent} %)"


def gap_of(asked: Weight, net: Weight, price: UnitPrice, rule: Rounding, *, limit: Decimal) -> Gap:
    """Return how far the scale is from what was asked.

    Parameters
    ----------
    asked, net : Weight
        Both above zero.
    price : UnitPrice
        Of the line.
    rule : Rounding
        Of the last cent.
    limit : Decimal
        Share of the asked weight, over or under, beyond which the customer is asked.

    Examples
    --------
    >>> from collop.measures import WeightUnit
    >>> one, scale = Weight.of("1", WeightUnit.LB), Weight.of("1.08", WeightUnit.LB)
    >>> price = UnitPrice.of("7.80", WeightUnit.LB)
    >>> found = gap_of(one, scale, price, Rounding.HALF_UP, limit=Decimal("0.10"))
    >>> found.words, str(found.asked_money), str(found.money), found.beyond
    ('0.08 lb over (8.0 %)', '7.80', '8.42', False)
    """
    share = Fraction(net.count - asked.count, asked.count)
    return Gap(
        asked, net, price.line(asked, rule), price.line(net, rule), share,
        abs(share) > Fraction(limit),
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class EstimatedLine:
    """One line as it would be sold now; `trouble` is why it would be refused, empty if not.

    `half_cent` names the rounding rule where the exact money ends on half a cent.
    """

    case_id: str
    name: str
    net: Weight
    price: UnitPrice
    money: Money
    half_cent: str
    ticket: str | None
    lot: str | None
    gap: Gap | None
    trouble: str


@dataclass(frozen=True, slots=True)
class Estimate:
    """What lines would come to now: `totals` has tax and cash."""

    lines: tuple[EstimatedLine, ...]
    totals: SlipTotals

    @property
    def trouble(self) -> str:
        """Return the first reason why it would be refused; empty if it would not."""
        return next((one.trouble for one in self.lines if one.trouble), "")


@dataclass(frozen=True, slots=True)
class Payment:
    """Money that was noted: `what` it was for, and the `way`; `given` is cash laid down."""

    booking_id: str
    what: str
    way: str
    amount: Money
    note: str
    at: datetime
    by: str | None
    given: Money | None = None

    @property
    def change(self) -> Money | None:
        """Return what went back over the counter; None where nothing was said of it."""
        return None if self.given is None else self.given - self.amount


@dataclass(frozen=True, slots=True)
class Returned:
    """Weight that came back over the glass: money and tax of it; it went into the bin."""

    line_id: str
    case_id: str
    name: str
    weight: Weight
    money: Money
    tax: Money
    why: str
    at: datetime
    by: str | None

    @property
    def total(self) -> Money:
        """Return the money with tax."""
        return self.money + self.tax


@dataclass(frozen=True, slots=True, kw_only=True)
class SlipMoney:
    """What a booking or a sale comes to, and what of it was noted.

    Parameters
    ----------
    booking_id, name, kind, state : str
        Which, whose, and how far it has come.
    at : datetime or None
        When it went; None before.
    lines, tax, total : Money
        Of the slip; zero before it has gone.
    deposit : Money
        What is taken off, as it was booked.
    payments : tuple of Payment
        In the order they were noted.
    returned : Money
        With tax, of what came back.
    rounding : Money
        What cash was rounded by.
    due : Money
        Still to pay; below zero it is to be given back. What is on account is due as well.
    """

    booking_id: str
    name: str
    kind: str
    state: str
    at: datetime | None
    lines: Money
    tax: Money
    total: Money
    deposit: Money
    payments: tuple[Payment, ...]
    returned: Money
    rounding: Money
    due: Money
    cash_rule: str

    def noted(self, what: str, *ways: str) -> Money:
        """Return the sum noted of one kind, by some ways or by any."""
        fits = (one for one in self.payments if one.what == what)
        amounts = (one.amount for one in fits if not ways or one.way in ways)
        return sum_money(amounts, self.total.currency)

    @property
    def paid(self) -> Money:
        """Return what was paid on the slip, without its deposit and what is on account."""
        return self.noted("payment", "cash", "card", "other")

    @property
    def on_account(self) -> Money:
        """Return what is still to be paid later, by agreement."""
        none = Money(0, self.total.currency)
        return max(none, min(self.noted("payment", "account"), self.due))

    @property
    def open(self) -> Money:
        """Return what is due and not on account; zero where money is to be given back."""
        return max(Money(0, self.total.currency), self.due - self.on_account)

    @property
    def deposit_due(self) -> Money:
        """Return what of the deposit nobody noted yet."""
        return max(Money(0, self.total.currency), self.deposit - self.noted("deposit"))

    @property
    def deposit_words(self) -> str:
        """Return what the deposit is called: paid only as far as somebody noted it."""
        if not self.deposit_due.minor:
            return "Deposit paid"
        if self.deposit_due == self.deposit:
            return "Deposit, not noted"
        return f"Deposit, {self.deposit_due} of it not noted"


@dataclass(frozen=True, slots=True)
class DepositWord:
    """What the shop's written rule says of a deposit: its sentence, and what goes back."""

    words: str
    paid: Money
    back: Money
    keep: Money


@dataclass(frozen=True, slots=True)
class BackNotNoted:
    """What was given back of a deposit of which less was noted: which, whose, how much."""

    booking_id: str
    name: str
    money: Money
    in_cash: bool

    @property
    def words(self) -> str:
        """Return it in a sentence."""
        short = "the drawer" if self.in_cash else "what came in"
        return (f"{self.money} given back of a deposit that was not noted: note it,"
                f" or {short} is short by it.")  # fmt: skip


@dataclass(frozen=True, slots=True)
class TakingsSlip:
    """One slip of a day with its money."""

    money: SlipMoney
    taxes: tuple[ClassTax, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Takings:
    """The money of one day.

    `lines` + `tax` = `total`, to the cent, over the slips of the day. `ways` has for each way what
    came in and what went out; "account" is promised, no money. `drawer` is cash in less cash out,
    beside the float. `unpaid` are slips of the day nobody noted the money of; `back_not_noted` is
    what went out of deposits that never came in.
    """

    day: date
    slips: tuple[TakingsSlip, ...]
    returns: tuple[Returned, ...]
    lines: Money
    tax: Money
    total: Money
    taxes: tuple[ClassTax, ...]
    returned: Money
    returned_tax: Money
    ways: Mapping[str, tuple[Money, Money]] = field(default_factory=dict)
    deposits_taken: Money
    deposits_used: Money
    deposits_back: Money
    deposits_kept: Money
    earlier: Money
    rounding: Money
    drawer: Money
    back_not_noted: tuple[BackNotNoted, ...] = ()

    @property
    def unpaid(self) -> tuple[SlipMoney, ...]:
        """Return the slips of the day with money due that is not on account."""
        return tuple(one.money for one in self.slips if one.money.open.minor)

    @property
    def to_give_back(self) -> tuple[SlipMoney, ...]:
        """Return the slips of the day on which money is still to be given back."""
        return tuple(one.money for one in self.slips if one.money.due.minor < 0)

    @property
    def without_deposit(self) -> tuple[SlipMoney, ...]:
        """Return the slips of the day whose deposit was taken off and never noted as paid."""
        return tuple(one.money for one in self.slips if one.money.deposit_due.minor)

    @property
    def deposits_not_noted(self) -> Money:
        """Return the sum of these deposits: nobody said in which drawer it lies."""
        return sum_money((one.deposit_due for one in self.without_deposit), self.total.currency)

    @property
    def deposits_back_not_noted(self) -> Money:
        """Return what went out of deposits that never came in."""
        return sum_money((one.money for one in self.back_not_noted), self.total.currency)

    @property
    def net(self) -> Money:
        """Return the lines of the day less what came back, without tax."""
        return self.lines - self.returned


@dataclass(frozen=True, slots=True)
class OnAccount:
    """Slips that one name pays later, oldest first, and their sum."""

    name: str
    slips: tuple[SlipMoney, ...]

    @property
    def due(self) -> Money:
        """Return what is still to be paid."""
        return sum_money((one.on_account for one in self.slips), self.slips[0].total.currency)
