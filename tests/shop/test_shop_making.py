"""A mince lot runs from clean-down to clean-down, its weight through the ledger, its sources up."""

from __future__ import annotations

from datetime import timedelta

import pytest
from by_hand import REFUSES, past_guards, raw
from making_floor import TRIM, Maker, at_time, deliver, trim_of
from wished import case_line, lb

from collop.errors import BadValue, NotEnoughFree, NotFound, WrongState
from collop.measures import Money
from collop.shop import MakingState, NewMaterial, making_parts


@pytest.fixture
def maker(shop, clock):
    """Return somebody at a grinder that is cleaned down at 08:00 of the demo's Tuesday."""
    one = Maker(shop, clock)
    shop.day.clean_down(**one.who())
    return one


def test_a_lot_begins_after_the_clean_down_and_is_named_by_day_and_machine(maker):
    """9 June 2026 is day 160: the first lot of grinder G1 is 26160-G1-01, the next 02."""
    made = maker.open()
    assert (made.code, made.state) == ("26160-G1-01", MakingState.OPEN)
    assert f"{made.cleaned_before:%H:%M}" == "08:00"
    maker.clean("grinder")
    assert maker.open().code == "26160-G1-02"
    assert maker.open(machine="G2").code == "26160-G2-01"


def test_without_a_clean_down_between_two_lots_are_one(maker):
    """A second lot on the same grinder is refused until it is cleaned down."""
    first = maker.open()
    with pytest.raises(WrongState, match=f"{first.code} still runs on G1"):
        maker.open()
    maker.clean("saw")
    with pytest.raises(WrongState, match="still runs on G1"):
        maker.open()
    maker.clean("grinder G1")
    assert maker.room.record(first.code).state is MakingState.ENDED
    assert maker.open().state is MakingState.OPEN


def test_a_grinder_cleaned_too_long_ago_is_cleaned_first(maker):
    """At 50 F room warmth it is 16 h at most; on the next morning at 08:00 that is past."""
    maker.later(24 * 60)
    with pytest.raises(WrongState, match=r"last cleaned down on 09 Jun at 08:00.*clean down first"):
        maker.open()
    maker.clean("grinder")
    assert maker.open().state is MakingState.OPEN


def test_a_shop_without_any_clean_down_begins_with_one(monday, monday_url):
    """Nothing is minced before the first clean-down on record."""
    past_guards(monday_url, "DELETE FROM clean_downs")
    first = NewMaterial(lb("1"), what="Trim")
    with pytest.raises(WrongState, match="No clean-down of G1 is on record"):
        monday.making.open("beef", "G1", "Mince", first, by="marek", key="a")


@pytest.mark.parametrize(("after", "before", "is_refused"), [
    ("lamb", "beef", True), ("beef", "chicken", True), ("chicken", "beef", False),
])  # fmt: skip
def test_another_animal_needs_a_clean_grinder_unless_it_is_cooked_hotter(
    maker, after, before, is_refused
):
    """Ground meat of two animals is cooked alike, so it is cleaned between; poultry goes hotter."""
    box = NewMaterial(lb("2"), what="Trim")
    maker.call("open", before, "G1", "Mince", box)
    if is_refused:
        with pytest.raises(
            WrongState, match=f"{before} was on G1, and {after} comes after it: clean down"
        ):
            maker.call("open", after, "G1", "Mince", box)
        maker.clean("grinder")
    assert maker.call("open", after, "G1", "Mince", box).species == after


def test_weight_moves_from_the_trim_bin_and_the_sum_holds_to_the_last_count(maker, shop):
    """10.00 from trim and 8.00 bought = 15.5 made + 1.2 carried + 0.8 lost + 0.5 left."""
    made = maker.open("10")
    made = maker.box(made.code, "8")
    trim = {one.lot_id: one.weight for one in shop.making.on_hand("beef") if one.place == "trim"}
    assert trim == {TRIM: lb("28.6")}
    before = case_line(shop, "C11").on_hand
    made = maker.call("produce", made.code, "C11", lb("9.5"))
    made = maker.call("produce", made.code, "C11", lb("6"))
    assert case_line(shop, "C11").on_hand - before == lb("15.5")
    made = maker.call("carry", made.code, lb("1.2"))
    made = maker.call("lose", made.code, lb("0.8"), "left in the head", place="drip")
    mass = made.mass
    assert [one.decimal("lb") for one in (mass.came_in, mass.out, mass.carried, mass.lost,
                                          mass.left)] == [
        lb(one).decimal("lb") for one in ("18", "15.5", "1.2", "0.8", "0.5")
    ]  # fmt: skip
    assert mass.closes
    assert [one.lot_id for one in made.outputs] == [f"{made.code}.01", f"{made.code}.02"]
    assert shop.check() == []


def test_no_more_is_weighed_out_than_went_in(maker):
    """A quarter of a pound over what is there is an untared pan, 0.02 lb is the scale's error."""
    made = maker.open("10")
    with pytest.raises(BadValue, match=r"0\.25 lb too much: 10\.00 lb.*Pan not tared"):
        maker.call("produce", made.code, "C11", lb("10.25"))
    made = maker.call("produce", made.code, "C11", lb("10.02"))
    assert (made.mass.came_in, made.mass.left) == (lb("10.02"), lb("0"))
    made = maker.call("take_back", made.code, made.events[0].seq, "wrong line")
    assert (made.mass.came_in, made.mass.left) == (lb("10"), lb("10"))


def test_two_farms_in_one_lot_are_traced_up_to_both(maker, shop):
    """Trim of animals of two farms in one lot: the pack in the case leads to both, with plants."""
    deliver(shop, "B-50", "Longmoor", number="M-500")
    shop.day.clean_down("cutting room", by="marek", key="room")
    lot = trim_of(shop, "B-50", "side", "20")
    maker.later(5)
    made = maker.open("10")
    made = maker.add(made.code, "5", lot)
    made = maker.call("produce", made.code, "C11", lb("15"))
    found = shop.cutting.trace(made.outputs[0].lot_id)
    assert {(one.tag, one.farm) for one in found.origins} == {
        ("B-41", "Upper Nimmock"), ("B-50", "Longmoor"),
    }  # fmt: skip
    assert made.fields[0].told == ("F-01 (made up)", "M-500")
    assert made.fields[1].told == ("B-41", "B-50")
    assert made.fields[2].told == ("2026-05-24", "2026-06-01")


def test_carry_over_is_named_and_a_recall_of_one_takes_all_three(maker, shop):
    """What stays in the head goes into the next lot, twice: all three lead up to the first box."""
    codes = []
    made = maker.open("6")
    for turn in range(3):
        if turn:
            first = NewMaterial(lb("1"), lot_id=codes[-1], place="block")
            made = maker.call("open", "beef", "G1", "Beef mince", first)
            assert made.fields[4].told == (f"1.00 lb of {codes[-1]}",)
            made = maker.add(made.code, "5", TRIM)
        else:
            made = maker.box(made.code, "2", lot="BAD-1")
        codes.append(made.code)
        maker.call("produce", made.code, "C11", lb("3"))
        maker.call("carry", made.code, lb("1"))
        maker.clean("grinder")
    last = shop.making.record(codes[-1]).outputs[0].lot_id
    up = {one.lot_id for one in shop.cutting.trace(last).up}
    box = shop.making.record(codes[0]).materials[1].lot_id
    assert {*codes, box} <= up
    down = {one.lot_id for one in shop.cutting.trace(box).sisters}
    assert {f"{code}.01" for code in codes} <= down
    first = shop.making.record(codes[0])
    assert (first.mass.carried, first.mass.waiting) == (lb("1"), lb("0"))


def test_mince_that_comes_back_from_the_case_is_carry_over_too(maker, shop):
    """A pack ground again names the lot it was made of; its own lot cannot take it."""
    made = maker.open("10")
    made = maker.call("produce", made.code, "C11", lb("4"))
    pack = made.outputs[0].lot_id
    with pytest.raises(BadValue, match=f"{pack} was made from {made.code} itself"):
        maker.add(made.code, "1", pack, "case")
    maker.clean("grinder")
    other = maker.open("2", lot=pack, place="case")
    assert other.materials[0].carry_over_of == made.code


def test_the_clean_down_ends_it_and_a_late_entry_says_both_times(maker, clock):
    """Nothing goes in after 08:30; what went in at 08:10 is told later, with both times."""
    made = maker.open()
    maker.later(20)
    maker.clean("grinder")
    maker.later(40)
    with pytest.raises(WrongState, match=f"{made.code} ended with the clean-down of 09 Jun 08:30"):
        maker.box(made.code)
    made = maker.box(made.code, done_at=at_time(clock, 8, 10))
    late = made.materials[-1]
    assert late.is_late
    assert (f"{late.done_at:%H:%M}", f"{late.at:%H:%M}") == ("08:10", "09:10")
    assert not made.materials[0].is_late


def test_a_clean_down_that_is_taken_back_opens_the_lot_again(maker, shop):
    """Ended, closed, and open again when the clean-down was a slip of the hand."""
    made = maker.open("5")
    maker.call("produce", made.code, "C11", lb("5"))
    maker.call("fill", made.code, no_carry_over=True)
    maker.clean("grinder")
    assert maker.call("close", made.code).state is MakingState.CLOSED
    shop.day.take_back_clean_down(**maker.who())
    assert shop.making.record(made.code).state is MakingState.OPEN
    assert maker.add(made.code, "2", TRIM).mass.left == lb("2")


def test_what_was_put_in_by_mistake_goes_back_to_where_it_lay(maker, shop):
    """The weight is in the trim bin again; both lines stay, and it is not taken back twice."""
    made = maker.open("5")
    made = maker.add(made.code, "7", TRIM)
    seq = made.materials[1].seq
    made = maker.call("take_back_material", made.code, seq, "wrong bin")
    assert [one.taken_back for one in made.materials] == [False, True]
    assert made.mass.came_in == lb("5")
    assert {one.weight for one in shop.making.on_hand("beef") if one.place == "trim"} == {
        lb("33.6")
    }
    with pytest.raises(WrongState, match="taken back already"):
        maker.call("take_back_material", made.code, seq, "again")
    made = maker.box(made.code, "3")
    made = maker.call("take_back_material", made.code, made.materials[-1].seq, "not opened")
    assert shop.check() == []
    maker.call("produce", made.code, "C11", lb("5"))
    with pytest.raises(WrongState, match="made into something already"):
        maker.call("take_back_material", made.code, made.materials[0].seq, "too late")


def test_what_was_made_or_lost_is_taken_back_line_by_line(maker, shop):
    """A pack, a loss and a carry-over taken back: all ten pounds lie on the block again."""
    made = maker.open("10")
    made = maker.call("produce", made.code, "C11", lb("6"))
    made = maker.call("lose", made.code, lb("1"), "dropped")
    made = maker.call("carry", made.code, lb("2"))
    for event in made.events:
        made = maker.call("take_back", made.code, event.seq, "not so")
    assert (made.mass.left, made.mass.lost, made.mass.carried) == (lb("10"), lb("0"), lb("0"))
    assert made.outputs == ()
    with pytest.raises(WrongState, match="taken back already"):
        maker.call("take_back", made.code, made.events[0].seq, "twice")
    assert shop.check() == []


def test_a_pack_that_was_sold_is_not_taken_back(maker, shop):
    """Some of it has left: it is released or counted, not unmade."""
    made = maker.open("10")
    made = maker.call("produce", made.code, "C11", lb("6"))
    shop.cutting.bin(made.outputs[0].lot_id, "case", by="dot", key="b", why="dropped",
                     weight=lb("1"))  # fmt: skip
    with pytest.raises(WrongState, match="no longer whole in the case"):
        maker.call("take_back", made.code, made.events[0].seq, "wrong line")


def test_mince_keeps_no_longer_than_what_it_is_made_of(maker, shop):
    """C11 keeps one day; of a steak to be used today it is to be used today."""
    made = maker.open("5")
    made = maker.call("produce", made.code, "C11", lb("2"))
    assert f"{made.outputs[0].use_by:%d %b}" == "10 Jun"
    maker.later(24 * 60)
    maker.clean("cutting room")
    steak = next(one for one in shop.making.on_hand("beef") if one.case_id == "C22")
    assert f"{steak.use_by:%d %b}" == "11 Jun"
    other = maker.open("2", lot=made.outputs[0].lot_id, place="case")
    other = maker.call("produce", other.code, "C11", lb("2"))
    assert f"{other.outputs[0].use_by:%d %b}" == "10 Jun"


@pytest.mark.parametrize(("args", "error", "words"), [
    ({"lot": "L-207.01"}, NotFound, "no lot"),
    ({"lot": "C06-0609", "place": "case"}, BadValue, "is lamb, and"),
    ({"lot": "C30-0609", "place": "case"}, BadValue, "frozen stock"),
    ({"amount": "99"}, NotEnoughFree, r"38\.60 lb of B-41F.07 is free at trim, not 99\.00 lb"),
    ({"amount": "0"}, BadValue, "weigh it"),
    ({"lot": "B-42", "place": "rail"}, BadValue, "not from 'rail'"),
    ({"machine": "grinder one"}, BadValue, "such as G1"),
    ({"machine": ""}, BadValue, "such as G1"),
    ({"species": " "}, BadValue, "Species"),
    ({"species": "x\n"*30}, BadValue, "Species"),
])  # fmt: skip
def test_what_cannot_go_in_is_told_in_one_sentence(maker, args, error, words):
    """Refused, with what is wrong; nothing is written."""
    with pytest.raises(error, match=words):
        maker.open(**args)
    assert maker.room.mince()[0].code == "26159-G1-01"


def test_a_piece_under_the_knife_goes_over_the_scale_first(monday):
    """What lies on the block in a break is no material yet."""
    cut = monday.cutting.start_break("B-41F", "fore", by="marek", key="s")
    monday.day.clean_down(by="marek", key="c")
    first = NewMaterial(lb("5"), lot_id=cut.tag, place="block")
    with pytest.raises(WrongState, match="goes over the knife"):
        monday.making.open("beef", "G1", "Mince", first, by="marek", key="a")
    assert "B-41F" not in {one.lot_id for one in monday.making.on_hand()}


def test_the_same_touch_twice_is_done_once(maker, shop):
    """A key sent again answers the same and moves nothing; with another request it is refused."""
    first = NewMaterial(lb("5"), lot_id=TRIM, place="trim")
    one = shop.making.open("beef", "G1", "Mince", first, by="marek", key="k")
    assert shop.making.open("beef", "G1", "Mince", first, by="marek", key="k").code == one.code
    with pytest.raises(BadValue, match="used for another request"):
        shop.making.open("lamb", "G1", "Mince", first, by="marek", key="k")
    new = NewMaterial(lb("2"), lot_id=TRIM, place="trim")
    shop.making.add(one.code, new, by="marek", key="a")
    assert shop.making.add(one.code, new, by="marek", key="a").mass.came_in == lb("7")


@pytest.mark.parametrize("table", ["makings", "making_parts", "making_events"])
def test_no_line_of_a_making_is_edited(maker, url, table):
    """The database refuses to change or delete what was written."""
    made = maker.open()
    maker.call("produce", made.code, "C11", lb("1"))
    with raw(url) as hand:
        for statement in (f"UPDATE {table} SET key = key", f"DELETE FROM {table}"):  # noqa: S608
            with pytest.raises(REFUSES, match="never edited"):
                hand.execute(statement)


def test_times_that_cannot_be_are_refused(maker, clock):
    """Not ahead, not before the lot began, not over 90 days back."""
    made = maker.open()
    for moment, words in (
        (clock.now() + timedelta(minutes=1), "lies ahead"),
        (at_time(clock, 7, 50), "was begun at 09 Jun 08:00"),
        (clock.now() - timedelta(days=91), "over 90 days ago"),
    ):
        with pytest.raises(BadValue, match=words):
            maker.box(made.code, done_at=moment)


def test_three_sources_are_told_while_it_runs(maker):
    """A recall of one source takes the whole lot: the advice comes while it can be followed."""
    made = maker.open("1")
    made = maker.box(made.code, "1", lot="A")
    assert made.cautions == ()
    made = maker.box(made.code, "1", lot="B")
    assert "3 sources are in this lot" in made.cautions[0]


def test_what_was_left_for_the_next_lot_is_asked_for_there(maker):
    """Two pounds wait in the head: the next lot on that grinder says so until they are in it."""
    first = maker.open("5")
    maker.call("produce", first.code, "C11", lb("3"))
    maker.call("carry", first.code, lb("2"))
    maker.clean("grinder")
    second = maker.open("4")
    assert second.cautions[0].startswith(f"2.00 lb of {first.code} was left for the next lot")
    assert maker.open("4", machine="G2").cautions == ()
    assert maker.add(second.code, "2", first.code, "block").cautions == ()
    assert maker.room.record(first.code).mass.waiting == lb("0")


def test_saying_that_nothing_was_carried_over_beside_a_carry_over_is_refused(maker):
    """The record cannot say both."""
    first = maker.open("5")
    maker.clean("grinder")
    second = maker.open("1", lot=first.code, place="block")
    with pytest.raises(BadValue, match="has carry-over put down"):
        maker.call("fill", second.code, no_carry_over=True)


def test_an_act_that_breaks_off_leaves_nothing(maker, shop, monkeypatch):
    """Midway through putting in, the power goes: no lot, no weight, no line; the key is free."""
    made = maker.open("5")
    before = shop.cutting.stock()
    new = NewMaterial(lb("3"), what="Trim", establishment="M-1")

    def gone(*_args):
        raise RuntimeError

    with monkeypatch.context() as patched:
        patched.setattr(making_parts, "_note", gone)
        with pytest.raises(RuntimeError):
            shop.making.add(made.code, new, by="marek", key="cut-off")
    assert shop.cutting.stock() == before
    assert len(shop.making.record(made.code).materials) == 1
    assert shop.making.add(made.code, new, by="marek", key="cut-off").mass.came_in == lb("8")


def test_mince_costs_what_its_trim_cost(maker, shop):
    """Ten pounds of trim at 3.00 make ten pounds of mince that cost 30.00."""
    made = maker.open("10")
    made = maker.call("produce", made.code, "C11", lb("10"))
    found = {one.lot_id: one.cost for one in shop.chalk.costs()}
    assert found[made.outputs[0].lot_id] == Money.of("30.00")


def test_a_lot_told_late_is_not_begun_beside_one_that_ran_then(maker, clock):
    """Begun at 08:20 and told at 10:00: the lot of 08:30 is the same one; after 09:00 it is not."""
    maker.later(30)
    maker.open("2")
    maker.later(20)
    maker.clean("grinder")
    maker.later(60)
    with pytest.raises(WrongState, match="26160-G1-01 still runs on G1"):
        maker.open("2", done_at=at_time(clock, 8, 20))
    with pytest.raises(WrongState, match="beef was on G1, and lamb comes after it"):
        maker.call("open", "lamb", "G1", "Mince", NewMaterial(lb("1"), what="Trim"),
                   done_at=at_time(clock, 8, 40))  # fmt: skip
    made = maker.open("2", done_at=at_time(clock, 9, 10))
    assert made.is_late


def test_a_clean_down_told_late_asks_for_the_lines_after_it(maker, clock):
    """Cleaned at 08:30, told at 10:00: what went in at 09:00 is asked about."""
    made = maker.open("2")
    maker.later(60)
    maker.add(made.code, "1", TRIM)
    maker.later(60)
    maker.clean("grinder", done_at=at_time(clock, 8, 30))
    made = maker.room.record(made.code)
    assert f"{made.cleaned_after:%H:%M}" == "08:30"
    assert any("09:00 or later" in words for words in made.cautions)


def test_what_is_left_in_the_grinder_keeps_no_longer_than_its_packs(maker):
    """Tuesday's packs go until Wednesday: on Thursday the rest is binned, not carried on."""
    first = maker.open("5")
    maker.call("produce", first.code, "C11", lb("3"))
    maker.later(24 * 60)
    maker.clean()
    second = maker.open("1", lot=first.code, place="block")
    second = maker.call("produce", second.code, "C11", lb("1"))
    assert f"{second.outputs[0].use_by:%d %b}" == "10 Jun"
    maker.later(24 * 60)
    maker.clean()
    with pytest.raises(WrongState, match=f"{first.code} was to be used by 10 Jun: bin it"):
        maker.open("1", lot=first.code, place="block")


def test_carry_over_is_followed_however_many_lots_it_goes_through(maker):
    """Sixteen lots on, the first lot cannot take a pack of the last: it would hold itself."""
    first = made = maker.open("3")
    for _ in range(15):
        maker.clean("grinder")
        made = maker.open("1", lot=made.code, place="block")
    maker.call("produce", made.code, "C11", lb("1"))
    pack = f"{made.code}.01"
    assert made.materials[0].kind == "carry-over"
    with pytest.raises(BadValue, match=f"{pack} was made from {first.code} itself"):
        maker.add(first.code, "1", pack, "case", done_at=first.done_at)
