"""Tax by class and cash to five cents, on invented rates of ours."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue, ProblemError
from collop.measures import Money
from collop.rules.taxing import CASH_RULES, TaxClass, TaxLine, cash_total, rate_on, taxes
from collop.rules.taxing_reading import (
    MOST_CLASSES,
    keep_classes,
    read_classes,
    read_tax_name,
)

DAY = date(2026, 6, 10)


def test_each_class_has_its_own_line():
    """Raw meat bears nothing, pies and knives their own rates; all is in the total."""
    rates = read_classes(
        [{"name": "prepared", "percent": "8.25"}, {"name": "goods", "percent": "6"}]
    )
    lines = [
        TaxLine(None, Money.of("40.74")), TaxLine("prepared", Money.of("12.38")),
        TaxLine("goods", Money.of("30.00")), TaxLine("prepared", Money.of("7.00")),
    ]  # fmt: skip
    found = taxes(lines, rates, on=DAY)
    told = [(one.name, str(one.base), str(one.tax)) for one in found.classes]
    assert told == [("goods", "30.00", "1.80"), ("prepared", "19.38", "1.60")]
    assert (str(found.before), str(found.tax), str(found.total)) == ("90.12", "3.40", "93.52")
    assert found.cautions == ()


def test_no_class_no_tax():
    """A slip whose lines have no class, or without lines, has no tax line."""
    for lines in ([TaxLine(None, Money.of("40.74"))], []):
        found = taxes(lines, [], on=DAY)
        assert (found.classes, found.tax.minor) == ((), 0)
        assert found.total == found.before


def test_a_rate_holds_for_its_days():
    """The day before, the days of, and the day after: both ends are included."""
    rates = read_classes(
        [{"name": "prepared", "percent": "8", "until": "2026-06-30"},
         {"name": "prepared", "percent": "8.25", "from": "2026-07-01", "until": "2026-12-31"}]
    )  # fmt: skip
    assert rate_on(rates, "prepared", date(2026, 6, 30)) == 8
    assert rate_on(rates, "prepared", date(2026, 7, 1)) == Fraction("8.25")
    assert rate_on(rates, "prepared", date(2026, 12, 31)) == Fraction("8.25")
    assert rate_on(rates, "prepared", date(2027, 1, 1)) is None


def test_a_class_without_a_rate_is_said_not_guessed():
    """Nothing is added, and a sentence tells which class and day."""
    found = taxes([TaxLine("prepared", Money.of("10"))], [], on=DAY)
    assert (found.tax.minor, found.classes[0].percent) == (0, None)
    assert found.cautions == (
        "No rate of prepared holds on 2026-06-10, so no tax was added; set one with its days.",
    )


def test_two_rates_at_once_are_refused():
    """By the kernel, even if a list was put together by hand."""
    twice = [TaxClass(name="a", percent=Fraction(1)), TaxClass(name="a", percent=Fraction(2))]
    with pytest.raises(BadValue, match="Two rates"):
        taxes([TaxLine("a", Money.of("1"))], twice, on=DAY)


@given(
    st.lists(st.tuples(st.sampled_from([None, "a", "b"]), st.integers(0, 10**7)), max_size=12),
    st.sampled_from(["invoice", "item"]),
)
def test_taxes_add_up(lines, per):
    """Total is lines and taxes; the tax of a class is within half a cent of exact, a line each."""
    rates = read_classes([{"name": "a", "percent": "7.125"}, {"name": "b", "percent": "0"}])
    found = taxes([TaxLine(name, Money(minor)) for name, minor in lines], rates, on=DAY, per=per)
    assert found.before.minor == sum(minor for _, minor in lines)
    assert found.total == found.before + found.tax
    assert found.tax.minor == sum(one.tax.minor for one in found.classes)
    for one in found.classes:
        count = sum(name == one.name for name, _ in lines) if per == "item" else 1
        exact = one.base.minor * (one.percent or 0) / 100
        assert abs(one.tax.minor - exact) <= Fraction(count, 2)


@given(st.integers(-(10**6), 10**6), st.sampled_from(CASH_RULES))
def test_cash_is_near_and_has_no_cents(minor, rule):
    """Exact total and rounding line make what is paid; down is never over, near within 2 cents."""
    found = cash_total(Money(minor), rule)
    assert found.to_pay - found.rounding == Money(minor)
    if rule == "off":
        assert found.rounding.minor == 0
        return
    assert found.to_pay.minor % 5 == 0
    if rule == "down-5":
        assert -5 < found.rounding.minor <= 0
    elif minor not in (1, 2):
        assert abs(found.rounding.minor) <= 2


def test_other_currencies():
    """Yen have no cents and stay; a dinar has a thousand parts, so five cents are fifty."""
    assert cash_total(Money(1234, "JPY"), "nearest-5").to_pay.minor == 1234
    assert cash_total(Money(1224, "KWD"), "nearest-5").to_pay.minor == 1200
    assert cash_total(Money(1226, "KWD"), "nearest-5").to_pay.minor == 1250


def test_money_of_two_currencies_is_not_added():
    """One sentence, no sum."""
    lines = [TaxLine(None, Money(1)), TaxLine(None, Money(1, "CAD"))]
    with pytest.raises(BadValue):
        taxes(lines, [], on=DAY)


@pytest.mark.parametrize("rule", ["up-5", "", "x" * 1000])
def test_an_unknown_rule_is_refused(rule):
    """Cash rules and bases are named."""
    with pytest.raises(BadValue):
        cash_total(Money(1), rule)
    with pytest.raises(BadValue):
        taxes([], [], on=DAY, per=rule)


WRONG = [
    ("prepared 8", "up to 40"), ({}, "up to 40"), (None, "up to 40"), ([1], "an object"),
    ([{"name": "a"}] * (MOST_CLASSES + 1), "up to 40"), ([{}], "name"),
    ([{"name": "a"}], "percent"), ([{"name": "", "percent": "1"}], "name"),
    ([{"name": "a;b", "percent": "1"}], "name"), ([{"name": "x" * 31, "percent": "1"}], "name"),
    ([{"name": "x" * 10_000, "percent": "1"}], "name"), ([{"name": 5, "percent": "1"}], "name"),
    ([{"name": "a", "percent": 8.25}], "percent"), ([{"name": "a", "percent": "101"}], "percent"),
    ([{"name": "a", "percent": "-1"}], "percent"), ([{"name": "a", "percent": "NaN"}], "percent"),
    ([{"name": "a", "percent": "1e-999999"}], "percent"),
    ([{"name": "a", "percent": "0.1234567"}], "percent"),
    ([{"name": "a", "percent": "1", "from": "July"}], "a day"),
    ([{"name": "a", "percent": "1", "until": 5}], "a day"),
    ([{"name": "a", "percent": "1", "from": "2026-07-02", "until": "2026-07-01"}], "before"),
    ([{"name": "a", "percent": "1", "since": "2026-07-02"}], "not a known key"),
    ([{"name": "a", "percent": "1"}, {"name": "a", "percent": "2"}], "same day"),
    ([{"name": "a", "percent": "1", "until": "2026-07-01"},
      {"name": "a", "percent": "2", "from": "2026-07-01"}], "same day"),
    ([{"name": "a", "percent": "1", "from": "2026-07-01"},
      {"name": "a", "percent": "2", "from": "2026-08-01"}], "same day"),
]  # fmt: skip


@pytest.mark.parametrize(("value", "word"), WRONG)
def test_wrong_classes_are_refused(value, word):
    """Each with one sentence that names the setting or the value."""
    with pytest.raises(ProblemError) as told:
        read_classes(value)
    assert word in told.value.message
    assert told.value.where


def test_classes_are_kept_as_they_are_read():
    """What is kept reads back the same, in order of name and day, rates as they were written."""
    kept = [
        {"name": "goods", "percent": "6", "from": None, "until": None},
        {"name": "prepared", "percent": "8", "from": None, "until": "2026-06-30"},
        {"name": "prepared", "percent": "8.25", "from": "2026-07-01", "until": None},
    ]
    read = read_classes(list(reversed(kept)))
    assert keep_classes(read) == kept
    assert read_classes(read) == read


def test_names_are_held_to_their_kind():
    """A name is tidied; one with a mark that parts classes is refused."""
    assert read_tax_name(" hot  food ") == "hot food"
    with pytest.raises(BadValue):
        read_tax_name("a%")


def test_a_class_tells_itself():
    """With its rate as it is written, or that it has none."""
    rates = read_classes([{"name": "prepared", "percent": "8.250"}])
    lines = [TaxLine("prepared", Money.of("10"))]
    assert taxes(lines, rates, on=DAY).classes[0].words == "prepared 8.25 %"
    assert taxes(lines, [], on=DAY).classes[0].words == "prepared, no rate"
