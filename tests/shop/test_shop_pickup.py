"""Short at pick-up: weighed ahead, told in plain words, and four ways out with their totals.

Shares and plates are checked against published portions: source NCBA_EASY of
``cooking/sources.csv``, short ribs, 1.5 to 2.5 servings to the raw pound.
"""

from __future__ import annotations

from datetime import date, datetime

import pytest
from wished import case_line, free_lb, lb, line, order

from collop.errors import BadValue, NotEnoughFree, NotFound, WrongState
from collop.measures import Money, Rounding, UnitPrice, Weight, WeightUnit
from collop.reference.portions import portion_rows, servings
from collop.shop import State
from collop.shop.pickup_choices import Chosen
from collop.shop.pickup_weighing import WeighedAhead
from collop.shop.pickup_words import half_cent, plate_of

THURSDAY = datetime(2026, 6, 11, 17, 0)  # noqa: DTZ001 -- shop-local


def short_ribs(shop, weighed="4.15", reason="cut gave less", **more):
    """Weigh the short ribs of H8 ahead."""
    asked = {"by": "dot", "key": f"weigh-{weighed}-{reason}"} | more
    return shop.pickup.weigh("H8-1", lb(weighed), reason, **asked)


def ways(pickup, name="H8-1"):
    """Return the ways out of a line."""
    (row,) = (one for one in pickup.lines if one.line.id == name)
    return {one.what: one for one in row.ways}


def test_short_ribs_are_noticed_when_weighed(shop, clock):
    """5.0 lb booked and 4.15 weighed: short 17 %, against its lot; six still get 6.9 oz."""
    clock.put(THURSDAY)
    pickup = short_ribs(shop)
    (row,) = pickup.lines
    assert (row.short, row.short_pct, row.reason) == (lb("0.85"), 17, "cut gave less")
    assert row.lots == ("B-41F.03",)
    assert row.plate.words == (
        "Six still get 6.9 oz instead of 8.3: a little less than booked, still a full plate."
    )
    assert row.plate.band == "usual"
    # NCBA_EASY, short ribs: what is there is at least one published serving for each of six
    (published,) = portion_rows("short ribs", source_id="NCBA_EASY", cited_only=True)
    assert servings(lb("4.15"), published)[0] >= 6


def test_the_half_cent_is_told_with_its_rule(shop, clock):
    """4.15 x 8.90 = 36.935: 36.94 by half up, less 20.00 is 16.94; the slip tells it too."""
    clock.put(THURSDAY)
    pickup = short_ribs(shop)
    told = "36.935 is an exact half cent: half up gives 36.94"
    assert (pickup.lines[0].money, pickup.lines[0].half_cent) == (Money.of("36.94"), told)
    assert (pickup.total, pickup.due, pickup.rule) == (
        Money.of("36.94"), Money.of("16.94"), "half up",
    )  # fmt: skip
    slip = shop.hand_over("H8", {"H8-1": lb("4.15")}, by="dot", key="go")
    assert (slip.lines[0].half_cent, slip.due) == (told, Money.of("16.94"))


def test_the_other_rule_is_named_as_well():
    """By half even it is 36.94 here, and 36.92 for 36.925; what is no half cent needs no rule."""
    price = UnitPrice.of("8.90", WeightUnit.LB)
    assert "half even gives 36.94" in half_cent(price, lb("4.15"), Rounding.HALF_EVEN)
    assert half_cent(price, lb("4.16"), Rounding.HALF_UP) == ""
    one = UnitPrice.of("0.925", WeightUnit.LB)
    assert half_cent(one, lb("1"), Rounding.HALF_EVEN).endswith("half even gives 0.92")
    assert half_cent(one, lb("1"), Rounding.HALF_UP).endswith("half up gives 0.93")


def test_each_way_has_its_total_before_it_is_chosen(shop, clock):
    """Take 36.94; topped up with 0.90 lb shin 42.88; swapped for 5.20 lb 34.32; left out nothing.

    0.85 lb of short rib x 0.62 is 0.527 lb of meat; shin gives 0.60 a lb: 0.878, so 0.90 lb.
    """
    clock.put(THURSDAY)
    found = ways(short_ribs(shop))
    assert {what: (str(one.total), str(one.due)) for what, one in found.items()} == {
        "take": ("36.94", "16.94"), "top up": ("42.88", "22.88"), "swap": ("34.32", "14.32"),
        "left out": ("0.00", "-20.00"),
    }  # fmt: skip
    top = found["top up"].instead
    assert (top.case_id, top.name, top.weight, str(top.price.amount)) == (
        "C15", "Beef shin on the bone", lb("0.90"), "6.60",
    )  # fmt: skip


@pytest.mark.parametrize("what", ["take", "top up", "swap", "left out"])
def test_what_is_chosen_comes_to_what_was_told(shop, clock, what):
    """The total kept is the total told, the new line has its own name and price, and it undoes."""
    clock.put(THURSDAY)
    way = ways(short_ribs(shop))[what]
    before = {one.id: one.free for one in shop.case()}
    after = shop.pickup.choose("H8-1", what, "she agreed", by="dot", key="c",
                               total=way.total)  # fmt: skip
    assert (after.total, after.due) == (way.total, way.due)
    booking = after.booking
    assert booking.lines[0].off is (what in {"swap", "left out"})
    if way.instead:
        assert (booking.lines[1].name, booking.lines[1].unit_price) == (
            way.instead.name, way.instead.price,
        )  # fmt: skip
    event = booking.events[-1]
    assert (event.what, event.by) == (what, "dot")
    assert "she agreed" in event.why
    assert shop.check() == []
    shop.undo("H8", by="dot", key="u")
    again = shop.pickup.pickup("H8")
    assert (again.total, again.due) == (Money.of("36.94"), Money.of("16.94"))
    assert {one.id: one.free for one in shop.case()} == before


def test_a_swapped_line_is_not_weighed_at_the_counter(shop, clock):
    """Handed over, the slip has the shin alone, under its own name."""
    clock.put(THURSDAY)
    short_ribs(shop)
    after = shop.pickup.choose("H8-1", "swap", "yes", by="dot", key="c")
    assert free_lb(shop, "C09") == "11.15"
    with pytest.raises(NotFound, match="no line"):
        shop.hand_over("H8", {"H8-1": lb(0), "H8-2": lb("5.2")}, by="dot", key="bad")
    slip = shop.hand_over("H8", {"H8-2": lb("5.2")}, by="dot", key="go")
    assert [(one.name, str(one.line_total)) for one in slip.lines] == [
        ("Beef shin on the bone", "34.32")
    ]
    assert after.booking.total == slip.total


def test_a_stand_in_is_agreed_before_anything_is_weighed(shop):
    """On Tuesday already: the short ribs of Thursday are chuck eye now, 3.0 lb at the board."""
    after = shop.pickup.choose("H8-1", "swap", "asked on the telephone", by="dot", key="c",
                               case_id="C07", weight=lb("3.0"))  # fmt: skip
    assert (after.total, after.booking.lines[1].name) == (Money.of("38.10"),
                                                          "Beef chuck eye steaks")  # fmt: skip


@pytest.mark.parametrize(
    ("reason", "free", "lost"),
    [("drip", "7.00", "0.85"), ("cut gave less", "7.00", "0.85"),
     ("taken by mistake", "7.00", "0.85"), ("cut light, rest in the case", "7.85", "0.00"),
     ("other", "7.85", "0.00")],
)  # fmt: skip
def test_the_missing_weight_is_lost_or_in_the_case(shop, reason, free, lost):
    """By the reason given, 0.85 lb is gone from the lot or free again; the line holds 4.15 lb."""
    before = case_line(shop, "C09").on_hand
    row = short_ribs(shop, reason=reason, why="nobody knows").lines[0]
    assert row.line.held == lb("4.15")
    assert free_lb(shop, "C09") == free
    assert (before - case_line(shop, "C09").on_hand).text() == f"{lost} lb"
    assert shop.check() == []


def test_weighed_again_the_newest_counts(shop):
    """4.15 lost as drip, then 4.60, then 5.10: what was lost comes back first, then free stock."""
    short_ribs(shop, reason="drip")
    assert short_ribs(shop, "4.60", "drip").lines[0].short == lb("0.40")
    assert case_line(shop, "C09").on_hand == lb("11.60")
    row = short_ribs(shop, "5.10", None).lines[0]
    assert (row.short, row.reason, row.line.held) == (lb(0), "", lb("5.10"))
    assert (free_lb(shop, "C09"), case_line(shop, "C09").on_hand) == ("6.90", lb(12))
    with pytest.raises(BadValue, match=r"over twice the booked 5\.00 lb"):
        short_ribs(shop, "11.0", None)
    shop.book(order(line("C09", "6.9")), key="all")
    with pytest.raises(NotEnoughFree):
        short_ribs(shop, "5.20", None)


def test_a_release_after_a_short_weighing_frees_what_was_there(shop):
    """4.15 lb go back, not 5.0; undone, 4.15 lb are promised again."""
    short_ribs(shop, reason="drip")
    shop.release("H8", by="dot", key="r", why="ill")
    assert free_lb(shop, "C09") == "11.15"
    shop.undo("H8", by="dot", key="u")
    assert shop.booking("H8").lines[0].held == lb("4.15")


def test_all_lines_weighed_it_may_be_packed(shop):
    """Nothing is offered before; a booking that is packed already is not packed again."""
    assert not shop.pickup.pickup("H8").may_pack
    assert short_ribs(shop).may_pack
    shop.change_state("H8", State.PACKED, by="dot", key="p")
    assert not shop.pickup.pickup("H8").may_pack


def test_a_bird_weighed_ahead_keeps_its_ticket_until_it_goes(shop):
    """Two birds of 8.2 lb weigh 8.0: no pound moves now, the slip is for 8.0."""
    pickup = shop.pickup.weigh("H2-4", lb("8.0"), "drip", by="dot", key="a")
    (row,) = (one for one in pickup.lines if one.line.id == "H2-4")
    assert (row.short, row.line.held, str(row.money)) == (lb("0.2"), lb("8.2"), "42.40")
    with pytest.raises(BadValue, match=r"2 booked at 8\.20 lb"):
        shop.pickup.weigh("H2-4", lb("4.1"), "drip", by="dot", key="b")


@pytest.mark.parametrize(
    ("weighed", "reason", "sentence"),
    [("4.15", None, "is 0.85 lb short: say why, one of cut gave less"),
     ("4.15", "bad luck", "say why"), ("4.15", "other", "a word or two"),
     ("-0.1", None, "less than nothing")],
)  # fmt: skip
def test_a_weighing_that_cannot_be_is_told(shop, weighed, reason, sentence):
    """One sentence, nothing written."""
    with pytest.raises(BadValue, match=sentence):
        short_ribs(shop, weighed, reason)
    assert shop.booking("H8").lines[0].ready is None


def test_a_choice_that_cannot_be_is_told(shop):
    """No way of that name, nothing agreed, nothing short, nothing weighed, off already."""

    def choose(what, agreed="yes", **more):
        return shop.pickup.choose("H8-1", what, agreed, by="dot", key=f"{what}{agreed}{more}",
                                  **more)  # fmt: skip

    with pytest.raises(BadValue, match="take, top up, swap, left out"):
        choose("shrug")
    with pytest.raises(BadValue, match="what the customer agreed to"):
        choose("swap", " ")
    with pytest.raises(WrongState, match="not weighed yet"):
        choose("top up")
    with pytest.raises(BadValue, match="what is booked"):
        choose("swap", case_id="C09", weight=lb(1))
    with pytest.raises(BadValue, match="how much"):
        choose("swap", case_id="C15")
    with pytest.raises(NotFound, match="no case line"):
        choose("swap", case_id="C77", weight=lb(1))
    with pytest.raises(WrongState, match=r"not 1\.00"):
        choose("left out", total=Money.of("1.00"))
    assert not shop.booking("H8").lines[0].off
    choose("left out")
    with pytest.raises(WrongState, match="is off already"):
        choose("swap")


def test_sesame_told_late_stops_its_line(shop, clock):
    """Talk 5: 2.0 lb and 16.20 come off H2, 18.0 lb stay; who took the call is kept."""
    clock.put(THURSDAY)
    before = shop.booking("H2").total
    found = shop.pickup.stop("H2", "sesame", by="dot", key="s", told="a mother, by telephone")
    assert [one.case_id for one in found.lines] == ["C25"]
    assert (found.weight, found.money, found.by) == (lb("2.0"), Money.of("16.20"), "dot")
    assert before - found.booking.total == Money.of("16.20")
    assert found.left.text(places=1) == "18.0 lb"
    said = " ".join(found.words)
    assert "18.0 lb of boneless meat stays" in said
    assert "17.0 lb (hungry)" in said
    assert "bench list" in said
    assert "Lot C25-0609 was made up in this room, and is here since" in said
    assert "free from" not in said.lower()
    event = found.booking.events[-1]
    assert event.why.startswith("sesame: 2.00 lb of Chicken thigh, soy-sesame off, 16.20")
    assert "a mother, by telephone" in event.why
    assert shop.check() == []
    lines = shop.bench.lines().lines
    assert not any(one.what.startswith("Chicken thigh, soy") and not one.is_off for one in lines)
    cares = [care for one in lines if one.booking_id == "H2" for care in one.cares]
    assert any("sesame allergy" in care for care in cares)


def test_after_the_call_nothing_with_sesame_stands_in(shop):
    """The allergen told late bars the line from standing in, at any depth; undone, it does not."""
    shop.pickup.stop("H2", "sesame", by="dot", key="s", told="by telephone")
    with pytest.raises(BadValue, match="sesame, which this table must not have"):
        shop.pickup.choose("H2-2", "swap", "yes", by="dot", key="c", case_id="C25", weight=lb(2))
    shop.undo("H2", by="dot", key="u")
    assert not any(one.off for one in shop.booking("H2").lines)
    assert shop.booking("H2").lines[4].held == lb("2.0")
    after = shop.pickup.choose("H2-2", "swap", "yes", by="dot", key="d", case_id="C25",
                               weight=lb(2))  # fmt: skip
    assert after.booking.lines[-1].case_id == "C25"


def test_what_was_left_out_before_the_call_is_not_of_the_call(shop):
    """A line the customer had left out already is not told again with weight and money."""
    shop.pickup.choose("H2-5", "left out", "she changed her mind", by="dot", key="c")
    found = shop.pickup.stop("H2", "sesame", by="dot", key="s", told="by telephone")
    assert (found.lines, found.weight, found.money) == ((), lb(0), Money.of("0"))
    assert "no line holds it" in found.booking.events[-1].why


def test_who_called_is_kept_however_much_comes_off(shop):
    """Six lines with long names come off, and the event still ends in who told it."""
    wishes = [line("C25", "0.25") for _ in range(6)]
    made = shop.book(order(*wishes), key="b")
    found = shop.pickup.stop(made.id, "soy", by="dot", key="s", told="a mother, by telephone")
    assert len(found.lines) == 6
    why = found.booking.events[-1].why
    assert why.endswith("; told by a mother, by telephone")
    assert len(why) <= 200


def test_several_lines_are_weighed_at_once_or_none_is(shop):
    """Two of the rowers' lines in one act; a fault of the second leaves the first unweighed."""
    asked = [WeighedAhead("H2-2", lb("6.0")), WeighedAhead("H2-1", lb("4.0"))]
    with pytest.raises(BadValue, match="say why") as refused:
        shop.pickup.weigh_all(asked, by="dot", key="a")
    assert refused.value.where == "reason-H2-1"
    assert not any(one.ready for one in shop.booking("H2").lines)
    asked[1] = WeighedAhead("H2-1", lb("4.0"), "drip")
    pickup = shop.pickup.weigh_all(asked, by="dot", key="b")
    ready = {one.line.id: one.line.ready for one in pickup.lines if one.line.ready is not None}
    assert ready == {"H2-1": lb("4.0"), "H2-2": lb("6.0")}
    with pytest.raises(BadValue, match="enter what the scale says"):
        shop.pickup.weigh_all([], by="dot", key="c")


def test_a_total_that_is_not_what_was_told_hands_nothing_over(shop):
    """Agreed top-up and hand-over are one act: another total, and neither is kept."""
    agreed = [Chosen("H8-1", "top up", "at the glass", case_id="C15", weight=lb("0.90"))]
    weights = {"H8-1": lb("4.15")}
    with pytest.raises(WrongState, match=r"42\.88 now, not 40\.00"):
        shop.pickup.hand_over("H8", weights, agreed, by="dot", key="a", total=Money.of("40.00"))
    assert len(shop.booking("H8").lines) == 1
    slip = shop.pickup.hand_over("H8", weights, agreed, by="dot", key="b",
                                 total=Money.of("42.88"))  # fmt: skip
    assert [str(one.line_total) for one in slip.lines] == ["36.94", "5.94"]
    assert shop.check() == []


def test_an_unknown_allergen_and_a_call_of_nobody_are_told(shop):
    """The known ones are named."""
    with pytest.raises(BadValue, match="sesame"):
        shop.pickup.stop("H2", "moonshine", by="dot", key="a", told="by telephone")
    with pytest.raises(BadValue, match="who called"):
        shop.pickup.stop("H2", "sesame", by="dot", key="b", told=" ")


@pytest.mark.parametrize(
    ("weighed", "band", "words"),
    [("4.15", "usual", "still a full plate"), ("4.9", "hungry", "still plenty"),
     ("3.2", "light", "a top-up is worth offering"), ("1.0", "light", "less than a light plate"),
     ("5.0", "hungry", "as much as was booked")],
)  # fmt: skip
def test_a_plate_is_told_by_its_band(weighed, band, words):
    """Six at 7 oz usual: light is 5.0, hungry 8.0, as `collop.spread` has them."""
    plate = plate_of(lb("5.0").exact(WeightUnit.LB) * 62 / 100,
                     lb(weighed).exact(WeightUnit.LB) * 62 / 100, 6, 7)  # fmt: skip
    assert plate.band == band
    assert words in plate.words


def test_nobody_counted_no_plate_is_told(shop):
    """Without heads there is no share to tell."""
    made = shop.book(order(line("C09", "2.0"), heads=None), key="b")
    row = shop.pickup.weigh(f"{made.id}-1", lb("1.5"), "drip", by="dot", key="w").lines[0]
    assert row.plate is None
    assert row.short_pct == 25


def test_kilograms_are_as_exact(shop):
    """1.88 kg on the scale is 4.14 lb and some, to the count."""
    row = shop.pickup.weigh("H8-1", Weight.of("1.88", WeightUnit.KG), "drip", by="dot",
                            key="k").lines[0]  # fmt: skip
    assert row.line.held.count == Weight.of("1.88", WeightUnit.KG).count


def test_what_was_weighed_ahead_is_the_money_of_now(shop, clock):
    """3.60 lb of 5.00 at 8.90: 32.04, less 20.00 is 12.04; 44.50 stands beside it as booked."""
    clock.put(THURSDAY)
    short_ribs(shop, "3.60")
    money = shop.pickup.money("H8")
    assert (money.now.total, money.now.due) == (Money.of("32.04"), Money.of("12.04"))
    assert (money.booked.total, money.booked.due) == (Money.of("44.50"), Money.of("24.50"))
    assert money.differs
    pickup = shop.pickup.pickup("H8")
    assert (pickup.total, pickup.due, pickup.money) == (money.now.total, money.now.due, money)
    slip = shop.hand_over("H8", {"H8-1": lb("3.60")}, by="dot", key="go")
    assert (slip.total, slip.due) == (money.now.total, money.now.due)


def test_the_call_tells_what_was_weighed_and_how_short_it_is(shop, clock):
    """28 % short in the words of the plate, and the money of now; topped up, it says with what."""
    clock.put(THURSDAY)
    short_ribs(shop, "3.60")
    plate = shop.pickup.pickup("H8").lines[0].plate.words
    calls = [one for one in shop.promising.reminders(THURSDAY.date()) if one.booking_id == "H8"]
    said = {one.kind: one.say for one in calls}
    assert "32.04 so far, 20.00 paid down, 12.04 to pay." in said["pick-up"]
    assert "28 % short: 3.60 lb instead of 5.00 lb." in said["short"]
    assert said["short"].endswith(plate)
    shop.pickup.choose("H8-1", "top up", "rang him", by="dot", key="top")
    calls = [one for one in shop.promising.reminders(THURSDAY.date()) if one.booking_id == "H8"]
    assert [one.kind for one in calls] == ["pick-up", "topped up"]
    assert f"topped up with {shop.booking('H8').lines[1].weight.text()} of" in calls[1].say


def test_a_gap_that_was_topped_up_is_filled(shop, clock):
    """It is short no more; a second top-up is refused until the first is undone."""
    clock.put(THURSDAY)
    short_ribs(shop, "3.60")
    assert "top up" in ways(shop.pickup.pickup("H8"))
    first = shop.pickup.choose("H8-1", "top up", "rang him", by="dot", key="top")
    row = first.lines[0]
    assert (row.short, row.short_pct, row.plate) == (lb("0"), 0, None)
    assert {"take", "top up"}.isdisjoint(ways(first))
    (filled,) = row.line.topped_up
    assert (filled.line_id, filled.weight) == ("H8-2", first.lines[1].line.weight)
    held = first.lines[1].line.held
    shin = shop.booking("H8").lines[1].case_id
    with pytest.raises(WrongState, match=r"with 1[.]45 lb of Beef shin on the bone already"):
        shop.pickup.choose("H8-1", "top up", "again", by="dot", key="top-2", case_id=shin,
                           weight=lb("0.5"))  # fmt: skip
    assert shop.booking("H8").lines[1].held == held
    shop.undo("H8", by="dot", key="back")
    assert shop.pickup.pickup("H8").lines[0].short == lb("1.40")
    again = shop.pickup.choose("H8-1", "top up", "after all", by="dot", key="top-3")
    assert not again.lines[0].short
    assert not shop.check()


def test_less_after_the_top_up_is_a_gap_of_its_own(shop, clock):
    """Topped up at 3.60 and 3.10 weighed since: 0.50 short; the stand-in left out, 1.90."""
    clock.put(THURSDAY)
    short_ribs(shop, "3.60")
    shop.pickup.choose("H8-1", "top up", "rang him", by="dot", key="top")
    clock.put(THURSDAY.replace(minute=20))
    assert short_ribs(shop, "3.10").lines[0].short == lb("0.50")
    off = shop.pickup.choose("H8-2", "left out", "no shin", by="dot", key="off")
    assert off.lines[0].short == lb("1.90")
    assert not off.lines[0].line.topped_up


def test_what_is_still_to_come_is_not_handed_over(shop):
    """A booking that waits for weight says so; with nothing more wanted it goes."""
    booking = shop.book(order(line("C07", "2.00"), deposit=Money.of("20.00")), key="b")
    shop.bench.want(booking.id, "C09", lb("1.00"), by="dot", key="want")
    wait = shop.pickup.pickup(booking.id).hindrance
    assert wait.do == "set aside"
    assert "1.00 lb of Beef short ribs still to come" in wait.words
    weights = {f"{booking.id}-1": lb("2.00")}
    with pytest.raises(WrongState, match="still to come"):
        shop.hand_over(booking.id, weights, by="dot", key="early")
    shop.pickup.go_without(booking.id, by="dot", key="none")
    with pytest.raises(WrongState, match="Nothing is still to come"):
        shop.pickup.go_without(booking.id, by="dot", key="none-2")
    assert shop.pickup.pickup(booking.id).hindrance is None
    shop.hand_over(booking.id, weights, by="dot", key="go")
    assert not shop.check()


def test_nothing_packed_is_not_handed_over(shop):
    """Half a lamb that hangs on the rail has no line yet: nothing to hand over, so pack it."""
    found = [one for one in shop.bookings(date(2026, 6, 8), date(2026, 6, 30)) if not one.lines]
    assert found
    for one in found:
        wait = shop.pickup.pickup(one.id).hindrance
        assert wait is not None
        with pytest.raises(WrongState, match=r"hand(ed)? over"):
            shop.hand_over(one.id, {}, by="dot", key=f"early-{one.id}")
        assert shop.booking(one.id).state.holds
    assert "pack" in {shop.pickup.pickup(one.id).hindrance.do for one in found}
