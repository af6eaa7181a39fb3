"""Stock of the case becomes trim, another line, or frozen goods; not a count of weight is lost."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from wished import lb

from collop.errors import BadValue, CollopError, NotEnoughFree, WrongState
from collop.measures import UnitPrice, Weight, WeightUnit
from collop.shop import NewCaseLine, NewMaterial, NewTicket


def line_of(shop, case_id):
    """Return one line of the case."""
    return next(one for one in shop.case() if one.id == case_id)


def named(shop, name):
    """Return the line of a name."""
    return next(one for one in shop.case() if one.name == name)


def places(shop, lot_id):
    """Return what a lot has at each place, in pounds."""
    found = {}
    for one in shop.cutting.stock():
        if one.lot_id == lot_id:
            found[one.place] = str(one.weight.decimal(WeightUnit.LB, 2))
    return found


def all_counts(shop):
    """Return all weight in the shop, in counts."""
    return sum(one.weight.count for one in shop.cutting.stock())


def test_plain_stock_goes_to_the_trim_bin_with_its_lot(shop):
    """Four pounds of rump lie in the trim bin under the lot they had; a mince lot takes them."""
    before = line_of(shop, "C13")
    entry = shop.lockup.convert("C13", lb("4"), by="marek", key="t", why="dark edge")
    assert (entry.what, entry.lot_id, entry.into_case) == ("convert", before.lot, None)
    assert line_of(shop, "C13").free == before.free - lb("4")
    assert places(shop, before.lot)["trim"] == "4.00"
    material = NewMaterial(lot_id=before.lot, place="trim", weight=lb("4"))
    made = shop.making.open("beef", "G1", "Beef mince", material, by="marek", key="m")
    assert [one.lot_id for one in made.materials] == [before.lot]


def test_what_is_boned_on_the_way_is_weighed_and_the_bone_is_told(shop):
    """Five pounds of neck give 2.9 of meat; the rest is bone, all of the same animal."""
    before = line_of(shop, "C05")
    with pytest.raises(BadValue, match="without its bone"):
        shop.lockup.convert("C05", lb("5"), by="marek", key="a")
    entry = shop.lockup.convert("C05", lb("5"), gives=lb("2.9"), by="marek", key="b")
    assert places(shop, entry.lot_id) == {"bone": "2.10", "trim": "2.90"}
    assert shop.cutting.trace(entry.lot_id).up[1].lot_id == before.lot


@pytest.mark.parametrize(
    ("case_id", "says"),
    [
        ("C19", "more in it than plain meat"),
        ("C22", "more in it than plain meat"),
        ("C11", "is ground already"),
        ("C30", "never was frozen"),
        ("C33", "no fresh meat"),
        ("C32", "no meat on it"),
    ],
)
def test_what_is_never_ground(shop, case_id, says):
    """Links, seasoned goods, mince, frozen goods, cheese and bones are refused with the reason."""
    with pytest.raises(WrongState, match=says):
        shop.lockup.convert(case_id, lb("1"), gives=lb("1"), by="marek", key="t")


def test_another_line_is_made_of_stock_with_its_day_and_the_rest_told(shop):
    """Loin chops become nothing else of another animal; shoulder becomes neck with bone weighed."""
    before = line_of(shop, "C02")
    entry = shop.lockup.convert("C02", lb("6"), into="C05", gives=lb("5.4"), by="ines", key="k")
    lot = next(one for one in shop.cutting.stock() if one.lot_id == entry.lot_id)
    assert places(shop, entry.lot_id) == {"case": "5.40", "bone": "0.60"}
    assert lot.use_by <= before.use_by
    with pytest.raises(BadValue, match="is lamb, and"):
        shop.lockup.convert("C02", lb("1"), into="C13", by="ines", key="l")
    with pytest.raises(BadValue, match="send it to the trim bin"):
        shop.lockup.convert("C02", lb("1"), into="C06", by="ines", key="m")
    with pytest.raises(BadValue, match="cannot come of"):
        shop.lockup.convert("C02", lb("1"), into="C05", gives=lb("1.2"), by="ines", key="n")
    with pytest.raises(BadValue, match="freeze it instead"):
        shop.lockup.convert("C02", lb("1"), into="C28", by="ines", key="o")


def test_seasoned_goods_never_become_a_line_that_declares_less(shop):
    """The sesame of the marinade follows the meat."""
    with pytest.raises(BadValue, match="does not declare"):
        shop.lockup.convert("C25", lb("1"), into="C24", by="ines", key="k")


def test_freezing_makes_a_line_of_its_own_at_the_share_of_the_usual_price(shop):
    """Goat shoulder: 10.30 x 0.75 = 7.725, 7.73 half-up; what the packs lack is loss."""
    before = line_of(shop, "C31")
    entry = shop.lockup.freeze("C31", lb("6.2"), packed=lb("6.1"), by="kofi", key="f")
    made = named(shop, "Goat shoulder, diced, frozen")
    assert entry.into_case == made.id
    assert (made.form, made.species, made.cook_as) == ("frozen", "goat", before.cook_as)
    assert made.price.amount == Decimal("7.73")
    assert made.free == lb("6.1")
    assert line_of(shop, "C31").free == before.free - lb("6.2")
    assert made.days_left == 180
    facts = shop.tickets.facts(made.id).facts
    assert facts.item is None
    assert facts.product_class == shop.tickets.facts("C31").facts.product_class
    # the second time it goes on the same line, and is not frozen again
    again = shop.lockup.freeze("C31", lb("0.5"), by="kofi", key="g")
    assert again.into_case == made.id
    with pytest.raises(WrongState, match="is not frozen again"):
        shop.lockup.freeze(made.id, lb("1"), by="kofi", key="h")


def test_nothing_is_frozen_on_its_last_day_or_after(shop, clock):
    """Mince with one day left on Tuesday is frozen on Tuesday, and on Wednesday no more."""
    assert line_of(shop, "C06").days_left == 1
    shop.lockup.freeze("C06", lb("2"), by="kofi", key="a")
    clock.put(clock.now() + timedelta(days=1))
    with pytest.raises(NotEnoughFree, match=r"0\.00 lb of Lamb mince may be moved"):
        shop.lockup.freeze("C06", lb("2"), by="kofi", key="b")


def test_a_whole_bird_is_frozen_whole_with_its_own_pack(shop):
    """One bird of 4.10 lb goes; its pack weighs 4.05 and is one piece on the frozen line."""
    entry = shop.lockup.freeze(
        "C23", lb("4.1"), packed=lb("4.05"), parts=[lb("4.05")], by="kofi", key="a"
    )
    made = line_of(shop, entry.into_case)
    assert made.piece_lb == (lb("4.05"),)
    with pytest.raises(NotEnoughFree, match=r"in pieces of 4\.10 lb"):
        shop.lockup.freeze("C23", lb("3"), by="kofi", key="b")


@pytest.mark.parametrize(
    ("what", "named_args"),
    [
        ("convert", {"case_id": "C13", "weight": lb("4")}),
        ("convert", {"case_id": "C05", "weight": lb("5"), "gives": lb("2.9")}),
        ("convert", {"case_id": "C02", "weight": lb("6"), "into": "C05", "gives": lb("5.4")}),
        ("freeze", {"case_id": "C31", "weight": lb("6.2"), "packed": lb("6.1")}),
        ("freeze", {"case_id": "C23", "weight": lb("4.1"), "parts": [lb("4.1")]}),
        ("bin", {"case_id": "C03", "weight": lb("2"), "why": "dropped"}),
    ],
)
def test_what_was_done_is_taken_back_to_the_count(shop, clock, what, named_args):
    """Each act and its opposite leave every line as it was, and the ledger whole in between."""
    before = {one.id: (one.on_hand, one.free, one.piece_lb) for one in shop.case()}
    entry = getattr(shop.lockup, what)(**named_args, by="ines", key="a")
    assert shop.check() == []
    back = shop.lockup.undo(entry.seq, by="ines", key="b")
    assert back.weight.count == -entry.weight.count
    after = {one.id: (one.on_hand, one.free, one.piece_lb) for one in shop.case()}
    assert {key: after[key] for key in before} == before
    with pytest.raises(WrongState, match="taken back already"):
        shop.lockup.undo(entry.seq, by="ines", key="c")
    other = getattr(shop.lockup, what)(**named_args, by="ines", key="d")
    clock.put(clock.now() + timedelta(minutes=61))
    with pytest.raises(WrongState, match="more than an hour ago"):
        shop.lockup.undo(other.seq, by="ines", key="e")


def test_what_moved_on_is_not_taken_back(shop):
    """Trim that went into a mince lot stays there."""
    entry = shop.lockup.convert("C13", lb("4"), by="marek", key="t")
    material = NewMaterial(lot_id=entry.lot_id, place="trim", weight=lb("3"))
    shop.making.open("beef", "G1", "Beef mince", material, by="marek", key="m")
    with pytest.raises(WrongState, match="moved on from trim"):
        shop.lockup.undo(entry.seq, by="ines", key="b")


def test_the_same_key_does_it_once(shop):
    """Sent twice, the second answer is the first."""
    one = shop.lockup.freeze("C31", lb("1"), by="kofi", key="f")
    two = shop.lockup.freeze("C31", lb("1"), by="kofi", key="f")
    assert one == two
    assert line_of(shop, "C31").free == lb("6")


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    acts=st.lists(
        st.tuples(
            st.sampled_from(["convert", "freeze", "bin", "into", "count"]),
            st.sampled_from(["C02", "C05", "C06", "C13", "C23", "C27", "C31", "C28"]),
            st.integers(1, 9000), st.integers(1, 1000),
        ),
        min_size=1, max_size=5,
    )
)  # fmt: skip
def test_any_row_of_acts_leaves_the_ledger_whole(shop, acts):
    """Whatever is tried, what is refused changes nothing and what is done balances."""
    for number, (what, case_id, grams, share) in enumerate(acts):
        weight = Weight.of(grams, WeightUnit.G)
        gives = Weight(max(1, weight.count * share // 1000), weight.unit)
        key = f"{all_counts(shop)}-{number}-{what}-{grams}-{share}"
        before = all_counts(shop)
        try:
            if what == "convert":
                shop.lockup.convert(case_id, weight, gives=gives, by="ines", key=key)
            elif what == "into":
                shop.lockup.convert(case_id, weight, into="C05", gives=gives, by="ines", key=key)
            elif what == "freeze":
                shop.lockup.freeze(case_id, weight, packed=gives, by="ines", key=key)
            elif what == "bin":
                shop.lockup.bin(case_id, weight, why="tried", by="ines", key=key)
            else:
                shop.lockup.count(case_id, weight, sure=True, by="ines", key=key)
        except CollopError as error:
            assert error.message.endswith((".", "1 + 4.2."))
            assert all_counts(shop) == before
    assert shop.check() == []


def test_cost_follows_the_meat(shop):
    """Chuck eye of a paid animal: what is frozen bears its cost, and that of what dripped off."""
    before = shop.chalk.case_costs()["C07"]
    frozen = shop.lockup.freeze("C07", lb("2"), packed=lb("1.9"), by="kofi", key="f")
    trim = shop.lockup.convert("C07", lb("1"), by="kofi", key="t")
    costs = {(one.lot_id, one.place): one for one in shop.chalk.costs()}
    made, kept = costs[frozen.lot_id, "case"], costs[trim.lot_id, "trim"]
    assert abs(made.cost.minor - round(2 * 100 * before.amount)) <= 1
    assert abs(kept.cost.minor - round(100 * before.amount)) <= 1
    flow = shop.cutting.flow(frozen.lot_id)
    assert sum(one.weight.count for one in flow.links if one.target == "loss and drip") > 0


def test_what_was_sold_thawed_is_not_frozen_ground_or_passed_for_fresh(shop):
    """A label that says previously frozen counts as much as a name that does."""
    facts = replace(shop.tickets.facts("C31").facts, previously_frozen=True)
    shop.tickets.set_facts("C31", facts, by="ines", key="t")
    with pytest.raises(WrongState, match="is not frozen again"):
        shop.lockup.freeze("C31", lb("1"), by="ines", key="f")
    with pytest.raises(WrongState, match="never was frozen"):
        shop.lockup.convert("C31", lb("1"), by="ines", key="c")
    fresh = replace(facts, previously_frozen=False)
    shop.tickets.set_facts("C31", fresh, by="ines", key="u")
    shop.tickets.set_facts("C02", replace(shop.tickets.facts("C02").facts,
                                          previously_frozen=True), by="ines", key="v")  # fmt: skip
    with pytest.raises(BadValue, match="was frozen before, and the label of Lamb neck"):
        shop.lockup.convert("C02", lb("1"), into="C05", gives=lb("0.9"), by="ines", key="w")
    ways = {one.what: one.no for one in shop.lockup.sheet(also="C02").line("C02").ways}
    assert "is not frozen again" in ways["freeze"]
    assert "never was frozen" in ways["convert"]
    assert all(one.way != "freeze" for one in shop.chalk.moves(most=34) if one.case_id == "C02")


def test_the_ticket_of_a_frozen_line_says_to_keep_it_frozen(shop):
    """Sold frozen: keep frozen, with the year of its day; not the words of thawed goods."""
    entry = shop.lockup.freeze("C31", lb("6.2"), packed=lb("6.1"), by="kofi", key="f")
    new = NewTicket(case_id=entry.into_case, gross=lb("2.05"), tare="no packing", lot=entry.lot_id)
    draft = shop.tickets.draft(new)
    assert draft.missing == ()
    product = draft.problem["product"]
    assert (product["frozen"], product["previously_frozen"]) == (True, False)
    texts = [one["text"] for one in draft.plan["lines"]]
    assert any("Keep frozen" in text for text in texts)
    assert not any("reviously" in text for text in texts)
    assert any("2026" in text and "Dec" in text for text in texts)


def other_line(shop, name, species, **facts):
    """Add a line of the case and return its id."""
    price = UnitPrice.of("5.00", WeightUnit.LB, "USD")
    new = NewCaseLine(name, species, price, **{"keeps_days": 9, "cook_as": "whole"} | facts)
    return shop.cutting.add_case_line(new, by="ines", key=name)


def test_what_is_made_keeps_no_longer_than_what_it_is_made_of(shop):
    """Goat for two more days stays so on a line that keeps nine; on one that keeps one, it is one.

    Common practice, no published source.
    """
    before = line_of(shop, "C31").use_by
    for keeps, last in ((9, before), (1, before - timedelta(days=1))):
        into = other_line(shop, f"Goat for {keeps}", "goat", keeps_days=keeps)
        entry = shop.lockup.convert("C31", lb("1"), into=into, by="ines", key=into)
        lot = next(one for one in shop.cutting.stock() if one.lot_id == entry.lot_id)
        assert (lot.case_id, lot.use_by) == (into, last)


def test_links_never_become_a_line_that_hides_their_casing(shop):
    """The hog casing of pork links follows them."""
    into = other_line(shop, "Pork patties", "pork", cook_as="ground")
    with pytest.raises(BadValue, match="does not declare"):
        shop.lockup.convert("C20", lb("1"), into=into, by="ines", key="k")


def test_a_line_sold_by_the_piece_is_given_each_weight(shop):
    """Thighs packed as whole pieces: the weights add up to what the scale says, or none moves."""
    for parts in ([lb("1")], [lb("1.5"), lb("1")]):
        with pytest.raises(BadValue, match="give the weight of each piece"):
            shop.lockup.convert("C24", lb("2"), into="C23", parts=parts, by="ines",
                                key=f"{parts}")  # fmt: skip
    before = line_of(shop, "C23").piece_lb
    parts = [lb("1.1"), lb("0.9")]
    shop.lockup.convert("C24", lb("2"), into="C23", parts=parts, by="ines", key="k")
    assert sorted(line_of(shop, "C23").piece_lb) == sorted([*before, *parts])
