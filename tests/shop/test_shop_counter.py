"""States, release, hand-over by scale weight, and undo within the hour."""

from __future__ import annotations

from datetime import timedelta

import pytest
from wished import case_line, free_lb, lb, line, order

from collop.errors import BadValue, NotEnoughFree, NotFound, WrongState
from collop.measures import Money, Weight
from collop.shop import DEMO_START, State


def test_states_go_forward_and_each_step_is_kept(shop):
    """Asked, booked, cut, packed, with who and when."""
    for at, state in enumerate(("booked", "cut", "packed")):
        found = shop.change_state("H10", state, by="Marek", key=f"k{at}")
        assert found.state == state
    assert [event.by for event in found.events] == ["ines", "marek", "marek", "marek"]


@pytest.mark.parametrize(
    ("state", "sentence"),
    [("asked", "cannot become"), ("booked", "cannot become"), ("gone", "hand it over"),
     ("off", "release it")],
)  # fmt: skip
def test_a_state_is_not_set_back_nor_past_its_own_way(shop, state, sentence):
    """Gone and off have their own doors."""
    with pytest.raises(WrongState, match=sentence):
        shop.change_state("H1", state, by="dot", key="a")


def test_an_unknown_state_is_named(shop):
    """The six states are told."""
    with pytest.raises(BadValue, match="asked, booked, cut, packed, gone, off"):
        shop.change_state("H1", "lost", by="dot", key="a")


def test_the_wedding_is_off_and_every_ounce_is_free_again(shop):
    """Release of H1 frees exactly 26.0, 12.3, 1.5 and 2.0 lb; meat worth 356.39 is to re-home."""
    before = {one.id: one.free for one in shop.case()}
    found = shop.release("H1", by="ines", key="a", why="the wedding is off")
    after = {one.id: one.free for one in shop.case()}
    freed = {name: (after[name] - before[name]).text(places=1) for name in after
             if after[name] != before[name]}  # fmt: skip
    assert freed == {"C01": "26.0 lb", "C23": "12.3 lb", "C33": "1.5 lb", "C34": "2.0 lb"}
    assert len(case_line(shop, "C23").piece_lb) == 13
    assert found.state is State.OFF
    meat = found.lines[0].line_total + found.lines[1].line_total
    assert meat == Money.of("356.39")
    assert not any(one.held for one in found.lines)


def test_a_booking_is_released_once(shop):
    """A second release by another key is refused; the same key gives the same booking."""
    first = shop.release("H8", by="dot", key="a", why="ill")
    assert shop.release("H8", by="dot", key="a", why="ill") == first
    with pytest.raises(WrongState, match="H8 is off"):
        shop.release("H8", by="dot", key="b", why="ill")
    with pytest.raises(BadValue, match="why"):
        shop.release("H1", by="dot", key="c", why="")


def test_short_at_pick_up_pays_for_what_the_scale_says(shop):
    """5.0 lb booked, 4.15 weighed: 36.935 is 36.94 by half up, 16.94 due after 20.00 deposit."""
    slip = shop.hand_over("H8", {"H8-1": lb("4.15")}, by="dot", key="a")
    (sold,) = slip.lines
    assert (sold.booked, sold.weighed) == (lb("5"), lb("4.15"))
    assert (slip.total, slip.due) == (Money.of("36.94"), Money.of("16.94"))
    assert free_lb(shop, "C09") == "7.85"
    gone = shop.booking("H8")
    assert (gone.state, gone.lines[0].weighed, gone.lines[0].held) == (
        State.GONE, lb("4.15"), lb("0"),
    )  # fmt: skip


def test_handing_over_twice_is_done_once(shop):
    """The same slip comes back, and stock leaves once."""
    first = shop.hand_over("H8", {"H8-1": lb("5")}, by="dot", key="a")
    assert shop.hand_over("H8", {"H8-1": lb("5")}, by="dot", key="a") == first
    assert case_line(shop, "C09").on_hand == lb("7")
    with pytest.raises(WrongState, match="H8 is gone"):
        shop.hand_over("H8", {"H8-1": lb("5")}, by="dot", key="b")


def test_more_than_booked_comes_out_of_free_stock_if_there_is(shop):
    """Seven pounds of short ribs are free beside the five booked; twelve and a bit are not."""
    with pytest.raises(NotEnoughFree, match=r"Only 7\.00 lb"):
        shop.hand_over("H8", {"H8-1": lb("12.01")}, by="dot", key="a")
    slip = shop.hand_over("H8", {"H8-1": lb("12")}, by="dot", key="b")
    assert slip.total == Money.of("106.80")
    assert case_line(shop, "C09").on_hand == Weight.zero()


def test_birds_may_weigh_a_little_else_than_their_ticket(shop):
    """Two birds of 8.2 lb weigh 8.05: that is paid, the rest is drip, no bird is left over."""
    weights = {one.id: one.weight for one in shop.booking("H2").lines}
    weights["H2-4"] = lb("8.05")
    slip = shop.hand_over("H2", weights, by="dot", key="a")
    assert slip.lines[3].line_total == Money.of("42.67")
    assert len(case_line(shop, "C23").piece_lb) == 10
    assert case_line(shop, "C23").on_hand == lb("53.3")


def test_birds_far_from_their_ticket_are_weighed_again(shop):
    """One bird on the scale where two were booked is a mistake."""
    weights = {one.id: one.weight for one in shop.booking("H2").lines}
    with pytest.raises(BadValue, match="weigh again"):
        shop.hand_over("H2", weights | {"H2-4": lb("4.1")}, by="dot", key="a")
    assert shop.booking("H2").state is State.BOOKED


def test_a_line_not_taken_goes_back_whole(shop):
    """Zero on the scale puts birds and sesame back into the case and costs nothing."""
    weights = {one.id: one.weight for one in shop.booking("H2").lines}
    slip = shop.hand_over(
        "H2", weights | {"H2-4": Weight.zero(), "H2-5": Weight.zero()}, by="dot", key="a"
    )
    assert slip.total == Money.of("98.60")
    assert len(case_line(shop, "C23").piece_lb) == 12
    assert free_lb(shop, "C25") == "8.00"


@pytest.mark.parametrize(
    ("weights", "error", "sentence"),
    [
        ({}, BadValue, "not weighed"),
        ({"H8-1": lb("-1")}, BadValue, "tare"),
        ({"H8-1": lb("5"), "H1-1": lb("1")}, NotFound, "no line 'H1-1'"),
    ],
)
def test_the_scale_must_answer_for_every_line_and_no_other(shop, weights, error, sentence):
    """Missing, negative and foreign lines are named."""
    with pytest.raises(error, match=sentence):
        shop.hand_over("H8", weights, by="dot", key="a")


def test_an_asked_booking_is_first_booked_then_handed_over(shop):
    """Asked is not promised."""
    with pytest.raises(WrongState, match="set it to booked first"):
        shop.hand_over("H10", {"H10-1": lb("4")}, by="dot", key="a")


def test_nothing_past_its_use_by_is_handed_over(shop, clock):
    """On Friday Tuesday's mince, links and thighs stay here; the rest of H2 goes."""
    clock.put(DEMO_START + timedelta(days=3))
    weights = {one.id: one.weight for one in shop.booking("H2").lines}
    with pytest.raises(WrongState, match="do not hand it over"):
        shop.hand_over("H2", weights, by="dot", key="a")
    past = {one.id: Weight.zero() for one in shop.booking("H2").lines
            if one.use_by < clock.now().date()}  # fmt: skip
    slip = shop.hand_over("H2", weights | past, by="dot", key="b")
    left = {one.case_id for one in slip.lines if not one.weighed}
    assert left == {"C11", "C21", "C25"}


def test_undo_releases_what_was_just_booked_and_undo_again_puts_it_back(shop, clock):
    """Within the hour, either way."""
    made = shop.book(order(line("C23", "8.2"), line("C01", "8")), key="a")
    assert shop.undo(made.id, by="dot", key="b").state is State.OFF
    assert (free_lb(shop, "C01"), free_lb(shop, "C23")) == ("8.00", "41.00")
    clock.put(DEMO_START + timedelta(minutes=59))
    back = shop.undo(made.id, by="dot", key="c")
    assert (back.state, [one.held for one in back.lines]) == (State.BOOKED, [lb("8.2"), lb("8")])
    assert shop.undo(made.id, by="dot", key="d").state is State.OFF


def test_undo_puts_a_release_back_if_it_is_still_free(shop):
    """What somebody else has booked since is not taken from them."""
    shop.release("H9", by="ines", key="a", why="ill")
    shop.book(order(line("C12", "4.6")), key="b")
    with pytest.raises(NotEnoughFree, match="Nothing of Beef fillet"):
        shop.undo("H9", by="ines", key="c")
    shop.undo("H11", by="ines", key="d")
    assert shop.undo("H9", by="ines", key="e").state is State.BOOKED


def test_undo_takes_a_state_back_by_one(shop):
    """Packed by mistake is cut again; that step is not undone twice."""
    shop.change_state("H1", "cut", by="kofi", key="a")
    shop.change_state("H1", "packed", by="kofi", key="b")
    assert shop.undo("H1", by="kofi", key="c").state is State.CUT
    with pytest.raises(WrongState, match="cannot be undone"):
        shop.undo("H1", by="kofi", key="d")


def test_undo_is_for_one_hour_and_never_for_what_has_gone(shop, clock):
    """Afterwards it is a correction."""
    with pytest.raises(WrongState, match="over an hour old"):
        shop.undo("H1", by="dot", key="a")
    shop.hand_over("H8", {"H8-1": lb("5")}, by="dot", key="b")
    with pytest.raises(WrongState, match="cannot be undone"):
        shop.undo("H8", by="dot", key="c")
    made = shop.book(order(line("C01", "1")), key="d")
    clock.put(DEMO_START + timedelta(hours=1, seconds=1))
    with pytest.raises(WrongState, match="over an hour old"):
        shop.undo(made.id, by="dot", key="e")


def test_lines_are_added_only_before_cutting(shop):
    """A cut booking is left alone."""
    shop.change_state("H1", "cut", by="kofi", key="a")
    with pytest.raises(WrongState, match="H1 is cut"):
        shop.add_lines("H1", [line("C01", "1")], by="dot", key="b")


def test_lines_are_added_to_the_total_that_was_seen_or_not_at_all(shop):
    """A total that is no longer that of the booking is refused with both; the same key is not."""
    before = shop.booking("H1").total
    more = shop.add_lines("H1", [line("C13", "1")], by="dot", key="a", total=before)
    said = f"H1 comes to {more.total} now, not {before}"
    with pytest.raises(WrongState, match=said):
        shop.add_lines("H1", [line("C13", "1")], by="dot", key="b", total=before)
    assert shop.add_lines("H1", [line("C13", "1")], by="dot", key="a", total=before) == more
    assert shop.booking("H1") == more
    assert more.events[-1].why == (
        f"{more.total} instead of {before}, for 1.00 lb of Beef rump at 16.40"
    )
