"""Records, limits of sales, recall and hazard plan as published in the table on tracing.

Rows that are quotations, and so no computation here: TR001 to TR007, TR009 to TR013 and TR016 (what
a grind record holds; the record itself is tested with the makings), TR021 to TR025 (places and
papers of records), TR054 and TR055 (what a store without inspection may not do), TR070 and TR072
to TR075 (tracing of other food, which no sum here uses).
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.measures import Weight, WeightUnit
from collop.reference.rulebook import rule_rows
from collop.rules import (
    RetailSales,
    haccp_principles,
    keep_until,
    normal_retail,
    recall_class,
    retail_limit,
    retail_verdict,
)

QUOTED = {
    *(f"TR{number:03d}" for number in (*range(1, 8), *range(9, 14), 16, *range(21, 26), 54, 55, 70,
                                       *range(72, 76))),
}  # fmt: skip
TESTED = {
    "TR017", "TR018", "TR048", "TR050", "TR052",
    *(f"TR{number:03d}" for number in (*range(28, 48), *range(56, 61), *range(64, 67),
                                       *range(77, 84))),
}  # fmt: skip
# year, source, meat, poultry
LIMITS = [
    (2003, "RET2003", 47000, 41600), (2004, "RET2004", 53600, 43600),
    (2005, "RET2005", 54500, 45800), (2008, "RET2009", 56900, 46700),
    (2009, "RET2009", 60200, 49400), (2014, "RET2015", 70400, 57100),
    (2015, "RET2015", 76900, 58200), (2016, "RET2016", 79200, 58200),
    (2024, "RET2024", 100900, 74200), (2025, "RET2025", 103600, 74800),
]  # fmt: skip


def sales(meat="0", poultry="0", others=None, total="10000000"):
    """Return sales of a year in dollars."""
    sold = Decimal(meat) + Decimal(poultry) if others is None else Decimal(others)
    return RetailSales(Decimal(meat), Decimal(poultry), sold, Decimal(total))


def test_each_row_that_was_read_is_tested_or_said_to_be_a_quotation():
    """No cited row is left out, and no row from memory is among the tested ones."""
    cited = {row.rule_id for row in rule_rows("trace", cited_only=True)}
    assert cited == TESTED | QUOTED


def test_grind_records_are_kept_a_year():
    """CFR320_3, 9 CFR 320.3(c): one year from the day of grinding."""
    found = keep_until("grind", date(2026, 6, 10))
    assert (found.until, found.row.source.source_id) == (date(2027, 6, 10), "CFR320_3")


@pytest.mark.parametrize("day", [date(2026, 1, 1), date(2026, 3, 10), date(2026, 12, 31)])
def test_other_records_are_kept_two_years_after_the_end_of_the_year(day):
    """CFR320_3, 9 CFR 320.3(a): two years after 31 December of the year of the transaction."""
    assert keep_until("traded", day).until == date(2028, 12, 31)


@pytest.mark.parametrize(("year", "source", "meat", "poultry"), LIMITS)
def test_the_limits_of_each_published_year(year, source, meat, poultry):
    """RET2003 to RET2025, USDA FSIS notices: sales to hotels, restaurants and institutions."""
    found = retail_limit(year)
    assert (found.meat, found.poultry, found.of_year, found.caution) == (meat, poultry, year, "")
    assert {row.source.source_id for row in found.rows} == {source}
    over = [line.state for line in retail_verdict(sales(meat=f"{meat}.01"), year)]
    just = [line.state for line in retail_verdict(sales(meat=str(meat)), year)]
    assert (over[0], just[0]) == ("over", "near")
    birds = retail_verdict(sales(poultry=f"{poultry}.01"), year)
    assert [line.state for line in birds] == ["within", "over", "within"]


def test_the_change_of_2025_is_that_of_the_notice():
    """FR90RET, 90 FR 11699: 2,700 dollars more for meat, 600 more for poultry than 2024."""
    new, old = retail_limit(2025), retail_limit(2024)
    assert (new.meat - old.meat, new.poultry - old.poultry) == (2700, 600)


def test_a_limit_moves_by_more_than_five_hundred_dollars_or_not_at_all():
    """FR90RET, 90 FR 11699: it is adjusted when prices move it by more than 500 dollars."""
    for before, after in pairwise(LIMITS):
        for column in (2, 3):
            step = after[column] - before[column]
            assert step == 0 or step > 500, (before[0], after[0])


def test_a_quarter_of_all_sales_at_most_goes_to_others():
    """FR90RET, 90 FR 11699: 25 percent; whichever limit is passed first ends the exemption."""
    just = retail_verdict(sales(others="25000", total="100000"), 2025)[2]
    over = retail_verdict(sales(others="25000.01", total="100000"), 2025)[2]
    assert (just.state, over.state) == ("near", "over")


@given(st.integers(0, 12_000_000))
def test_the_verdict_follows_the_limit_to_the_cent(cents):
    """RET2025, notice of 2025: 103,600 dollars; warnings at 80 % and 95 % are our own figure."""
    sold = Decimal(cents) / 100
    found = retail_verdict(sales(meat=str(sold)), 2025)[0].state
    whole = 103_600 * 100
    wanted = "within"
    if cents > whole:
        wanted = "over"
    elif cents * 100 >= whole * 95:
        wanted = "near"
    elif cents * 100 >= whole * 80:
        wanted = "warn"
    assert found == wanted


@pytest.mark.parametrize(
    ("species", "pounds"),
    [("cattle", "300"), ("calves", "37.5"), ("sheep", "27.5"), ("swine", "100"), ("goats", "25")],
)
def test_normal_quantities_of_one_sale(species, pounds):
    """LANRQ, La. Admin. Code 7:XXXIII-103 (9 CFR 303.1(d)(2)(ii)): pounds of one sale."""
    limit = Weight.of(pounds, WeightUnit.LB)
    just = normal_retail(species, limit)
    over = normal_retail(species, Weight.of(str(Decimal(pounds) + Decimal("0.01")), WeightUnit.LB))
    assert (just.limit, just.is_over, over.is_over) == (limit, False, True)
    assert just.row.source.source_id == "LANRQ"


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("reasonable probability of serious harm or death", "Class I"),
        ("remote probability of harm", "Class II"),
        ("will not cause harm", "Class III"),
    ],
)
def test_the_classes_of_recall(words, name):
    """RECALLC, USDA recall classifications: three classes by how likely harm is."""
    found = recall_class(words)
    assert (found.name, found.words, found.row.source.source_id) == (name, words, "RECALLC")


def test_the_seven_principles_in_their_order():
    """HACCP7, restating NACMCF and Codex: hazard, points, limits, monitor, correct, verify."""
    firsts = [row.value.split()[0] for row in haccp_principles()]
    assert firsts == ["conduct", "find", "set", "monitor", "set", "verify", "keep"]
    assert [row.text for row in haccp_principles()] == [f"principle {one}" for one in range(1, 8)]
