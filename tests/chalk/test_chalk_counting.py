"""What to count: the figure by hand, its order, what is learned, and hostile problems."""

from __future__ import annotations

from fractions import Fraction

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.chalk.counting import counting
from collop.chalk.counting_schema import SCHEMAS
from collop.errors import ProblemError
from ending import that_ends


def problem(*lines, **more):
    """Return a problem of these lines."""
    return {"schema": "collop.counting/1", "lines": list(lines)} | more


def line(name, **more):
    """Return one line, ten pounds at two."""
    return {"id": name, "on_hand": "10", "price": "2"} | more


def test_the_money_at_risk_is_that_of_the_formula():
    """By hand: shop (0.01 x 400 + 1)/(400 + 50) = 1/90; line (100/90 + 1)/150 = 19/1350.

    Handled 3 + 10 x 2 = 23; astray 23 x 19/1350 = 0.3237; passes 4; at 2.00: 8.647.
    """
    one = line("a", days=2, went="3", passes="4", gaps=[{"gap": "1", "handled": "50"}])
    (told,) = counting(problem(one))["lines"]
    assert (told["handled"], told["astray"], told["at_risk"]) == ("23", "0.324", "8.65")
    assert told["share"] == pytest.approx(19 / 1350, abs=1e-6)
    assert told["say"] == (
        "At risk 8.65: 1.41 % of 23 lb handled and 4 lb past its day before it can be sold, at"
        " 2.00 a lb."
    )


def test_skipped_lines_come_first_then_money_then_id():
    """Ties fall to the lower id, whatever order the lines came in."""
    plan = counting(problem(
        line("c"), line("b"), line("z", price="9"), line("a", price="1", skipped=True), most=3,
    ))  # fmt: skip
    assert [one["id"] for one in plan["lines"]] == ["a", "z", "b"]
    assert [one["id"] for one in plan["rest"]] == ["c"]
    assert plan["lines"][0]["say"].startswith("Skipped the last time. ")


def test_a_line_with_nothing_at_risk_is_left_out_unless_it_was_skipped():
    """Nothing there, or without a price."""
    plan = counting(problem(line("a", on_hand="0"), line("b", price="0"),
                            line("c", on_hand="0", skipped=True)))  # fmt: skip
    assert [one["id"] for one in plan["lines"]] == ["c"]


def test_what_goes_astray_is_never_more_than_is_there():
    """A thousand pounds through a case that holds one."""
    (told,) = counting(problem(line("a", on_hand="1", went="1000")))["lines"]
    assert (told["astray"], told["at_risk"]) == ("1", "2.00")


def test_days_beyond_thirty_add_no_more_doubt():
    """A frozen line nobody counted for a year is in doubt as after a month."""
    plan = counting(problem(line("a", days=30), line("b", days=365)))
    assert plan["lines"][0]["at_risk"] == plan["lines"][1]["at_risk"]


def test_more_counts_without_a_gap_lower_the_share():
    """Ten clean counts halve the doubt of the line, and the prior is told while counts are few."""
    gaps = [{"gap": "0", "handled": "40"}] * 10
    clean, new = counting(problem(line("a", gaps=gaps), line("b")))["lines"][::-1]
    assert clean["share"] < new["share"] / 2
    assert "10 counts so far" in counting(problem(line("a", gaps=gaps)))["assumptions"][0]
    many = counting(problem(line("a", gaps=gaps * 2)))["assumptions"]
    assert not any("so far" in note for note in many)


_AMOUNT = st.decimals(0, 500, places=2, allow_nan=False).map(lambda value: f"{value:f}")


@given(
    st.lists(
        st.fixed_dictionaries({
            "on_hand": _AMOUNT, "price": _AMOUNT, "went": _AMOUNT,
            "days": st.integers(0, 400), "skipped": st.booleans(),
            "gaps": st.lists(st.integers(1, 400).map(
                lambda cents: {"gap": f"{cents // 9}", "handled": f"{cents}"}), max_size=3),
        }),
        max_size=14,
    ),
    st.randoms(),
)  # fmt: skip
def test_any_lines_in_any_order_give_one_answer_that_keeps_its_schema(rows, random):
    """Shuffled lines give the same plan; chosen and rest are all lines with something at risk."""
    lines = [{"id": f"C{number:02d}"} | row for number, row in enumerate(rows)]
    asked = problem(*lines, most=5)
    jsonschema.validate(asked, SCHEMAS["counting"])
    plan = counting(asked)
    jsonschema.validate(plan, SCHEMAS["counting.plan"])
    shuffled = list(lines)
    random.shuffle(shuffled)
    assert counting(problem(*shuffled, most=5)) == plan
    for told in plan["lines"]:
        row = next(one for one in lines if one["id"] == told["id"])
        assert Fraction(told["astray"]) <= Fraction(row["on_hand"])
    assert len(plan["lines"]) <= 5
    first = [one["skipped"] for one in plan["lines"]]
    assert first == sorted(first, reverse=True)


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"on_hand": "NaN"}, "$.lines[0].on_hand"),
        ({"on_hand": "1e-999999"}, "$.lines[0].on_hand"),
        ({"on_hand": 3}, "$.lines[0].on_hand"),
        ({"price": "-1"}, "$.lines[0].price"),
        ({"passes": "11"}, "$.lines[0].passes"),
        ({"days": -1}, "$.lines[0].days"),
        ({"days": True}, "$.lines[0].days"),
        ({"skipped": "yes"}, "$.lines[0].skipped"),
        ({"gaps": [{"gap": "2", "handled": "1"}]}, "$.lines[0].gaps[0].gap"),
        ({"gaps": [{"gap": "0", "handled": "0"}]}, "$.lines[0].gaps[0].handled"),
        ({"gaps": [{"gap": "0", "handled": "1"}] * 401}, "$.lines[0].gaps"),
        ({"gaps": {}}, "$.lines[0].gaps"),
        ({"colour": "red"}, "$.lines[0].colour"),
        ({"id": " "}, "$.lines[0].id"),
    ],
)
def test_what_cannot_be_is_refused_with_its_path(change, where):
    """One sentence each, and where it stands."""
    with pytest.raises(ProblemError) as told:
        counting(problem(line("a") | change))
    assert told.value.where == where
    assert told.value.message.endswith(".")


@pytest.mark.parametrize(
    "wrong",
    [[], None, {}, problem(line("a"), line("a")), problem(most=0), problem(prior_share=2),
     problem(prior_share=float("nan")), problem(rounding="up"), {"schema": "collop.counting/1"}],
)  # fmt: skip
def test_what_is_no_problem_is_refused(wrong):
    """Twice the same id, no lines, figures out of range."""
    with pytest.raises(ProblemError):
        counting(wrong)


def test_no_lines_are_no_sheet_and_ten_thousand_are_read():
    """An empty case; and the largest one there may be."""
    assert counting(problem())["lines"] == []
    with that_ends():
        told = counting(problem(*(line(f"C{number}") for number in range(10_000))))
    assert len(told["lines"]) == 10  # so many are counted a day
    with pytest.raises(ProblemError, match="at most 10000"):
        counting(problem(*(line(f"C{number}") for number in range(10_001))))


def test_what_passes_its_day_and_what_goes_astray_are_never_more_than_is_there():
    """Eight of ten pounds pass their day: two at the most go astray, ten are the whole risk."""
    (told,) = counting(problem(line("a", passes="8", days=30, went="900")))["lines"]
    assert (told["passes"], told["astray"], told["at_risk"]) == ("8", "2", "20.00")
