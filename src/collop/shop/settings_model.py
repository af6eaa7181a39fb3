"""The shop's own choices, as a frozen record."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from decimal import Decimal

from collop.measures import Rounding, Weight, WeightUnit
from collop.rules.taxing import TaxClass
from collop.shop.bench_choices import BenchHand

__all__ = ["Settings"]

_SCALE_STEP = Weight.of("0.02", WeightUnit.LB)


def _starting_worths() -> dict[str, Decimal]:
    return {
        "trim": Decimal(3), "fat": Decimal("0.3"), "bone": Decimal("0.2"),
        "fat_bone": Decimal(0), "scrap": Decimal(0),
    }  # fmt: skip


@dataclass(frozen=True, slots=True)
class Settings:
    """The shop's own choices.

    `open_days` counts Monday as 0; `closed_dates` are shut beside them, `opened_dates` open though
    they would be shut. `scale_step` is the standard deviation of one reading of the
    bench scale. `rail_carries` is the most that may hang. `papers` must come with an animal.
    `demo_start` is when a demo shop's clock begins.

    Of prices: `target_margin` is the share of sales to be left after cost; `labour_per_hour` is
    money; `price_jump` is the share of the price in force beyond which a change needs a reason;
    prices end on one of `price_endings`, or, without any, on a multiple of `price_step`; `worths`
    is money per legal unit of parts that are no cuts, by kind; `moves_from` is when the last-days
    list of the day begins; `price_cap` is how many times its price a cut may rise. All of these
    begin with figures of ours, not published ones: put in your own.

    Of the cutting room: `hands` are at the block, with their minutes; `case_room` is the most
    weight the case holds at night, None for no limit; `cut_room_f` is how warm the room is in
    degrees F, which says how often it is cleaned down.

    At the glass: `over_share` is how far a weight may lie from what was asked before the customer
    is asked, as a share of it. `deposit_words` is the written rule of deposits, made from its
    figures where it is empty; all is given back up to `deposit_hours` before collection, and after
    that `deposit_kept`, a share, is kept. These figures too are ours: common practice, no
    published source.

    Of the till: `tax_classes` are the shop's own, none at the start; `tax_per` says what of a slip
    is rounded to the cent, `cash_rounding` how its total is paid in cash; see
    `collop.rules.taxing`.
    """

    name: str
    place: str = ""
    currency: str = "USD"
    rounding: Rounding = Rounding.HALF_UP
    legal_unit: WeightUnit = WeightUnit.LB
    quote_hold_minutes: int = 60
    demo: bool = False
    open_days: tuple[int, ...] = (1, 2, 3, 4, 5)
    opens: time = time(8, 0)
    closes: time = time(18, 0)
    closed_dates: tuple[date, ...] = ()
    opened_dates: tuple[date, ...] = ()
    scale_step: Weight = _SCALE_STEP
    rail_carries: Weight | None = None
    papers: tuple[str, ...] = ("inspection mark", "invoice")
    demo_start: datetime | None = None
    target_margin: Decimal = Decimal("0.35")
    labour_per_hour: Decimal = Decimal(24)
    price_jump: Decimal = Decimal("0.15")
    price_endings: tuple[Decimal, ...] = ()
    price_step: Decimal = Decimal("0.05")
    worths: Mapping[str, Decimal] = field(default_factory=_starting_worths)
    moves_from: time = time(16, 0)
    price_cap: Decimal = Decimal("1.25")
    hands: tuple[BenchHand, ...] = ()
    case_room: Weight | None = None
    cut_room_f: Decimal = Decimal(50)
    tax_classes: tuple[TaxClass, ...] = ()
    tax_per: str = "invoice"
    cash_rounding: str = "off"
    over_share: Decimal = Decimal("0.10")
    deposit_words: str = ""
    deposit_hours: int = 48
    deposit_kept: Decimal = Decimal("0.5")

    def is_open(self, day: date) -> bool:
        """Tell whether customers are served on `day`."""
        usual = day.weekday() in self.open_days or day in self.opened_dates
        return usual and day not in self.closed_dates
