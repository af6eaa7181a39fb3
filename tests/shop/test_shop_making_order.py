"""Whose turn it is on the grinder, what waits for the next lot, and taking back to the exact line.

All of it is common practice, no published source, but for the two cited below.
"""

from __future__ import annotations

import threading

import pytest
from making_floor import TRIM, Maker, at_time
from wished import lb

from collop.errors import BadValue, NotEnoughFree, WrongState
from collop.shop import NewMaterial
from collop.shop.acts import once
from collop.shop.making_closing import produce
from collop.shop.making_lots_state import lots_above
from collop.shop.making_parts import add
from collop.shop.tracing import climb

LINKS = "C22"


@pytest.fixture
def maker(shop, clock):
    """Return somebody at a grinder that is cleaned down at 08:00 of the demo's Tuesday."""
    one = Maker(shop, clock)
    shop.day.clean_down(**one.who())
    return one


def own(amount, lot=TRIM, place="trim"):
    return NewMaterial(lb(amount), lot_id=lot, place=place)


def links(maker, case_id=LINKS, amount="4"):
    return maker.call("open_batch", "Links", case_id, own(amount))


def together(maker, work):
    """Do several things in one act, under one key, as the demo does."""
    who = maker.who()
    once(maker.shop._room, "test", who["key"], by="marek", key=who["key"],
         work=lambda act: str(work(act)))  # fmt: skip


def at(shop, lot_id):
    """Return what a lot has at each place."""
    return {one.place: one.weight for one in shop.cutting.stock() if one.lot_id == lot_id}


def test_no_more_beef_goes_in_once_chicken_went_through(maker, clock):
    """Chicken may follow beef, being cooked hotter, and beef not chicken (``WA04605``)."""
    beef = maker.open("5")
    maker.later(5)
    maker.open("1", lot="C24-0609", place="case", species="chicken")
    maker.later(5)
    with pytest.raises(WrongState, match=r"^chicken \(26160-G1-02\) went through G1"):
        maker.add(beef.code, "1", TRIM)
    late = maker.add(beef.code, "1", TRIM, done_at=at_time(clock, 8, 2))
    assert late.mass.came_in == lb("6")
    with pytest.raises(WrongState, match="chicken was on G1, and beef comes after it"):
        maker.open("5")
    assert maker.open("5", machine="G2").code == "26160-G2-01"


def test_a_clean_down_that_is_taken_back_keeps_more_beef_off_the_grinder(maker):
    """Chicken, a clean-down, beef; the clean-down was a slip: no more beef until there is one."""
    maker.open("1", lot="C24-0609", place="case", species="chicken")
    maker.clean("grinder")
    beef = maker.open("5")
    maker.later(5)
    assert maker.add(beef.code, "1", TRIM).mass.came_in == lb("6")
    maker.shop.day.take_back_clean_down(**maker.who())
    with pytest.raises(WrongState, match="clean down first, then begin a new lot of beef"):
        maker.add(beef.code, "1", TRIM)


def test_what_is_left_for_the_next_lot_is_not_weighed_out_of_this_one(maker):
    """Three of ten pounds wait: seven may be made, lost or taken back, and no more."""
    made = maker.open("8")
    made = maker.add(made.code, "2", TRIM)
    maker.call("carry", made.code, lb("3"))
    with pytest.raises(BadValue, match=r"7\.00 lb of .* is left and 3\.00 lb waits"):
        maker.call("produce", made.code, "C11", lb("8"))
    with pytest.raises(BadValue, match=r"7\.00 lb of .* is left that nothing is said of"):
        maker.call("lose", made.code, lb("8"), "dropped")
    with pytest.raises(NotEnoughFree, match=r"7\.00 lb of .* is free on the block"):
        maker.call("open_batch", "Links", LINKS, own("8", made.code, "block"))
    with pytest.raises(WrongState, match="or is left for the next lot"):
        maker.call("take_back_material", made.code, made.materials[0].seq, "wrong")
    made = maker.call("produce", made.code, "C11", lb("7"))
    assert (made.mass.left, made.mass.waiting) == (lb("0"), lb("3"))
    maker.clean("grinder")
    after = maker.open("3", lot=made.code, place="block")
    assert (after.materials[0].carry_over_of, after.mass.came_in) == (made.code, lb("3"))


def test_what_went_back_into_a_closed_lot_is_told_there_first(maker):
    """Two pounds nobody left for the next lot were taken; the closed record stays whole."""
    first = maker.open("5")
    maker.call("produce", first.code, "C11", lb("3"))
    maker.clean("grinder")
    then = maker.open("2", lot=first.code, place="block")
    maker.call("fill", first.code, no_carry_over=True)
    maker.call("close", first.code)
    maker.add(then.code, "1", TRIM)
    seq = then.materials[0].seq
    with pytest.raises(WrongState, match=f"{first.code} is closed, and nothing is said there"):
        maker.call("take_back_material", then.code, seq, "not in")
    maker.call("reopen", first.code, "two pounds come back")
    maker.call("take_back_material", then.code, seq, "not in")
    assert maker.room.record(first.code).mass.left == lb("2")


def test_lines_of_one_act_are_taken_back_each_for_itself(maker, shop):
    """Trim twice, then from the case, and two packs: each line gives back what is its own."""
    made = maker.open("1")

    def three(act):
        for one in (own("2"), own("3"), own("4", "C11-0609", "case")):
            add(act, made.code, one)

    before = at(shop, TRIM)["trim"]
    together(maker, three)
    seqs = [one.seq for one in maker.room.record(made.code).materials]
    maker.call("take_back_material", made.code, seqs[2], "not in")
    assert at(shop, TRIM)["trim"] == before - lb("2")
    maker.call("take_back_material", made.code, seqs[1], "not in")
    assert at(shop, TRIM)["trim"] == before
    packed = at(shop, "C11-0609")["case"]
    maker.call("take_back_material", made.code, seqs[3], "not in")
    assert at(shop, "C11-0609")["case"] == packed + lb("4")
    assert maker.room.record(made.code).mass.on_block == lb("1")


def test_what_the_scale_found_goes_with_the_pack_it_was_found_with(maker):
    """Two packs of one act, the second 0.01 lb over: only with that one it is gone again."""
    made = maker.open("4")

    def two(act):
        produce(act, made.code, "C11", lb("2"))
        produce(act, made.code, "C11", lb("2.01"))

    together(maker, two)
    made = maker.room.record(made.code)
    assert made.mass.came_in == lb("4.01")
    made = maker.call("take_back", made.code, made.events[0].seq, "not so")
    assert (made.mass.came_in, made.mass.left) == (lb("4.01"), lb("2"))
    made = maker.call("take_back", made.code, made.events[1].seq, "not so")
    assert (made.mass.came_in, made.mass.left) == (lb("4"), lb("4"))


def test_weighing_and_taking_back_gives_no_further_slack(maker):
    """Twelve packs taken back later, 0.12 lb over is as much too much as it was at first."""
    made = maker.open("4")
    over = pytest.raises(BadValue, match=r"0\.12 lb too much")
    with over:
        maker.call("produce", made.code, "C11", lb("4.12"))
    for _ in range(12):
        made = maker.call("produce", made.code, "C11", lb("1"))
        made = maker.call("take_back", made.code, made.events[-1].seq, "not so")
    with over:
        maker.call("produce", made.code, "C11", lb("4.12"))


def test_mince_on_the_block_moves_in_the_day_book_only(maker, shop):
    """Put away, binned or counted, it would leave the record: each is refused, and says where."""
    made = maker.open("4")
    who = maker.who
    calls = (
        lambda: shop.cutting.put_in_case(made.code, "block", "C11", **who()),
        lambda: shop.cutting.bin(made.code, "block", why="old", **who()),
        lambda: shop.cutting.count_lot(made.code, "block", lb("3.9"), why="", **who()),
    )
    for call in calls:
        with pytest.raises(WrongState, match=f"^{made.code} is mince .* in the Day Book"):
            call()
    assert at(shop, made.code) == {"block": lb("4")}


def test_two_who_put_in_at_once_are_both_in(maker, shop):
    """Eight threads put in a pound each: none is lost, none twice; one touch sent twice is one."""
    made = maker.open("1")

    def put(key):
        shop.making.add(made.code, own("1"), by="kofi", key=key)

    keys = [f"both-{number // 2}" for number in range(16)]
    threads = [threading.Thread(target=put, args=(key,)) for key in keys]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    made = maker.room.record(made.code)
    assert (made.mass.came_in, len(made.materials)) == (lb("9"), 9)


def test_when_it_was_made_lies_between_its_clean_downs(maker, clock):
    """Said to be made at 09:00, after the clean-down of 08:30 that ended it: refused."""
    made = maker.open("2")
    maker.later(20)
    maker.clean("grinder")
    maker.later(60)
    with pytest.raises(WrongState, match="ended with the clean-down of 09 Jun 08:30"):
        maker.call("fill", made.code, produced_at=at_time(clock, 9))
    made = maker.call("fill", made.code, produced_at=at_time(clock, 8, 15))
    assert made.fields[5].told == ("2026-06-09 08:15",)


def test_what_is_told_of_a_late_material_says_when_it_went_in(maker, clock):
    """Put in at 08:10, written at 09:00, told at 09:30: the last line says 08:10 and 09:30."""
    made = maker.open("2")
    maker.later(60)
    made = maker.box(made.code, lot=None, done_at=at_time(clock, 8, 10))
    maker.later(30)
    made = maker.call("fill_material", made.code, made.materials[-1].seq, {"supplier_lot": "S"})
    last = made.events[-1]
    assert (f"{last.done_at:%H:%M}", f"{last.at:%H:%M}") == ("08:10", "09:30")
    with pytest.raises(BadValue, match="Where it was read: write 0 to 200"):
        maker.call("fill_material", made.code, made.materials[-1].seq, {"what": "Chuck"},
                   why="x" * 201)  # fmt: skip


def test_what_is_told_of_weight_is_no_complete_record(maker):
    """All seven fields are told, and a pound on the block is not: the list says so."""
    made = maker.open("3")
    maker.call("produce", made.code, "C11", lb("2"))
    maker.call("fill", made.code, no_carry_over=True)
    maker.clean("grinder")
    assert maker.room.record(made.code).state_words == "ended, 1.00 lb not told of"
    made = maker.call("lose", made.code, lb("1"), "washed away", place="drip")
    assert made.state_words == "ended, record complete: close it"


def test_a_record_that_is_not_closed_stays_on_the_list_however_old(maker):
    """Of five lots the first and a reopened one are open: a list of two shows all of them."""
    codes = []
    for number in range(5):
        made = maker.open("1")
        codes.append(made.code)
        maker.call("produce", made.code, "C11", lb("1"))
        maker.call("fill", made.code, no_carry_over=True)
        maker.clean("grinder")
        if number:
            maker.call("close", made.code)
    assert [one.code for one in maker.room.mince(2)] == [codes[0], codes[4], codes[3]]
    maker.call("reopen", codes[1], "look again")
    assert [one.code for one in maker.room.mince(2)] == [codes[1], codes[0], codes[4], codes[3]]


def test_a_box_that_was_taken_back_is_no_source(maker):
    """Links of a mince lot do not name the plant of a box that was never in it."""
    lot = maker.open("3")
    lot = maker.box(lot.code, number="M-9")
    box = lot.materials[-1]
    batch = maker.call("open_batch", "Links", LINKS, own("1", lot.code, "block"))
    assert "M-9" in batch.materials[0].establishments
    maker.call("take_back_material", lot.code, box.seq, "wrong box")
    batch = maker.room.record(batch.code)
    assert batch.materials[0].establishments == ("F-01 (made up)",)


def test_an_allergen_that_was_taken_back_does_not_go_on(maker):
    """Mustard put down by mistake is not in the links that are made of what is left."""
    made = links(maker)
    made = maker.ingredient(made.code, "Mustard seed", "0.1", contains=("mustard",))
    maker.call("take_back_material", made.code, made.materials[-1].seq, "other bowl")
    after = maker.call("open_batch", "Links", LINKS, own("1", made.code, "block"))
    assert after.contains == ()


def test_an_allergen_told_late_is_declared_wherever_it_went(maker):
    """What was left of links became mince of C11: mustard told late must be declared there too."""
    made = links(maker)
    made = maker.ingredient(made.code, "Spice mix", "0.1", contains=None)
    spice = made.materials[-1].seq
    mince = maker.open("2", lot=made.code, place="block")
    mince = maker.call("produce", mince.code, "C11", lb("1"))
    with pytest.raises(BadValue, match="C11 does not declare mustard"):
        maker.call("fill_material", made.code, spice, {"contains": ("mustard",)})
    assert maker.room.record(made.code).materials[-1].contains is None


def test_the_way_up_is_that_of_the_trace(maker):
    """The lots above a pack are those its trace names, with itself first."""
    made = maker.open("3")
    made = maker.call("produce", made.code, "C11", lb("1"))
    pack = made.outputs[0].lot_id
    with maker.shop._room.store.read() as conn:
        assert lots_above(conn, pack) == [pack, *(one.lot_id for one in climb(conn, [pack]))]
