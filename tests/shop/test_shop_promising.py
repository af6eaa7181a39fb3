"""What may be promised for a date, booking for it, setting aside, and reminders."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction
from threading import Thread

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from wished import free_lb, lb, line, order

from collop.errors import BadValue, NotEnoughFree, NotFound
from collop.measures import Money, Temperature, UnitPrice, Weight, WeightUnit
from collop.reference import thaw_hours
from collop.shop import (
    NewCaseLine,
    NewDelivery,
    NewLine,
    NewMaterial,
    NewPart,
    NewPiece,
    NewStyle,
    Person,
    Settings,
    State,
    StillClock,
    create_shop,
    open_shop,
)

TUESDAY, WEDNESDAY, THURSDAY, FRIDAY, SATURDAY = (date(2026, 6, 9 + ahead) for ahead in range(5))


def at(day, hour=11, minute=0):
    return datetime.combine(day, time(hour, minute))


def free(shop, case_id, day):
    (found,) = shop.promising.free_by(day, case_id)
    return found


def lbs(weight):
    return str(weight.decimal(WeightUnit.LB, 2))


def per_kg(amount):
    return UnitPrice.of(amount, WeightUnit.KG, "EUR")


def wants_of(shop, booking):
    return {one.case_id: one for one in shop.bench.wants() if one.booking_id == booking.id}


# what is free by a day


def test_the_case_counts_until_its_last_day_and_what_is_booked_never(shop):
    """C03 keeps till Friday: 9 lb of the case on Friday, none of it on Saturday; C10 is booked."""
    assert lbs(free(shop, "C03", FRIDAY).case) == "9.00"
    assert lbs(free(shop, "C03", SATURDAY).case) == "0.00"
    assert (lbs(free(shop, "C10", TUESDAY).weight), free_lb(shop, "C10")) == ("0.00", "0.00")
    assert [one.case_id for one in shop.promising.free_by(FRIDAY)] == [
        one.id for one in shop.case()
    ]


def test_the_rail_gives_its_planned_break_by_the_shop_s_own_yields(shop):
    """B-41H, 146.2 lb, is planned for Thursday: 0.6 % is hanger and skirt, less two days of air.

    It lost 5.8 of 152.0 lb in 13 days; there is no plan yet, so the rail's own day counts.
    """
    shrink = Fraction("5.8") / 152 / 13
    expected = Fraction("146.2") * (1 - shrink) ** 2 * Fraction("0.006")
    found = free(shop, "C14", THURSDAY)
    assert abs(found.rail.exact(WeightUnit.LB) - expected) < Fraction(1, 1000)
    assert found.weight == found.rail
    assert [part.words for part in found.parts] == ["from B-41H, cut on Thu 11 Jun"]
    assert not free(shop, "C14", WEDNESDAY).weight
    # three days after the knife it is over, and the side of Tuesday comes in
    assert "B-42" in free(shop, "C14", date(2026, 6, 16)).parts[0].words


def test_what_a_booking_claims_of_a_piece_is_not_promised_again(shop):
    """H3 claims 23.8 of L-209's 47.6 lb: half of its legs count."""
    found = free(shop, "C01", WEDNESDAY)
    whole = {part.words.split(",")[0]: part.weight for part in found.parts}
    legs = {tag: whole[f"from {tag}"].exact(WeightUnit.LB) for tag in ("L-207", "L-209")}
    # 50.5 lb today, 47.6 lb tomorrow and half of it: the shares of both are alike
    shrink = Fraction("1.4") / 49 / 6
    assert abs(
        legs["L-209"] / legs["L-207"] - Fraction("23.8") * (1 - shrink) / Fraction("50.5")
    ) < (Fraction(1, 1000))


def test_a_plan_says_which_pieces_are_cut_and_none_counts_twice(shop):
    """With a plan, its breaks count as it has them, and nothing of the same piece by the rail."""
    plan = shop.bench.refresh().plan
    on_saturday = {one.case_id: one for one in shop.promising.free_by(SATURDAY)}
    legs = sum(
        Fraction(out["weight"]) - Fraction(out["claimed"])
        for one in plan["breaks"] if one["date"] <= SATURDAY.isoformat()
        for out in one["outputs"] if out["id"] == "C01"
    )  # fmt: skip
    assert legs > 0
    assert abs(on_saturday["C01"].plan.exact(WeightUnit.LB) - legs) < Fraction(1, 100)
    planned = {one["tag"] for one in plan["breaks"]} | {one["tag"] for one in plan["kept"]}
    for one in on_saturday.values():
        assert not any(part.part == "rail" and part.words.split(",")[0][5:] in planned
                       for part in one.parts)  # fmt: skip
    assert on_saturday["C19"].plan > on_saturday["C19"].weight  # H6 wants 20 lb of the links


def test_what_is_made_of_trim_lasts_no_longer_than_the_trim(shop):
    """The links and mince of all lines together take no more trim than there is and comes off."""
    plan = shop.bench.refresh().plan
    made = {one["cut"] for one in plan["makes"]}
    assert {"C19", "C11"} <= made
    beef = sum(free(shop, case_id, SATURDAY).plan.exact(WeightUnit.LB)
               for case_id in ("C11", "C22"))  # fmt: skip
    off = sum(Fraction(out["weight"]) for one in plan["breaks"] for out in one["outputs"]
              if out["id"] == "beef-trim")  # fmt: skip
    assert 0 < beef <= Fraction("38.6") + off


def test_a_piece_at_the_knife_is_no_longer_to_come(shop):
    """Once L-207 is on the block neither plan nor rail counts it; what was weighed is there."""
    shop.bench.refresh()
    before = free(shop, "C02", SATURDAY)
    assert any("L-207" in part.words for part in before.parts)
    cut = shop.cutting.start_break("L-207", "lamb", by="marek", key="s")
    after = free(shop, "C02", SATURDAY)
    assert not any("L-207" in part.words for part in after.parts)
    shoulder = next(part.id for part in cut.style.parts if part.case_id == "C02")
    shop.cutting.weigh_part(cut.number, shoulder, lb("9.0"), by="marek", key="w")
    assert free(shop, "C02", SATURDAY).case == after.case + lb("9.0")


def test_frozen_ducks_count_when_the_published_time_has_thawed_them(shop, clock):
    """Talk 8: at 16:00 on Wednesday no duck of 5.2 lb is thawed by Thursday 13:00, by Friday all.

    4 to 5 lb take 24 h in the refrigerator (source id THAW_TURKEY, "Turkey thawing times (USDA
    based)"): 31.2 h planned, so Thursday 23:12, after the shop has closed.
    """
    clock.put(at(WEDNESDAY, 16))
    assert thaw_hours(lb("5.2")).planned == Weight.of("31.2", WeightUnit.LB).decimal(
        WeightUnit.LB, 2
    )
    assert not free(shop, "C29", THURSDAY).weight
    assert lbs(free(shop, "C29", FRIDAY).thaw) == "52.00"
    say = shop.promising.answer(THURSDAY, "C29", lb("15.6")).say
    assert say.startswith("Friday yes; Thursday no, none of Ducks, whole, frozen")
    with pytest.raises(NotEnoughFree, match="Friday yes"):
        shop.promising.book(order(line("C29", "5.2"), collect_at=at(THURSDAY, 13)), key="k")
    made = shop.promising.book(order(line("C29", "15.6"), collect_at=at(FRIDAY, 9)), key="k2")
    assert len(made.lines[0].pieces) == 3


def test_thawed_by_the_hour_of_collection_and_not_by_the_day_alone(shop):
    """From Tuesday 08:00 a duck is thawed on Wednesday 15:12: no at noon, yes at four."""
    assert lbs(free(shop, "C29", WEDNESDAY).thaw) == "52.00"  # by closing time
    with pytest.raises(NotEnoughFree):
        shop.promising.book(order(line("C29", "5.2"), collect_at=at(WEDNESDAY, 12)), key="k")
    shop.promising.book(order(line("C29", "5.2"), collect_at=at(WEDNESDAY, 16)), key="k2")


def test_days_that_are_over_or_too_far_are_refused_in_words(shop):
    """One sentence each, and unknown lines too."""
    with pytest.raises(BadValue, match="is over"):
        shop.promising.free_by(TUESDAY - timedelta(days=1))
    with pytest.raises(BadValue, match="more than 366 days"):
        shop.promising.free_by(date(2030, 1, 1))
    with pytest.raises(NotFound, match="no case line"):
        shop.promising.free_by(FRIDAY, "C99")
    with pytest.raises(BadValue, match="how much"):
        shop.promising.answer(FRIDAY, "C01", lb("0"))


# the answer


def test_the_answer_has_the_nearest_yes_and_the_nearest_cousin(shop):
    """Brisket for Thursday: none; the side that is broken next Tuesday has it; rump would do.

    As long as the restaurant's standing order is on, that brisket is the restaurant's.
    """
    assert shop.promising.answer(THURSDAY, "C10", lb("5")).other_day is None
    shop.standing.pause("S1", by="ines", key="rest")
    found = shop.promising.answer(THURSDAY, "C10", lb("5"))
    assert (found.is_yes, found.cousin, found.other_day) == (False, "C13", date(2026, 6, 16))
    assert found.say == ("Tuesday 16 June yes; Thursday no, none of Beef brisket, but Beef rump"
                         " yes.")  # fmt: skip
    assert shop.promising.answer(found.other_day, "C10", lb("5")).is_yes
    assert shop.promising.answer(THURSDAY, found.cousin, lb("5")).is_yes


def test_the_most_is_said_and_is_the_most(shop):
    """3 lb of hanger on Thursday: only 0.87, cut off and never rounded up; so much is a yes."""
    found = shop.promising.answer(THURSDAY, "C14", lb("3"))
    assert "Thursday no, only 0.87 lb of Beef hanger and skirt" in found.say
    assert shop.promising.answer(THURSDAY, "C14", found.most).is_yes
    over = Weight(found.most.count + 1, WeightUnit.LB)
    assert not shop.promising.answer(THURSDAY, "C14", over).is_yes


def test_a_crumb_is_none(shop):
    """0.87 of 0.877 lb promised: what is left is under a hundredth, and said as none."""
    shop.promising.book(order(line("C14", "0.87"), collect_at=at(THURSDAY)), key="k")
    left = free(shop, "C14", THURSDAY).weight
    assert Weight.zero() < left < lb("0.01")
    assert "Thursday no, none of Beef hanger" in shop.promising.answer(THURSDAY, "C14", lb("1")).say


def test_a_yes_says_where_it_comes_from(shop):
    """In the case needs no word; beyond it, how much of which piece."""
    assert shop.promising.answer(TUESDAY, "C01", lb("5")).say == (
        "Tuesday yes: 5.00 lb of Lamb leg, bone in."
    )
    say = shop.promising.answer(TUESDAY, "C01", lb("10")).say
    assert "8.00 lb in the case, 2.00 lb from L-207, cut on Tue 9 Jun" in say


def test_on_a_shut_day_the_answer_is_the_open_day_beside_it(shop):
    """Sunday: shut; Saturday has it."""
    say = shop.promising.answer(date(2026, 6, 14), "C02", lb("3")).say
    assert say == "Saturday yes; Sunday the shop is shut."


def test_a_cousin_brings_no_allergen_and_no_other_species(shop):
    """Plain chicken thighs, none left: neither the soy-sesame nor the yoghurt ones are offered."""
    shop.book(order(line("C24", "10.0")), key="all")
    found = shop.promising.answer(WEDNESDAY, "C24", lb("4"))
    assert found.cousin == "C23"
    assert "sesame" not in found.say


def test_a_promise_for_saturday_leaves_friday_s_wish_alone(shop):
    """H2 wants 5 lb more shoulder by Friday: of what the lambs give, so much less for Saturday."""
    before = free(shop, "C02", SATURDAY)
    shop.bench.want("H2", "C02", lb("5"), by="ines", key="w")
    after = free(shop, "C02", SATURDAY)
    assert before.weight - after.weight == lb("5")
    assert after.wanted == lb("5")


# booking for a date


def test_what_is_there_is_reserved_and_the_rest_is_wanted(shop):
    """10 lb of leg for Saturday: the 8 in the case are held, 2 are noted for the bench."""
    made = shop.promising.book(order(line("C01", "10"), collect_at=at(SATURDAY)), key="k")
    assert [lbs(one.weight) for one in made.lines] == ["8.00"]
    assert (lbs(wants_of(shop, made)["C01"].left), free_lb(shop, "C01")) == ("2.00", "0.00")
    assert made.state is State.BOOKED
    assert shop.check() == []


def test_a_lot_that_is_over_by_collection_is_not_taken(shop):
    """Mince of Wednesday is no promise for Saturday; a plain booking takes it, this does not."""
    assert free_lb(shop, "C06") == "8.00"
    with pytest.raises(NotEnoughFree, match="Saturday no"):
        shop.promising.book(order(line("C06", "3"), collect_at=at(SATURDAY)), key="k")
    assert shop.find("Walk-in") == ()
    shop.bench.refresh()  # the plan makes some later in the week
    made = shop.promising.book(order(line("C06", "3"), collect_at=at(SATURDAY)), key="k2")
    assert (made.lines, lbs(wants_of(shop, made)["C06"].left)) == ((), "3.00")
    plain = shop.book(order(line("C06", "3"), collect_at=at(SATURDAY)), key="k3")
    assert plain.out_of_date


def test_all_of_it_or_nothing(shop):
    """One line too many: no booking, no line, no want."""
    before = (shop.bench.wants(), shop.find("Walk-in"), [one.free for one in shop.case()])
    with pytest.raises(NotEnoughFree):
        shop.promising.book(
            order(line("C01", "10"), line("C14", "50"), collect_at=at(SATURDAY)), key="k"
        )
    assert (shop.bench.wants(), shop.find("Walk-in"), [one.free for one in shop.case()]) == before


def test_two_lines_of_one_cut_share_what_is_there(shop):
    """20 lb twice is 40: more than the 50.1 by then allows a third time."""
    made = shop.promising.book(
        order(line("C01", "20"), line("C01", "20"), collect_at=at(SATURDAY)), key="k"
    )
    held = sum(one.held.count for one in made.lines)
    assert held + wants_of(shop, made)["C01"].left.count == lb("40").count
    with pytest.raises(NotEnoughFree):
        shop.promising.book(order(line("C01", "20"), collect_at=at(SATURDAY)), key="k2")


def test_sent_twice_is_booked_once(shop):
    """The same key gives the same booking."""
    new = order(line("C01", "10"), collect_at=at(SATURDAY))
    first, again = (shop.promising.book(new, key="k") for _ in range(2))
    assert first.id == again.id
    assert len(wants_of(shop, first)) == 1


def test_a_held_quote_keeps_its_price(shop, clock):
    """Quoted at 11.20, booked after the board moved."""
    quote = shop.quote([line("C01", "5")], ask={}, key="q")
    shop.board_price("C01", quote.lines[0].unit_price.__class__.of("11.50", WeightUnit.LB),
                     by="ines", why="farm", key="b")  # fmt: skip
    new = order(line("C01", "6"), collect_at=at(SATURDAY))
    made = shop.promising.book(new, key="k", quote_id=quote.id)
    assert [(lbs(one.weight), str(one.unit_price.amount)) for one in made.lines] == [
        ("5.00", "11.20"), ("1.00", "11.50"),
    ]  # fmt: skip


def test_whole_pieces_are_named_or_the_oldest(shop):
    """Birds of 4.1 lb: two by weight; half a bird is none."""
    made = shop.promising.book(order(line("C23", "8.2"), collect_at=at(SATURDAY)), key="k")
    assert len(made.lines[0].pieces) == 2
    with pytest.raises(BadValue, match="whole piece"):
        shop.promising.book(order(line("C23", "5"), collect_at=at(SATURDAY)), key="k2")


def test_two_tills_never_promise_the_same_weight(url):
    """Eight at once, each 8 lb of the leg there is by Thursday: what they hold and want exists."""
    with open_shop(url, StillClock()) as shop:
        most = free(shop, "C01", THURSDAY).weight
        made = []

        def till(number):
            new = order(line("C01", "8"), collect_at=at(THURSDAY))
            try:
                made.append(shop.promising.book(new, key=f"k{number}"))
            except NotEnoughFree:
                return

        tills = [Thread(target=till, args=(number,)) for number in range(8)]
        for one in tills:
            one.start()
        for one in tills:
            one.join()
        assert len(made) == most.count // lb("8").count == 6
        left = free(shop, "C01", THURSDAY).weight
        assert left == most - lb("48")
        assert shop.check() == []


DAYS = (TUESDAY, THURSDAY, SATURDAY)
CUTS = ("C01", "C14", "C23")


@given(st.lists(st.tuples(st.sampled_from(CUTS), st.sampled_from(DAYS), st.integers(1, 120)),
                min_size=2, max_size=5))  # fmt: skip
@settings(max_examples=5)
def test_whatever_the_order_no_more_is_promised_than_there_was(places, demos, wishes):
    """Bookings in any order: what each day promised is within what was free by that day before."""
    with open_shop(places.copy(demos("tuesday")), StillClock()) as shop:
        before = {day: {one.case_id: one.weight for one in shop.promising.free_by(day)}
                  for day in DAYS}  # fmt: skip
        promised = {day: dict.fromkeys(CUTS, 0) for day in DAYS}
        for step, (case_id, day, halves) in enumerate(wishes):
            wish = line(case_id, "4.1" if case_id == "C23" else str(halves / 2))
            most = free(shop, case_id, day).weight
            try:
                shop.promising.book(order(wish, collect_at=at(day, 17)), key=f"k{step}")
            except NotEnoughFree:
                assert wish.weight > most
                continue
            promised[day][case_id] += wish.weight.count
            assert most - free(shop, case_id, day).weight == wish.weight
        for day, found in promised.items():
            assert all(count <= before[day][one].count for one, count in found.items())
        assert shop.check() == []


# what came in


def come_in(shop, case_id="C02", weight="9.0", keeps=None):
    """Cut a lamb's shoulder into the case."""
    cut = shop.cutting.start_break("L-207", "lamb", by="marek", key="s")
    part = next(part.id for part in cut.style.parts if part.case_id == case_id)
    shop.cutting.weigh_part(cut.number, part, lb(weight), by="marek", key="w")


def test_what_came_in_is_set_aside_soonest_first_and_never_more(shop, clock):
    """22 lb for Saturday and 3 more for Friday are wanted; the 9 that came go to Friday first."""
    saturday = shop.promising.book(order(line("C02", "22"), collect_at=at(SATURDAY)), key="a")
    friday = shop.promising.book(order(line("C02", "3"), collect_at=at(FRIDAY)), key="b")
    left = [lbs(wants_of(shop, one)["C02"].left) for one in (saturday, friday)]
    assert left == ["7.00", "3.00"]
    assert shop.promising.waiting() == ()
    come_in(shop)
    told = [(one.booking_id, lbs(one.weight), lbs(one.wanted)) for one in shop.promising.waiting()]
    assert told == [(friday.id, "3.00", "3.00"), (saturday.id, "6.00", "7.00")]
    done = shop.promising.set_aside(by="ines", key="set")
    assert [(one.booking_id, one.say) for one in done] == [
        (friday.id, "3.00 lb of Lamb shoulder, bone in"),
        (saturday.id, "6.00 lb of Lamb shoulder, bone in"),
    ]
    assert shop.promising.set_aside(by="ines", key="set") == done
    assert shop.promising.set_aside(by="ines", key="again") == ()
    assert lbs(wants_of(shop, saturday)["C02"].left) == "1.00"
    assert (friday.id not in {one.booking_id for one in shop.bench.wants() if one.left}) is True
    held = sum(one.held.count for one in shop.booking(saturday.id).lines)
    assert held == lb("21").count
    assert (free_lb(shop, "C02"), shop.check()) == ("0.00", [])


def test_set_aside_has_the_price_of_the_promise(shop, clock):
    """The board went up on the next day; what was promised before keeps its price."""
    made = shop.promising.book(order(line("C02", "16"), collect_at=at(SATURDAY)), key="a")
    price = made.lines[0].unit_price
    clock.put(at(WEDNESDAY, 9))
    shop.board_price("C02", price.__class__.of("9.40", WeightUnit.LB), by="ines", why="farm",
                     key="b")  # fmt: skip
    come_in(shop)
    shop.promising.set_aside(by="ines", key="set")
    assert {one.unit_price for one in shop.booking(made.id).lines} == {price}
    assert shop.booking(made.id).events[-1].what == "set aside"


def test_what_is_over_by_collection_is_set_aside_for_nobody(shop):
    """H6 wants links for Saturday; those in the case are good till Friday."""
    assert free_lb(shop, "C19") == "12.00"
    assert shop.promising.waiting() == ()
    assert shop.promising.set_aside(by="ines", key="set") == ()


def test_one_line_alone_can_be_set_aside(shop):
    """Of two lines that wait only the named one is done."""
    shop.bench.want("H2", "C07", lb("1"), by="ines", key="w1")
    shop.bench.want("H2", "C08", lb("1"), by="ines", key="w2")
    done = shop.promising.set_aside(by="ines", key="set", case_id="C08")
    assert [one.say for one in done] == ["1.00 lb of Beef blade steaks"]
    assert [one.case_id for one in shop.promising.waiting()] == ["C07"]


def test_whole_pieces_are_set_aside_whole(shop):
    """9 lb of chicken wanted: two birds of 4.1 lb, and 0.8 lb is still to come."""
    shop.bench.want("H2", "C23", lb("9"), by="ines", key="w")
    shop.promising.set_aside(by="ines", key="set")
    added = shop.booking("H2").lines[-1]
    assert (lbs(added.weight), len(added.pieces)) == ("8.20", 2)
    left = next(one for one in shop.bench.wants() if (one.booking_id, one.case_id) == ("H2", "C23"))
    assert lbs(left.left) == "0.80"
    assert shop.check() == []


def test_what_is_off_wants_nothing(shop):
    """A booking taken off gives all back, and its wish is gone from the sums."""
    before = free(shop, "C01", SATURDAY).weight
    made = shop.promising.book(order(line("C01", "10"), collect_at=at(SATURDAY)), key="k")
    shop.release(made.id, by="dot", key="r", why="called off")
    assert free(shop, "C01", SATURDAY).weight == before


def test_a_booking_put_back_is_not_promised_what_somebody_else_has_now(shop):
    """Off, its 0.87 lb of Thursday's hanger went to another: it is not put back on the hook."""
    made = shop.promising.book(order(line("C14", "0.87"), collect_at=at(SATURDAY)), key="a")
    shop.release(made.id, by="dot", key="r", why="rain")
    shop.promising.book(order(line("C14", "0.87"), collect_at=at(SATURDAY)), key="b")
    with pytest.raises(NotEnoughFree, match=r"0\.87 lb of Beef hanger and skirt was still to come"):
        shop.undo(made.id, by="dot", key="u")
    assert shop.booking(made.id).state is State.OFF
    assert shop.check() == []


def test_a_booking_put_back_has_its_promise_again_while_it_is_there(shop):
    """Nobody took it meanwhile; and what H4 only wished for never stands in the way of H4."""
    made = shop.promising.book(order(line("C14", "0.87"), collect_at=at(SATURDAY)), key="a")
    for name in (made.id, "H4"):
        shop.release(name, by="dot", key=f"r{name}", why="rain")
        assert shop.undo(name, by="dot", key=f"u{name}").state.holds
    assert lbs(wants_of(shop, made)["C14"].left) == "0.87"


def test_a_clock_put_back_does_not_make_a_want_met(shop, clock):
    """15 lb reserved and 7 wanted at 08:00; 3 set aside with the clock at 07:30: 4 are wanted."""
    made = shop.promising.book(order(line("C02", "22"), collect_at=at(SATURDAY)), key="a")
    come_in(shop, weight="3.0")
    clock.put(at(TUESDAY, 7, 30))
    shop.promising.set_aside(by="ines", key="set")
    assert lbs(wants_of(shop, made)["C02"].left) == "4.00"
    shop.bench.want(made.id, "C02", lb("5"), by="ines", key="more")
    assert lbs(wants_of(shop, made)["C02"].left) == "5.00"


def test_frozen_goods_that_are_not_thawed_in_time_are_set_aside_for_nobody(shop):
    """A duck of 5.2 lb is no pick-up of today at 11:00; for Friday it is."""
    shop.bench.want("H4", "C29", lb("5.2"), by="ines", key="w")
    assert shop.promising.waiting() == ()
    assert shop.promising.set_aside(by="ines", key="set") == ()
    shop.bench.want("H2", "C29", lb("5.2"), by="ines", key="w2")
    assert [one.booking_id for one in shop.promising.waiting()] == ["H2"]


def test_what_was_made_since_the_plan_is_not_still_to_come(shop):
    """4 lb of a planned make are in the case: only the rest comes, though the trim would do."""
    plan = shop.bench.refresh().plan
    make = next(one for one in plan["makes"] if one["cut"] == "C11")
    day = date.fromisoformat(plan["days"][make["day"]])
    before = free(shop, "C11", day)
    lot = next(one.lot_id for one in shop.cutting.stock()
               if (one.place, one.species) == ("trim", "beef")
               and one.weight > lb("4"))  # fmt: skip
    first = NewMaterial(lb("4"), lot_id=lot, place="trim")
    made = shop.making.open("beef", "G1", "Beef mince", first, by="marek", key="m")
    shop.making.produce(made.code, "C11", lb("4"), by="marek", key="p")
    after = free(shop, "C11", day)
    assert before.plan - after.plan == lb("4")


def test_what_was_to_be_made_on_a_day_that_is_over_does_not_come(shop, clock):
    """Wednesday's mince of the plan, never made: on Thursday it is not promised."""
    shop.bench.refresh()
    words = {part.words for part in free(shop, "C11", THURSDAY).parts}
    assert "made on Wed 10 Jun" in words
    clock.put(at(THURSDAY, 9))
    words = {part.words for part in free(shop, "C11", THURSDAY).parts}
    assert "made on Thu 11 Jun" in words
    assert "made on Wed 10 Jun" not in words


def test_goods_sold_whole_are_answered_in_whole_pieces(shop):
    """5 lb of chicken are two birds, and the most that is said may be booked."""
    found = shop.promising.answer(SATURDAY, "C23", lb("5"))
    assert found.say == "Saturday yes: 2 pieces of Chicken, whole, 8.20 lb."
    shop.bench.want("H2", "C23", lb("1"), by="ines", key="w")
    found = shop.promising.answer(SATURDAY, "C23", lb("41"))
    assert "Saturday no, only 36.90 lb of Chicken, whole" in found.say
    assert found.most == lb("36.9")
    shop.promising.book(order(line("C23", "36.9"), collect_at=at(SATURDAY)), key="k")


def test_a_like_line_sold_whole_says_how_many(shop):
    """No thighs are left: 10 lb of them are three birds."""
    shop.book(order(line("C24", "10.0")), key="all")
    found = shop.promising.answer(WEDNESDAY, "C24", lb("10"))
    assert (found.cousin, found.cousin_pieces) == ("C23", 3)


def test_taking_what_an_order_waits_for_is_said(shop):
    """H2 waits for 3 lb of blade: a sale that leaves less says so, and no other."""
    shop.bench.want("H2", "C08", lb("3"), by="ines", key="w")
    (there,) = [one.free for one in shop.case() if one.id == "C08"]
    assert shop.promising.would_take([("C08", there - lb("3"))]) == ()
    assert shop.promising.would_take([("C01", lb("1"))]) == ()
    assert shop.promising.would_take([]) == ()
    one = [("C08", there - lb("3")), ("C08", lb("0.5"))]
    (said,) = shop.promising.would_take(one)
    assert said == ("H2 Rowing-club cookout waits for 3.00 lb of Beef blade steaks, and only 2.50"
                    " lb of it would be left: set it aside first.")  # fmt: skip
    (said,) = shop.promising.would_take([("C08", there)])
    assert "and none of it would be left" in said
    shop.promising.set_aside(by="ines", key="s")
    assert shop.promising.would_take([("C08", there - lb("3"))]) == ()


def test_a_piece_that_is_thawed_in_time_goes_before_an_older_one_that_is_not(shop, clock):
    """Of frozen legs the small ones alone are thawed tomorrow; a booking takes those."""
    clock.put(at(TUESDAY, 17))
    legs = free(shop, "C28", THURSDAY)
    assert {part.part for part in legs.parts} == {"thaw"}
    weights = {part.weight for part in legs.parts}
    (weight,) = weights  # four of 7 lb: 42 h, so Thursday 11:00
    amount = str(weight.decimal(WeightUnit.LB, 2))
    with pytest.raises(NotEnoughFree):
        shop.promising.book(order(line("C28", amount), collect_at=at(THURSDAY, 10)), key="k")
    made = shop.promising.book(order(line("C28", amount), collect_at=at(THURSDAY, 11)), key="k2")
    assert made.lines[0].pieces == (weight,)


def hang_a_lamb(shop, case_id):
    """Take in 20 kg of lamb, half of which becomes the line, to be broken on Thursday."""
    shop.cutting.add_style(
        NewStyle("lamm", "lamb", "lamb carcass", "Lamm", (
            NewPart("Lamm", "cut", "case", Fraction(1, 2), case_id, 9),
            NewPart("Rest", "loss", "drip", Fraction(1, 2)),
        )), by="ann", key="style",
    )  # fmt: skip
    weight = Weight.of("20", WeightUnit.KG)
    whole = NewPiece("L-1", "Lamm", "lamb carcass", weight)
    shop.cutting.receive(
        NewDelivery("L-1", "lamb", "Hof", (whole,), weight,
                    killed_on=TUESDAY, temperature=Temperature.celsius("3"),
                    papers=("inspection mark", "invoice")),
        by="ann", key="in",
    )  # fmt: skip
    shop.cutting.plan_break("L-1", THURSDAY, by="ann", key="plan")


def test_a_new_shop_and_one_in_kilograms(new_url):
    """An empty shop promises nothing; kilograms are promised, cut off and said in kilograms."""
    chosen = Settings("Neu", legal_unit=WeightUnit.KG, currency="EUR")
    with create_shop(new_url(), settings=chosen,
                     people=[Person("ann", "Ann")], clock=StillClock()) as shop:  # fmt: skip
        assert (shop.promising.free_by(FRIDAY), shop.promising.reminders()) == ((), ())
        assert (shop.promising.waiting(), shop.promising.set_aside(by="ann", key="s")) == ((), ())
        assert b"BEGIN:VEVENT" not in shop.promising.calendar()
        shop.cutting.add_case_line(
            NewCaseLine(name="Lamm", species="lamb", price=per_kg("21.00"), keeps_days=9,
                        cook_as="whole"),
            by="ann", key="n",
        )  # fmt: skip
        assert [one.weight.unit for one in shop.promising.free_by(FRIDAY)] == [WeightUnit.KG]
        (only,) = shop.promising.free_by(FRIDAY)
        say = shop.promising.answer(FRIDAY, only.case_id, Weight.of("2", WeightUnit.KG)).say
        assert say == "Friday no, none of Lamm. No other day of the next 28 has 2.00 kg."
        hang_a_lamb(shop, only.case_id)
        (only,) = shop.promising.free_by(FRIDAY)
        # half of 20 kg, less 0.3 % a day until Thursday where nothing was weighed twice
        expected = 10 * (1 - Fraction(3, 1000)) ** 2
        assert abs(only.rail.exact(WeightUnit.KG) - expected) < Fraction(1, 1000)
        say = shop.promising.answer(FRIDAY, only.case_id, Weight.of("12", WeightUnit.KG)).say
        assert "Friday no, only 9.94 kg of Lamm" in say
        new = order(NewLine(only.case_id, Weight.of("9.9", WeightUnit.KG)), by="ann",
                    collect_at=at(FRIDAY))  # fmt: skip
        made = shop.promising.book(new, key="b")
        assert wants_of(shop, made)[only.case_id].left == Weight.of("9.9", WeightUnit.KG)
        assert shop.check() == []


# what standing orders will ask, why there is none, and the money of what is to come


def test_a_standing_order_not_made_yet_wants_its_weight(shop):
    """S1 is due on Tuesday 16 June with 14 lb of brisket: no stranger is promised any of it."""
    tuesday = date(2026, 6, 16)
    found = free(shop, "C10", tuesday)
    assert [(one.who, one.day, lbs(one.weight)) for one in found.others] == [
        ("standing S1", tuesday, "14.00")
    ]
    assert not found.weight
    assert found.wanted == found.plan + found.rail
    (hanger,) = [one for one in free(shop, "C14", tuesday).others if one.who == "standing S1"]
    (agreed,) = [one for one in shop.standing.order("S1").terms.lines if one.case_id == "C14"]
    assert hanger.weight == agreed.agreed
    with pytest.raises(NotEnoughFree):
        shop.promising.book(order(line("C10", "5.0"), collect_at=at(tuesday)), key="k")
    shop.standing.pause("S1", by="ines", key="rest")
    freed = free(shop, "C10", tuesday)
    assert (freed.others, freed.weight) == ((), found.wanted)


def test_a_standing_order_gets_what_was_held_for_it_and_holds_it_no_longer(shop):
    """Made, its booking has all the brisket that comes; what is promised is never held twice."""
    tuesday = date(2026, 6, 16)
    held = free(shop, "C10", tuesday).wanted
    (made,) = shop.standing.make_due(tuesday, by="ines")
    (want,) = [one for one in shop.bench.wants()
               if (one.booking_id, one.case_id) == (made.booking_id, "C10")]  # fmt: skip
    assert held.count - lb("0.01").count < want.left.count <= held.count
    (only,) = [one for one in free(shop, "C10", tuesday).others if one.day == tuesday]
    assert only.who == made.booking_id
    assert shop.check() == []


def test_none_is_said_with_its_reason(shop):
    """Frozen ducks are there on Tuesday, and thawed on Wednesday: then nothing is said."""
    assert free(shop, "C29", TUESDAY).why_none == "frozen, thawed by Wed 10 Jun"
    assert free(shop, "C29", WEDNESDAY).why_none == ""
    said = shop.promising.answer(TUESDAY, "C29", lb("5.2")).say
    assert "Tuesday no, none of Ducks, whole, frozen (frozen, thawed by Wed 10 Jun)" in said


def test_what_is_said_is_in_the_unit_that_is_asked_for(shop):
    """The same no, in pounds and in kilograms, never more than there is."""
    pounds = shop.promising.answer(THURSDAY, "C14", lb("3")).say
    kilograms = shop.promising.answer(THURSDAY, "C14", lb("3"), unit=WeightUnit.KG).say
    assert "only 0.87 lb of" in pounds
    assert "only 0.39 kg of" in kilograms


def test_an_order_that_is_all_to_come_is_told_with_its_money(shop, clock):
    """8.00 lb of lamb leg at 8.90 are 71.20, less 20.00; a dearer board later changes nothing."""
    shop.board_price("C01", UnitPrice.of("8.90", WeightUnit.LB), by="dot", key="p", why="week")
    shop.book(order(line("C01", "8.0"), collect_at=at(SATURDAY)), key="all")
    new = order(line("C01", "8.0"), collect_at=at(WEDNESDAY, 17), deposit=Money.of("20.00"))
    booking = shop.promising.book(new, key="b")
    assert booking.lines == ()
    clock.put(at(TUESDAY, 17))
    shop.board_price("C01", UnitPrice.of("9.90", WeightUnit.LB), by="dot", key="q", why="dear")
    found = shop.promising.comes_to(booking.id)
    (only,) = found.lines
    assert (str(only.money), only.unit_price.amount) == ("71.20", Decimal("8.90"))
    assert [str(one) for one in (found.total, found.deposit, found.due)] == [
        "71.20", "20.00", "51.20"
    ]  # fmt: skip
    said = [one.say for one in shop.promising.reminders() if one.booking_id == booking.id]
    assert said == [
        ("Your order is for Wednesday at 17:00, 71.20 with what is to come, 20.00 paid down,"
         " 51.20 to pay."),
        "8.00 lb of Lamb leg, bone in is still to come, at the price of today, 8.90 per lb: 71.20.",
    ]  # fmt: skip


# reminders


def test_reminders_are_sentences_for_the_telephone(shop):
    """Tuesday: H4 and what it lacks; Wednesday, the next open day: H10 asked, H7."""
    told = [(one.kind, one.booking_id) for one in shop.promising.reminders()]
    assert told == [("pick-up", "H4"), ("short", "H4"), ("asked", "H10"), ("pick-up", "H7")]
    say = {(one.kind, one.booking_id): one.say for one in shop.promising.reminders()}
    assert say["pick-up", "H4"] == "Your order is for today at 11:00, 328.58 so far."
    assert say["short", "H4"] == (
        "2.20 lb of Beef hanger and skirt is still to come, at the price of Monday 8 June,"
        " 17.10 per lb: 37.62. With it, 366.20."
    )
    assert say["asked", "H10"].startswith("You asked for 4.00 lb of Beef rump for Wednesday at 12")


def test_reminders_name_deposit_and_meat_that_is_over_by_then(shop):
    """H8 paid 20.00 of 44.50; H6's mince is to be used by Wednesday, before Saturday."""
    thursday = {one.booking_id: one.say for one in shop.promising.reminders(THURSDAY)
                if one.kind == "pick-up"}  # fmt: skip
    assert thursday["H8"] == (
        "Your order is for Thursday at 17:30, 44.50 so far, 20.00 paid down, 24.50 to pay."
    )
    saturday = [one for one in shop.promising.reminders(SATURDAY) if one.booking_id == "H6"]
    assert [one.kind for one in saturday] == ["pick-up", "short", "use-by", "use-by"]
    assert "to be used by Wednesday 10 June" in saturday[2].say


def test_the_next_open_day_skips_the_shut_ones(shop, clock):
    """On Saturday the next pick-ups are Tuesday's; what was not collected is said first."""
    shop.book(order(line("C33", "1.0"), collect_at=at(date(2026, 6, 16))), key="k")
    clock.put(at(SATURDAY, 12))
    told = [(one.kind, one.name) for one in shop.promising.reminders()]
    assert ("pick-up", "Walk-in") in told
    late = [one for one in shop.promising.reminders() if one.kind == "late"]
    assert "H4" in {one.booking_id for one in late}
    assert late[0].say.startswith("Your order was for Tuesday 9 June, 11:00, and was not collected")
    assert all(len(one.phone_end) <= 4 for one in shop.promising.reminders())
