"""What changed between two plans is told in short sentences, and only that."""

from __future__ import annotations

import copy

import pytest

from collop.shop.bench_diff import differences

DAYS = ["2026-06-09", "2026-06-10", "2026-06-11"]


def break_of(tag, day, style="lamb", name="Lamb for the case"):
    return {"id": tag, "tag": tag, "of": None, "style": style, "style_name": name,
            "date": DAYS[day], "day": day, "kind": "lamb carcass"}  # fmt: skip


def short_of(booking, cut, weight):
    return {"booking": booking, "cut": cut, "weight": weight}


def plan_of(breaks=(), short=(), worth="10", days=DAYS):
    return {
        "unit": "lb", "days": days, "breaks": list(breaks), "short": list(short),
        "pieces": [{"tag": "L-207"}, {"tag": "L-208"}], "claims": [{"booking": "H3"}],
        "bookings": [{"id": "H1"}, {"id": "H2"}],
        "cuts": [{"id": "C01", "name": "Lamb leg", "worth": [worth] * len(days)}],
    }  # fmt: skip


def test_two_like_plans_differ_in_nothing():
    """No sentence where nothing changed."""
    plan = plan_of([break_of("L-207", 0)], [short_of("H1", "C01", "2")])
    assert differences(plan, copy.deepcopy(plan)) == ()


OLD = plan_of([break_of("L-207", 0)], [short_of("H1", "C01", "2.0")])
CHANGES = [
    (plan_of([break_of("L-207", 2)], [short_of("H1", "C01", "2")]),
     ("L-207 moves from Tue 9 Jun to Thu 11 Jun.",)),
    (plan_of([break_of("L-207", 0, "boned", "Lamb boned")], [short_of("H1", "C01", "2")]),
     ("L-207 is cut as Lamb boned, not Lamb for the case.",)),
    (plan_of([break_of("L-207", 0), break_of("L-208", 1)], [short_of("H1", "C01", "2")]),
     ("L-208 is broken Wed 10 Jun: Lamb for the case.",)),
    (plan_of([], [short_of("H1", "C01", "2")]),
     ("L-207 hangs on: its break of Tue 9 Jun is gone from the plan.",)),
    (plan_of([break_of("L-207", 0)]), ("H1 is covered: Lamb leg.",)),
    (plan_of([break_of("L-207", 0)], [short_of("H1", "C01", "3.5")]),
     ("H1 is short 3.5 lb of Lamb leg, 2.0 before.",)),
    (plan_of([break_of("L-207", 0)], [short_of("H1", "C01", "2"), short_of("H3", None, "20")]),
     ("H3 is short 20 lb of its piece.",)),
    (plan_of([break_of("L-207", 0)], [short_of("H1", "C01", "2")], worth="11.5"),
     ("Lamb leg: a pound more is worth 11.50, was 10.00.",)),
]  # fmt: skip


@pytest.mark.parametrize(("new", "said"), CHANGES)
def test_each_change_is_one_sentence(new, said):
    """A break moved, restyled, come or gone; a booking covered or shorter; a worth that moved."""
    assert differences(OLD, new) == said


@pytest.mark.parametrize(("was", "now"), [("10", "11"), ("1", "1.2"), ("1", "0.75"), ("0", "0.25")])
def test_a_small_move_of_a_worth_is_not_told(was, now):
    """It takes more than a tenth and more than 0.25."""
    assert differences(plan_of(worth=was), plan_of(worth=now)) == ()


def test_worths_are_compared_on_a_day_that_both_plans_know():
    """A plan of the next day is held against the same day of the one before."""
    old = plan_of()
    old["cuts"][0]["worth"] = ["1", "10", "10"]
    later = plan_of(days=[*DAYS[1:], "2026-06-12"])
    assert differences(old, later) == ()
    assert differences(old, plan_of(days=["2026-07-01"], worth="99")) == ()


def test_a_booking_that_is_gone_is_not_called_covered():
    """Nothing is said of a short booking that is no more."""
    new = plan_of([break_of("L-207", 0)])
    new["bookings"] = [{"id": "H2"}]
    assert differences(OLD, new) == ()


def test_a_piece_off_the_rail_is_said_so():
    """Its break is gone because it is."""
    new = plan_of([], [short_of("H1", "C01", "2")])
    new["pieces"] = [{"tag": "L-208"}]
    assert differences(OLD, new) == (
        "L-207 is off the rail: its break of Tue 9 Jun is gone from the plan.",
    )


def test_bookings_come_first_then_pieces_then_days_then_worths():
    """What touches a promise is told before what only moves."""
    old = plan_of([break_of("L-207", 0), break_of("L-208", 0)], [short_of("H1", "C01", "2")])
    new = plan_of([break_of("L-208", 2), break_of("L-209", 1)], worth="12")
    assert differences(old, new) == (
        "H1 is covered: Lamb leg.",
        "L-207 hangs on: its break of Tue 9 Jun is gone from the plan.",
        "L-209 is broken Wed 10 Jun: Lamb for the case.",
        "L-208 moves from Tue 9 Jun to Thu 11 Jun.",
        "Lamb leg: a pound more is worth 12.00, was 10.00.",
    )


def test_two_alike_that_trade_days_are_not_told():
    """The days stay as they were; a third that moves is told, and so is a trade of two kinds."""
    old = plan_of([break_of("L-207", 0), break_of("L-208", 2), break_of("L-209", 0)])
    new = plan_of([break_of("L-207", 2), break_of("L-208", 0), break_of("L-209", 1)])
    assert differences(old, new) == ("L-209 moves from Tue 9 Jun to Wed 10 Jun.",)
    old["breaks"][1]["kind"] = new["breaks"][1]["kind"] = "kid"
    assert len(differences(old, new)) == 3


def test_a_trade_of_two_styles_is_told():
    """Other work falls on each day."""
    old = plan_of([break_of("L-207", 0), break_of("L-208", 2, "boned", "Lamb boned")])
    new = plan_of([break_of("L-207", 2), break_of("L-208", 0, "boned", "Lamb boned")])
    assert len(differences(old, new)) == 2


def test_only_the_three_worths_that_moved_most_are_told_in_cents():
    """Five moved; the largest moves come first, rounded half up."""
    old, new = plan_of(), plan_of()
    for plan, worths in ((old, "11111"), (new, ("1.5", "4.405", "9", "3", "2"))):
        plan["cuts"] = [{"id": f"C{at}", "name": f"Cut {at}", "worth": [one] * 3}
                        for at, one in enumerate(worths)]  # fmt: skip
    assert differences(old, new) == (
        "Cut 2: a pound more is worth 9.00, was 1.00.",
        "Cut 1: a pound more is worth 4.41, was 1.00.",
        "Cut 3: a pound more is worth 3.00, was 1.00.",
    )
    assert "a kilogram more" in differences(old, new | {"unit": "kg"})[0]
