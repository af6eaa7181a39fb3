"""The two weeks of `benchmarks/loop`: they run, weights balance, a seed is the same trade."""

from __future__ import annotations

import sys
from decimal import Decimal
from pathlib import Path

import pytest

LOOP = Path(__file__).parents[2] / "benchmarks" / "loop"
sys.path.insert(0, str(LOOP))

import loop_counter  # noqa: E402 -- they lie beside the package, not in it
import loop_customers  # noqa: E402
import loop_report  # noqa: E402
import loop_shop  # noqa: E402
import loop_store  # noqa: E402
import loop_trade  # noqa: E402

from collop.shop.bench_worth import worth_sold  # noqa: E402

SEED, DAYS = 501, (0, 1, 2)
#: To let the tests be quick, parties are fewer; the trade is the same in all else.
FEW = 2


@pytest.fixture(autouse=True)
def few_parties(monkeypatch):
    """Let so few parties come that three days are quick."""
    monkeypatch.setattr(loop_customers, "LEAST_ASKS", FEW)
    monkeypatch.setattr(loop_customers, "MORE_ASKS", 1)


@pytest.fixture(scope="module")
def usual():
    return loop_trade.usual_figures()


@pytest.mark.parametrize("way", loop_trade.WAYS)
def test_three_days_balance_and_come_out_the_same_again(usual, way):
    """What came in was sold, binned, lost or is still there; run again, each figure is the same."""
    row = loop_trade.trade(SEED, way, usual, DAYS)
    where = row["where_mlb"]
    went = sum(where.get(name, 0) for name in ("sold", "bone", "air and saw", "binned"))
    there = row["left_mlb"] + row["trim_left_mlb"] + row["hanging_mlb"] + row["held_mlb"]
    assert where["in"] == went + there
    assert sum(row["sold_by_cut_mlb"].values()) == where["sold"]
    assert sum(row["binned_by_cut_mlb"].values()) == where.get("binned", 0)
    assert row["said"]["asks"] >= FEW * len(DAYS)
    assert row["takings"] > 0
    if way in {"loop", "neither"}:
        assert loop_trade.trade(SEED, way, usual, DAYS) == row


def test_the_customers_and_animals_are_the_same_for_every_way():
    """People, bookings and animals come of the seed alone; another seed brings others."""
    assert loop_customers.customers(7) == loop_customers.customers(7)
    assert loop_customers.customers(7) != loop_customers.customers(8)
    by_rule = [loop_shop.deliveries(7, rule) for rule in loop_shop.RULES]
    bought = [[(one.tag, one.mlb, one.cost, one.comes) for one in rows] for rows in by_rule]
    assert bought[0] == bought[1]


def test_a_cut_that_the_same_style_gives_weighs_the_same_whoever_decided():
    """Weights of a piece come of its tag and style, so that luck is not taken for skill."""
    animal = loop_shop.deliveries(3)[0]
    stores = [loop_store.Store(3) for _ in range(2)]
    for store in stores:
        store.receive(animal)
        store.cut_up(animal.tag, loop_shop.KINDS[animal.kind][1][0], 0)
        store.check()
    assert stores[0].stock == stores[1].stock


def test_weight_that_is_lost_from_the_books_is_found_out():
    """The balance is no formality: a pound that vanishes stops the run."""
    store = loop_store.Store(1)
    store.receive(loop_shop.deliveries(1)[0])
    next(iter(store.rail.values())).mlb -= 1000
    with pytest.raises(RuntimeError, match="came in"):
        store.check()


def test_the_counter_reads_a_plan_as_the_shop_does(usual):
    """What a pound is worth elsewhere is the shop's own reading of the cutting plan."""
    shop = loop_trade._Shop(SEED, loop_trade.WAYS["loop"], usual)
    shop.morning(0)
    for cut in shop.plan["cuts"]:
        for day in range(len(shop.plan["days"])):
            assert loop_counter.worth_elsewhere(cut, day) == worth_sold(cut, day)


def test_what_will_not_keep_is_ground_or_binned_and_never_sold():
    """At the close old stock goes: to trim where it may, else to the bin; good stock stays."""
    store = loop_store.Store(1)
    store.where["in"] = 3000
    store.put(store.stock["L4"], 1000, 0)
    store.put(store.stock["L8"], 1000, 0)
    store.put(store.stock["L1"], 1000, 3)
    store.close(0)
    assert store.binned["L4"] == 1000
    assert store.free(store.trim["lamb-trim"], 1) == 950
    assert store.free(store.stock["L1"], 1) == 1000
    store.check()


def test_the_report_counts_seeds_that_lose():
    """Mean, interval and quartiles of known differences; a seed that is worse is counted."""
    got = loop_report.differences([1.0, 2.0, 3.0, -1.0, 5.0], less_is_better=False)
    assert got["mean"] == 2.0
    assert got["worse"] == 1
    # Student's t at 97.5 % with 4 degrees is 2.776 (any table); sd of these five is 2.236
    assert got["to"] - got["mean"] == pytest.approx(2.776 * 2.236 / 5**0.5, rel=1e-3)
    assert loop_report.differences([1.0, 2.0, -1.0], less_is_better=True)["worse"] == 2


def test_money_is_rounded_half_up():
    """4.15 lb at 8.90 is 36.935: 36.94."""
    assert loop_store.cents(4150, 890) == 3694
    assert Decimal(loop_store.cents(1000, 890)) / 100 == Decimal("8.90")
