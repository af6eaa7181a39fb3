"""Pulling one price: what is lost, who can earn it, and how much more must sell."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chalk.test_chalk_equation import NEED, board, cuts, fraction, plan_of, with_cut
from collop.chalk.endings import Grid
from collop.chalk.equation import brought, solve_board
from collop.chalk.equation_board import Asked
from collop.chalk.equation_plan import put_on_endings
from collop.chalk.equation_words import Texts
from collop.chalk.pulls import Pulling, together
from collop.measures import Rounding


def pull(problem, cut_id, by):
    """Return the answer to one pull."""
    return plan_of(problem | {"pulls": [{"id": cut_id, "by": by}]})["pulls"][0]


def test_a_cut_that_comes_down_is_answered_in_three_ways():
    """Alone, together, or by what must sell; the sentence takes the smallest rise."""
    answer = pull(board(), "A", "-0.50")
    # 12 lb lose 6.00; leg (20 lb) must bring 0.30 more, loin (6 lb) 1.00
    assert answer["loses"] == "6.00"
    assert answer["alone"] == [
        {"id": "B", "name": "leg", "up": "0.30"},
        {"id": "C", "name": "loin", "up": "1.00"},
    ]
    # 6.00 over 20 x 1 + 6 x 1.5 = 29: .2069 a relative
    assert answer["together"] == [{"id": "B", "up": "0.21"}, {"id": "C", "up": "0.32"}]
    assert Decimal(answer["more_weight"]) == round(Decimal("6.00") / Decimal(answer["to"]), 3)
    assert not answer["more_is_there"]
    # whether there is so much is told beside it, not in the sentence
    assert answer["say"] == "shoulder down 0.50: leg up 0.30, or 2.3 lb more must sell"


def test_a_cut_that_goes_up_lets_others_down():
    """The mirror: the heaviest comes down a little, or less need sell."""
    answer = pull(board(), "A", "0.50")
    assert answer["loses"] == "-6.00"
    assert answer["alone"][0] == {"id": "B", "name": "leg", "up": "-0.30"}
    assert [one["up"] for one in answer["together"]] == ["-0.20", "-0.31"]
    assert answer["say"].startswith("shoulder up 0.50: leg may come down 0.30, or ")
    assert answer["say"].endswith(" lb less need sell")
    assert answer["more_is_there"]


def test_what_shrinks_may_be_enough():
    """A cut of which a quarter dries or spoils has so much to sell yet."""
    answer = pull(with_cut(0, shrink=0.25), "A", "-0.10")
    assert answer["more_is_there"]
    assert answer["say"].endswith("lb more must sell")


def test_a_cap_takes_a_cut_out_of_the_answers():
    """A rise over the cap is not offered; together, the others rise more."""
    answer = pull(with_cut(1, cap="4.10"), "A", "-0.50")
    assert [one["id"] for one in answer["alone"]] == ["C"]
    rises = {one["id"]: one["up"] for one in answer["together"]}
    assert Decimal(rises["C"]) > Decimal("0.32")
    assert Decimal(rises.get("B", "0")) <= Decimal("0.12")


def test_what_has_no_line_on_the_board_does_not_answer():
    """A cut that is marked so is never asked to rise, alone or together."""
    answer = pull(with_cut(1, answers=False), "A", "-0.50")
    assert [one["id"] for one in answer["alone"]] == ["C"]
    # 6.00 over the loin's 6 lb
    assert answer["together"] == [{"id": "C", "up": "1.00"}]
    assert pull(with_cut(1, with_cut(2, answers=False), answers=False), "A", "-0.5")["alone"] == []


def test_others_at_their_caps_cannot_answer():
    """With all others capped only selling more is left."""
    problem = with_cut(1, with_cut(2, cap="5.00"), cap="3.00")
    answer = pull(problem, "A", "-0.50")
    assert answer["alone"] == []
    assert answer["together"] == []
    assert answer["say"].startswith("shoulder down 0.50: ")
    assert "lb more must sell" in answer["say"]


def test_a_fixed_cut_may_be_pulled_but_never_answers():
    """Fixed prices stay when others move."""
    problem = with_cut(1, fixed="4.00")
    assert [one["id"] for one in pull(problem, "A", "-0.50")["alone"]] == ["C"]
    answer = pull(problem, "B", "-0.50")
    assert answer["to"] == "3.50"
    assert {one["id"] for one in answer["together"]} == {"A", "C"}


def test_a_price_does_not_go_under_zero():
    """A pull beyond the price stops at zero, and a cut given away sells no more."""
    answer = pull(with_cut(0, fixed="0.30"), "A", "-0.50")
    assert answer["by"] == "-0.30"
    assert answer["to"] == "0.00"
    assert answer["more_weight"] is None
    assert answer["say"] == "shoulder would be given away: nothing of it earns"


def test_without_pulls_each_cut_is_tried_half_a_unit_down():
    """The usual question is each cut down by 0.50; an empty list asks nothing."""
    plan = plan_of(board())
    assert [(one["id"], one["by"]) for one in plan["pulls"]] == [
        ("A", "-0.50"), ("B", "-0.50"), ("C", "-0.50")]  # fmt: skip
    assert plan_of(board(pulls=[]))["pulls"] == []


@given(cuts(), NEED, fraction(0.01, 3), st.booleans())
def test_rising_together_brings_exactly_what_was_lost(listed, need, lost, up):
    """With floors and caps solved anew, the exact rises sum to the money lost."""
    solved = solve_board(listed, need)
    others = [(c, p) for c, p in zip(listed, solved.prices, strict=True) if c.fixed is None][1:]
    if not up:
        lost = -lost
    rises = together([c for c, _ in others], solved, [p for _, p in others], lost)
    if rises is None:
        return
    assert sum(rise * cut.sells for rise, (cut, _) in zip(rises, others, strict=True)) == lost
    for rise, (cut, price) in zip(rises, others, strict=True):
        assert cut.floor <= price + rise
        assert cut.cap is None or price + rise <= cut.cap


@given(cuts(bounded=False, most=6), NEED, st.integers(1, 99))
def test_the_quick_answer_agrees_with_the_solved_one(listed, need, cents):
    """Rises in proportion, worked in whole numbers, are those of the equation rounded up."""
    solved = solve_board(listed, need)
    grid, texts = Grid(1), Texts("USD", Rounding.HALF_UP)
    prices, _, _ = put_on_endings(listed, solved, grid, 100)
    pulling = Pulling(listed, solved, prices, grid, texts)
    answer = pulling.answer(Asked(listed[0].cut_id, -cents))
    down = -Fraction(answer["by"])
    others = listed[1:]
    rises = together(others, solved, solved.prices[1:], down * listed[0].sells) if down else None
    told = {one["id"]: Fraction(one["up"]) for one in answer["together"]}
    for cut, rise in zip(others, rises or (), strict=rises is not None):
        assert 0 <= told.get(cut.cut_id, Fraction(0)) - rise < Fraction(1, 100)


@given(cuts(), NEED, st.integers(-99, 99).filter(bool), st.sampled_from([Grid(1), Grid(5),
       Grid(100, (29, 49, 99))]))  # fmt: skip
def test_any_one_answer_pays_for_the_pull(listed, need, cents, grid):
    """Each single answer keeps the sales, ends on an ending and stays within its floor and cap."""
    solved = solve_board(listed, need)
    prices, _, _ = put_on_endings(listed, solved, grid, 100)
    texts = Texts("USD", Rounding.HALF_UP)
    answer = Pulling(listed, solved, prices, grid, texts).answer(Asked(listed[0].cut_id, cents))
    before = brought(listed, prices)
    by_id = {cut.cut_id: (at, cut) for at, cut in enumerate(listed)}
    sizes = []
    for one in answer["alone"]:
        at, cut = by_id[one["id"]]
        after = list(prices)
        after[0] += Fraction(answer["by"])
        after[at] += Fraction(one["up"])
        assert brought(listed, after) >= before
        assert grid.up(int(after[at] * 100)) == after[at] * 100
        assert cut.floor <= after[at]
        assert cut.cap is None or after[at] <= cut.cap
        sizes.append(abs(Fraction(one["up"])))
    assert sizes == sorted(sizes)


@pytest.mark.parametrize(("by", "words"), [
    ("0", "is zero"), ("-0.505", "finer than the currency"), ("--1", "write a decimal"),
    ("-", "write a decimal"), (-0.5, "decimal in quotes"), ("-1e-999999", "write a decimal"),
])  # fmt: skip
def test_a_pull_that_cannot_be_read_is_refused(by, words):
    """Zero, half cents and nonsense get one sentence with the path."""
    from collop.chalk import chalk
    from collop.errors import BadValue

    with pytest.raises(BadValue, match=words) as caught:
        chalk(board(pulls=[{"id": "A", "by": by}]))
    assert caught.value.where == "$.pulls[0].by"
