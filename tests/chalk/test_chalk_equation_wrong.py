"""Boards that cannot be read or do not close: one sentence with the path, and quickly."""

from __future__ import annotations

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chalk.test_chalk_equation import board, plan_of, with_cut
from collop.chalk import chalk
from collop.errors import BadValue, CollopError, Contradiction, ProblemError, UnknownKey


@pytest.mark.parametrize(("change", "where", "words"), [
    ({"margin": 1}, "$.margin", "from 0 to 0.95"),
    ({"margin": float("nan")}, "$.margin", "from 0"),
    ({"margin": "0.35"}, "$.margin", "must be a number"),
    ({"margin": None}, "$.margin", "must be a number"),
    ({"cost": {}}, "$.cost.bought", "is missing"),
    ({"cost": None}, "$.cost", "must be an object"),
    ({"cost": {"bought": 100}}, "$.cost.bought", "in quotes"),
    ({"cost": {"bought": "NaN"}}, "$.cost.bought", "write a decimal"),
    ({"cost": {"bought": "1e-999999"}}, "$.cost.bought", "write a decimal"),
    ({"cost": {"bought": "9e99"}}, "$.cost.bought", "write a decimal"),
    ({"cost": {"bought": "-5"}}, "$.cost.bought", "zero or more"),
    ({"cost": {"bought": "5", "labour_minutes": "9"}}, "$.cost.labour_per_hour", "is missing"),
    ({"cuts": []}, "$.cuts", "names nothing"),
    ({"cuts": {}}, "$.cuts", "must be a list"),
    ({"cuts": [7]}, "$.cuts[0]", "must be an object"),
    ({"cuts": [{"weight": "1"}]}, "$.cuts[0].name", "name the cut"),
    ({"unit": "oz"}, "$.unit", "use one of lb, kg"),
    ({"currency": "usd"}, "$.currency", "three letters"),
    ({"rounding": "down"}, "$.rounding", "half-up"),
    ({"endings": {}}, "$.endings.step", "one of the two"),
    ({"endings": {"step": "0.05", "of": ["0.99"]}}, "$.endings.step", "keep one"),
    ({"endings": {"step": "0"}}, "$.endings.step", "is zero"),
    ({"endings": {"step": "0.005"}}, "$.endings.step", "finer than the currency"),
    ({"endings": {"of": []}}, "$.endings.of", "holds 0 endings"),
    ({"endings": {"of": ["1.49"]}}, "$.endings.of[0]", "under 1"),
    ({"endings": {"of": ["0.995"]}}, "$.endings.of[0]", "finer"),
    ({"pulls": [{"id": "Z", "by": "-0.50"}]}, "$.pulls[0].id", "none of the cuts"),
    ({"tolerance": 1}, "$.tolerance", "in quotes"),
    ({"schema": "collop.chalk/2"}, "$.schema", "collop.chalk/1"),
])  # fmt: skip
def test_a_bad_value_is_one_sentence_with_its_path(change, where, words):
    """What is wrong, where it stands, and what to do."""
    with pytest.raises(ProblemError) as caught:
        chalk(board(**change))
    assert caught.value.where == where
    assert words in caught.value.message
    assert caught.value.message.endswith(".")
    assert "\n" not in caught.value.message


@pytest.mark.parametrize(("change", "key", "words"), [
    ({"weight": "0"}, "weight", "more than zero"),
    ({"shrink": 1}, "shrink", "from 0 to 0.95"),
    ({"relative": 0}, "relative", "0.001"),
    ({"relative": True}, "relative", "must be a number"),
    ({"floor": "9", "cap": "8"}, "floor", "above the cap"),
    ({"id": "A"}, "id", "given twice"),
    ({"price": 5}, "price", "in quotes"),
])  # fmt: skip
def test_a_bad_cut_is_named_by_its_path(change, key, words):
    """The second cut is wrong, and the path says so."""
    with pytest.raises(ProblemError) as caught:
        chalk(with_cut(1, **change))
    assert caught.value.where == f"$.cuts[1].{key}"
    assert words in caught.value.message


def test_an_unknown_key_is_refused():
    """A key misspelt is not passed over."""
    with pytest.raises(UnknownKey, match=r"\$.cuts\[0\].wieght is not a known key"):
        chalk(with_cut(0, wieght="3"))


def test_by_products_worth_the_whole_cost_are_refused():
    """With nothing left to carry there is no board."""
    with pytest.raises(Contradiction, match="as much as the whole cost"):
        chalk(board(credits=[{"name": "hide", "weight": "10", "value_per_unit": "10"}]))


def test_ten_thousand_lines_are_refused_at_once():
    """A list without end costs no time."""
    start = time.process_time()
    for key, line in (("cuts", {"name": "x", "weight": "1", "relative": 1}),
                      ("credits", {"name": "x", "weight": "1"}),
                      ("pulls", {"id": "A", "by": "-1"})):  # fmt: skip
        with pytest.raises(BadValue, match="has more than"):
            chalk(board(**{key: [line] * 10_000}))
    assert time.process_time() - start < 1


def test_weights_that_close_are_told():
    """Cuts, by-products and loss make the start; the gap is within half a percent."""
    parts = {"credits": [{"name": "bone", "weight": "7"}], "start_weight": "47.5"}
    plan = plan_of(board(loss_weight="2.4", **parts))
    assert (plan["closes"], plan["gap_weight"], plan["loss_weight"]) == (True, "0.1", "2.4")
    taken = plan_of(board(**parts))
    assert (taken["closes"], taken["gap_weight"], taken["loss_weight"]) == (True, "0", "2.5")
    assert any("2.5 lb that no part accounts for" in note for note in taken["assumptions"])
    open_end = plan_of(board())
    assert (open_end["closes"], open_end["gap_weight"], open_end["loss_weight"]) == (None,) * 3


@pytest.mark.parametrize(("change", "words"), [
    ({"start_weight": "50"}, r"12 lb \(24 %\) of it is in no part"),
    ({"start_weight": "30"}, r"The parts weigh 8 lb \(26.7 %\) more"),
    ({"start_weight": "40", "loss_weight": "1"}, r"1 lb \(2.5 %\) of it is in no part"),
    ({"start_weight": "40", "loss_weight": "1", "tolerance": "0.9"}, r"1 lb"),
])  # fmt: skip
def test_weights_that_do_not_close_are_refused_with_what_is_missing(change, words):
    """A forgotten part would make every other cut too dear."""
    with pytest.raises(Contradiction, match=words) as caught:
        chalk(board(**change))
    assert caught.value.where == "$.start_weight"


def test_a_wider_tolerance_is_the_shops_own():
    """The same pound passes where the shop allows it."""
    assert plan_of(board(start_weight="40", loss_weight="1", tolerance="1"))["closes"]


def test_hostile_sizes_end_quickly():
    """The finest and largest figures that can be written give a plan or one sentence, at once."""
    start = time.process_time()
    fine, large = "0.00000000000000000001", "1000000"
    for weight in (fine, large):
        for relative in (0.001, 1000):
            for bought in (fine, large):
                problem = with_cut(0, weight=weight, relative=relative, shrink=5e-324, cap=fine)
                try:
                    plan_of(problem | {"cost": {"bought": bought}, "endings": {"of": ["0.99"]}})
                except CollopError as error:
                    assert error.message.endswith(".")
    assert time.process_time() - start < 2


VALUES = st.one_of(
    st.none(), st.booleans(), st.integers(-10, 10**30), st.floats(), st.text(max_size=6),
    st.sampled_from(["1e-999999", "NaN", "9" * 30, "-1", "0", "0.001", [], {}, [[]], [{}]]),
)  # fmt: skip


@given(st.data())
def test_any_value_anywhere_gives_a_plan_or_one_sentence(data):
    """One value of a board replaced by anything: no traceback."""
    problem = with_cut(0, sold="1", fixed="4", floor="2", cap="9", shrink=0.1) | {
        "credits": [{"name": "bone", "weight": "2", "value_per_unit": "0.2"}],
        "pulls": [{"id": "B", "by": "-0.50"}],
        "name": "x", "unit": "kg", "start_weight": "41", "loss_weight": "1", "tolerance": "1",
    }  # fmt: skip
    place = problem
    for _ in range(2):
        key = data.draw(st.sampled_from(sorted(place) if isinstance(place, dict) else [0]))
        inner = place[key]
        if not isinstance(inner, (dict, list)) or data.draw(st.booleans()):
            break
        place[key] = dict(inner) if isinstance(inner, dict) else [dict(one) for one in inner]
        place = place[key] if isinstance(inner, dict) else place[key][0]
    else:
        key = data.draw(st.sampled_from(sorted(place)))
    place[key] = data.draw(VALUES)
    try:
        plan = chalk(problem)
    except ProblemError as error:
        assert error.where.startswith("$")
        assert error.message.endswith(".")
    else:
        assert plan["schema"] == "collop.chalk.plan/1"
