"""Every setting of the rules, with its figure read from the row it belongs to."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import cache

from collop.errors import ReferenceTableError
from collop.reference.rulebook import PublishedRule, rule_row, rule_rows
from collop.rules.editions import EDITIONS, USUAL_EDITION
from collop.rules.settings_model import Setting, plain

__all__ = ["DATE_WORDS", "KEPT_CLASSES", "fridge_days", "last_published_year", "settings_list"]

_HOURS = re.compile(r"(\d+) h\b")
_FRIDGE = re.compile(r"fridge (\d+)(?:-(\d+))? (d|wk)")
_YEAR = re.compile(r"calendar (\d{4})\b")
_YEARS_AHEAD = 5
#: What may stand beside a date on a ticket; the first is ours.
DATE_WORDS = ("use or freeze by", "use by", "sell by", "best if used by")
#: Class of food, what it is called, and the rows of the storage chart it is ruled by.
KEPT_CLASSES: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "whole": ("steaks, chops and roasts", ("SF099", "SF100", "SF101")),
    "ground": ("mince", ("SF102",)),
    "sausage": ("raw sausage", ("SF103",)),
    "poultry": ("poultry", ("SF105", "SF106")),
    "offal": ("liver, heart, tongue and kidney", ("SF113",)),
    "bacon": ("bacon", ("SF104",)),
    "cooked": ("cooked meat", ("SF111", "SF112")),
}
# the rows of cleaning by the room's warmest [degF]
_CLEAN = {"41": "SF070", "45": "SF071", "50": "SF072", "55": "SF073", "warm": "SF074"}


def _figure(rule_id: str) -> str:
    found = rule_row(rule_id).figure
    if found is None:
        raise ReferenceTableError(f"The row {rule_id} has no figure; restore it.")
    return plain(found)


def _hours(rule_id: str, column: str = "when") -> str:
    found = _HOURS.search(getattr(rule_row(rule_id), column))
    if found is None:
        raise ReferenceTableError(f"The row {rule_id} has no hours; restore it.")
    return found[1]


def fridge_days(row: PublishedRule) -> tuple[int, int]:
    """Return the fewest and most days in a fridge that a row of the storage chart gives.

    Examples
    --------
    >>> fridge_days(rule_row("SF099")), fridge_days(rule_row("SF108"))
    ((3, 5), (14, 14))
    """
    found = _FRIDGE.match(row.value)
    if found is None:
        raise ReferenceTableError(f"The row {row.rule_id} has no days in a fridge; restore it.")
    each = 7 if found[3] == "wk" else 1
    low = int(found[1]) * each
    return low, int(found[2]) * each if found[2] else low


@cache
def last_published_year() -> int:
    """Return the last year of which the tables hold a limit of retail sales."""
    rows = rule_rows("trace", "retail_limit", cited_only=True)
    return max(int(year[1]) for row in rows if (year := _YEAR.match(row.text)))


def _temperatures() -> Iterator[Setting]:
    for name, label, rule_id, stricter, low, high, means in (
        ("cold_limit_f", "Cold holding, at most", "SF006", "lower", "28", "50",
         "A cold check over it asks what was done."),
        ("freezer_f", "Freezer, at most", "SF008", "lower", "-40", "10",
         "A freezer check over it asks what was done."),
        ("hot_holding_f", "Hot holding, at least", "SF007", "higher", "120", "212",
         "The clock of cooling and hot holding go by it."),
        ("receiving_f", "Meat on arrival, at most", "SF001", "lower", "28", "50",
         "An animal or a box that is over it is not taken in without more."),
    ):  # fmt: skip
        figure = _figure(rule_id)
        yield Setting(name=name, label=label, kind="temperature", rule_id=rule_id, unit="°F",
                      default=figure, limit=figure, stricter=stricter, low=low, high=high,
                      means=means)  # fmt: skip


def _times() -> Iterator[Setting]:
    for name, label, rule_id, column, means in (
        ("cooling_first_h", "Cooling from 135 F to 70 F, within", "SF012", "when",
         "The sums of the rules judge readings by it."),
        ("cooling_total_h", "Cooling from 135 F to 41 F, within", "SF013", "when",
         "The sums of the rules judge readings by it."),
        ("cooling_room_h", "Cooling from room temperature to 41 F, within", "SF014", "when",
         "The sums of the rules judge readings by it."),
        ("out_4h", "Out without cold or heat, plan of 4 hours", "SF019", "text",
         "It gives the time by which the food is cooked, sold or thrown away."),
        ("out_6h", "Out without cold, plan of 6 hours", "SF020", "when",
         "It gives the time by which cold food is thrown away; never over 70 F."),
    ):  # fmt: skip
        hours = _hours(rule_id, column)
        yield Setting(name=name, label=label, kind="hours", rule_id=rule_id, unit="h",
                      default=hours, limit=hours, stricter="lower", low="0.25", high="24",
                      means=means)  # fmt: skip
    for room, rule_id in _CLEAN.items():
        hours = _figure(rule_id)
        held = "over 55 F" if room == "warm" else f"{room} F or less"
        yield Setting(name=f"clean_{room}_h", label=f"Clean-down in a room at {held}, every",
                      kind="hours", rule_id=rule_id, unit="h", default=hours, limit=hours,
                      stricter="lower", low="0.5", high="48",
                      means="It tells when the next clean-down is due.")  # fmt: skip


def _days() -> Iterator[Setting]:
    days = _figure("SF015")
    yield Setting(name="date_mark_days", label="Ready-to-eat food kept, days with the day of "
                  "making", kind="days", rule_id="SF015", unit="days", default=days, limit=days,
                  stricter="lower", low="1", high="30",
                  means="It gives the last day of ready-to-eat food.")  # fmt: skip
    yield Setting(name="pack_days", label="Vacuum pack of raw meat kept", kind="days",
                  rule_id="SF061", unit="days", stricter="lower", low="1", high="90",
                  means="It gives the last day on a vacuum pack; the edition sets the most.",
                  )  # fmt: skip
    for kept, (called, rows) in KEPT_CLASSES.items():
        spans = [fridge_days(rule_row(one)) for one in rows]
        yield Setting(name=f"days_{kept}", label=f"In the fridge: {called}", kind="days",
                      rule_id=rows[0], unit="days", default=str(min(low for low, _ in spans)),
                      limit=str(min(high for _, high in spans)), stricter="lower", low="1",
                      high="60", means="The sums of the rules give the last day by it; it begins "
                      "at the fewest days of the chart and ends at the most. The date on a ticket "
                      "is that of its lot.")  # fmt: skip


def _last_limit(kind: str) -> Decimal:
    """Return the last published limit of retail sales of meat or poultry [US dollars]."""
    start = f"calendar {last_published_year()}: "
    rows = [row for row in rule_rows("trace", "retail_limit", cited_only=True)
            if row.text.startswith(start) and kind in row.text]  # fmt: skip
    return Decimal(_figure(rows[0].rule_id))


def _records() -> Iterator[Setting]:
    for name, label, rule_id in (
        ("grind_record_years", "Grind record kept", "TR017"),
        ("record_years", "Meat bought and sold: kept after the end of the year", "TR018"),
    ):
        years = _figure(rule_id)
        yield Setting(name=name, label=label, kind="years", rule_id=rule_id, unit="years",
                      default=years, limit=years, stricter="higher", low="0", high="30",
                      means="It gives the day through which a record is kept.")  # fmt: skip
    for year in range(last_published_year() + 1, last_published_year() + 1 + _YEARS_AHEAD):
        for kind in ("meat", "poultry"):
            yield Setting(name=f"retail_{kind}_{year}", kind="money", rule_id="TR049", unit="USD",
                          label=f"Sales of {kind} to hotels, restaurants and institutions, {year}",
                          low=plain(_last_limit(kind) / 2), high=plain(_last_limit(kind) * 2),
                          means="The notice of the year gives the figure; until "
                          "it is put in, the last published year is shown with a caution.",
                          )  # fmt: skip
    for name, label, usual in (
        ("retail_first_pct", "First warning at this share of the limit", "80"),
        ("retail_last_pct", "Last warning at this share of the limit", "95"),
    ):
        yield Setting(name=name, label=label, kind="percent", rule_id="TR053", unit="%",
                      default=usual, low="1", high="100",
                      means="Our own figure. It warns before the limit of the year is reached.",
                      )  # fmt: skip


def _words() -> Iterator[Setting]:
    yield Setting(name="food_code", label="Edition of the food code", kind="choice",
                  rule_id="SF125", default=USUAL_EDITION, choices=tuple(EDITIONS.items()),
                  means="It sets the days of vacuum packs and the holds of cooking where editions "
                  "differ. An older one is laxer in places, so ask your local authority which one "
                  "holds.")  # fmt: skip
    yield Setting(name="date_words", label="Words beside the date", kind="choice",
                  rule_id="LB128", default=DATE_WORDS[0],
                  choices=tuple((one, one) for one in DATE_WORDS),
                  means="They stand beside the date on every ticket.")  # fmt: skip
    yield Setting(name="rounding", label="Half a cent", kind="choice", rule_id="WM025",
                  default="half-up", choices=(("half-up", "half up"), ("half-even", "half even")),
                  elsewhere="-", means="It rounds the price of a line, once.")  # fmt: skip
    yield Setting(name="cash_rounding", label="Cash to 5 cents", kind="choice", rule_id="TX023",
                  default="off", elsewhere="/chalk/choices",
                  choices=(("off", "off"), ("nearest-5", "to the nearest 5 cents"),
                           ("down-5", "down to 5 cents")),
                  means="It rounds a total paid in cash, after tax.")  # fmt: skip


def _own() -> Iterator[Setting]:
    yield Setting(name="cold_checks_a_day", label="Cold checks a day", kind="count",
                  rule_id="OWN01", unit="a day", default="3", low="1", high="24",
                  means="The Day Book tells when the next one is due.")  # fmt: skip
    yield Setting(name="daybook_years", label="Checks of the Day Book kept", kind="years",
                  rule_id="OWN02", unit="years", default="1", low="1", high="30",
                  means="It gives the day through which a check is kept.")  # fmt: skip


@cache
def settings_list() -> Mapping[str, Setting]:
    """Return every setting by its name, in the order of the page."""
    made = (*_words(), *_temperatures(), *_times(), *_days(), *_records(), *_own())
    for one in made:
        if one.is_figure and one.default:
            assert Decimal(one.low) <= Decimal(one.default) <= Decimal(one.high), one.name
    return {one.name: one for one in made}
