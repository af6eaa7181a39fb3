"""Judging a lot of packages: plan, verdict, wrong input. Demo figures are ours."""

from __future__ import annotations

import statistics
from decimal import Decimal
from fractions import Fraction

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import CollopError, ProblemError
from collop.rules.netweight import largest_division, netweight
from collop.rules.netweight_schema import SCHEMAS
from ending import that_ends


def lot(nets, **more):
    return {"schema": "collop.netweight/1", "lot_size": 40, "label": "1.00",
            "packages": [{"net": str(net)} for net in nets], **more}  # fmt: skip


def judged(problem):
    jsonschema.validate(problem, SCHEMAS["netweight"])
    plan = netweight(problem)
    jsonschema.validate(plan, SCHEMAS["netweight.plan"])
    return plan


def test_full_packages_pass():
    """Packages at or over their label pass, and the sentence says by how much."""
    plan = judged(lot(["1.01"] * 12))
    assert plan["verdict"] == "passes"
    assert plan["say"] == (
        "The lot passes: the packages are 0.01 lb over on average; no package is short beyond its "
        "allowance."
    )


def test_packages_short_alike_fail():
    """All short by the same: no spread, so nothing is allowed."""
    plan = judged(lot(["0.99"] * 12))
    assert (plan["verdict"], plan["sel"], plan["s"]) == ("fails", "0", "0")


def test_too_few_are_not_decided_unless_one_is_beyond():
    """Part of the sample decides nothing, but one package beyond its allowance fails the lot."""
    plan = judged(lot(["1.00"] * 5))
    assert (plan["verdict"], plan["say"]) == (
        "undecided", "Not decided: 5 of 12 packages are checked; check 7 more."
    )  # fmt: skip
    assert judged(lot(["1.00", "0.95"]))["verdict"] == "fails"


def test_exactly_the_allowance_is_allowed():
    """Short by the allowance is within it; one step more is beyond."""
    assert judged(lot(["0.956"], lot_size=1))["verdict"] == "passes"
    plan = judged(lot(["0.955999"], lot_size=1))
    assert (plan["verdict"], plan["average"], plan["scf"]) == ("fails", "not judged", None)


def test_exactly_the_error_limit_passes():
    """Errors of -e and e around a mean at the limit: decided by squares, not by rounding.

    Two packages: mean m, s = d/sqrt(2) x 2 = |a-b|/sqrt(2); with SCF f the limit is f|a-b|/sqrt(2),
    which is no fraction. So the lot is walked to both sides of it.
    """
    factor = Fraction("8.984")

    def verdict(short):
        # a = -short + 1/1000, b = -short - 1/1000
        nets = [f"{1 - short + spread:.12f}" for spread in (Decimal("0.001"), Decimal("-0.001"))]
        return judged(lot(nets, lot_size=2, label="1.00"))["average"]

    # |mean| <= f x 0.002/sqrt(2), squared: mean^2 <= f^2 x 2e-6
    limit = Decimal(2 * factor.numerator**2).sqrt() / factor.denominator / 1000
    step = Decimal("1e-12")
    below = limit.quantize(step, rounding="ROUND_FLOOR")
    assert (verdict(below), verdict(below + step)) == ("passes", "fails")


def test_a_margin_too_small_to_show_is_not_nothing():
    """A lot that passes by under a millionth says less than, not 0."""
    factor = Fraction("8.984")
    limit = Decimal(2 * factor.numerator**2).sqrt() / factor.denominator / 1000
    short = limit.quantize(Decimal("1e-12"), rounding="ROUND_FLOOR")
    nets = [f"{1 - short + spread:.12f}" for spread in (Decimal("0.001"), Decimal("-0.001"))]
    assert "passes by less than 0.000001 lb" in judged(lot(nets, lot_size=2))["say"]


def test_random_weights_have_their_own_label_and_allowance():
    """Each package is held to its own label; a label of its own wins over that of the lot."""
    plan = judged(
        {"schema": "collop.netweight/1", "lot_size": 3, "label": "1.00", "packages": [
            {"net": "0.99"}, {"label": "4.85", "net": "4.86"}, {"label": "0.25", "net": "0.25"}]}
    )  # fmt: skip
    assert plan["kind"] == "random"
    assert [one["allowance"] for one in plan["packages"]] == ["0.044", "0.14", "0.016"]
    assert [one["error"] for one in plan["packages"]] == ["-0.01", "0.01", "0"]


def test_large_lots_may_have_one_beyond():
    """Over 3200 packages 48 are drawn and one may be beyond its allowance, not two."""
    nets = ["1.02"] * 47
    plan = judged(lot([*nets, "0.90"], lot_size=5000))
    assert (plan["sample_size"], plan["verdict"]) == (48, "passes")
    assert "1 package is short beyond its allowance, as many as may be" in plan["say"]
    plan = judged(lot([*nets[:-1], "0.90", "0.91"], lot_size=5000))
    assert plan["verdict"] == "fails"
    assert "on 2 packages short beyond their allowance, where 1 may be" in plan["say"]


def test_category_b_asks_for_a_full_average():
    """No factor: an average below zero fails; one package has the limit of its product."""
    plan = judged(lot(["1.00"] * 9 + ["0.99"], category="B"))
    assert (plan["verdict"], plan["sel"], plan["scf_recomputed"]) == ("fails", None, None)
    assert plan["say"].endswith("the packages are 0.001 lb short, and none is allowed.")
    assert {one["allowance"] for one in plan["packages"]} == {"0.0625"}
    assert judged(lot(["1.00"] * 10, category="B"))["verdict"] == "passes"
    assert judged(lot(["1.00"] * 4, category="B", lot_size=4))["verdict"] == "passes"


BRACKETS = [
    ("other", "g", "84", "8.4"), ("other", "g", "85", "14.2"), ("other", "g", "198", "14.2"),
    ("other", "g", "199", "28.3"), ("other", "kg", "1.36", "0.0283"),
    ("other", "kg", "1.37", "0.0425"), ("other", "kg", "4.53", "0.0425"),
    ("other", "kg", "5", "0.05"), ("other", "oz", "2.9", "0.29"), ("other", "oz", "3", "0.5"),
    ("other", "oz", "7", "0.5"), ("other", "oz", "48", "1"), ("other", "lb", "10", "0.09375"),
    ("other", "lb", "10.01", "0.1001"), ("fluid", "oz", "16", "0.25"), ("fluid", "oz", "17", "0.5"),
    ("fluid", "g", "453", "7.1"), ("fluid", "g", "454", "14.2"), ("fluid", "lb", "0.1", "0.01"),
]  # fmt: skip


@pytest.mark.parametrize(("product", "unit", "label", "allowed"), BRACKETS)
def test_lower_limits_of_category_b(product, unit, label, allowed):
    """WM118 to WM125, from memory, not checked: each end of each bracket, metric and ounces."""
    plan = judged(lot([label], lot_size=1, category="B", product=product, unit=unit, label=label))
    (package,) = plan["packages"]
    assert package["allowance"] == allowed
    assert any(rule["id"] == package["rule"] and rule["status"] == "memory"
               for rule in plan["rules"])  # fmt: skip


ALLOWANCES = [
    ("lb", "0.08", "0.008"), ("lb", "0.05", "0.005"), ("lb", "0.0801", "0.008"),
    ("lb", "1.08", "0.044"), ("lb", "1.081", "0.048"), ("lb", "54.40", "0.5"),
    ("lb", "60", "1.2"), ("oz", "16", "0.704"), ("kg", "0.5", "0.0217"), ("g", "500", "21.7"),
]  # fmt: skip


@pytest.mark.parametrize(("unit", "label", "allowed"), ALLOWANCES)
def test_allowances_by_label(unit, label, allowed):
    """WM084 to WM117, from memory, not checked (WM087 apart): ends of brackets, four units."""
    plan = judged(lot([label], lot_size=1, unit=unit, label=label))
    assert plan["packages"][0]["allowance"] == allowed


def test_allowances_never_shrink_as_labels_grow():
    """From 0.01 to 60 lb no heavier label has a smaller allowance."""
    before = Decimal(0)
    for hundredths in range(1, 6001, 3):
        label = f"{Decimal(hundredths).scaleb(-2)}"
        (package,) = netweight(lot([label], lot_size=1, label=label))["packages"]
        assert Decimal(package["allowance"]) >= before
        before = Decimal(package["allowance"])


def test_readings_with_a_tare():
    """Gross less tare, of the package or of the lot."""
    plan = judged(
        {"schema": "collop.netweight/1", "lot_size": 2, "label": "1.00", "tare": "0.03",
         "division": "0.005", "capacity": "15",
         "packages": [{"gross": "1.04"}, {"gross": "1.055", "tare": "0.05"}]}
    )  # fmt: skip
    assert [one["net"] for one in plan["packages"]] == ["1.01", "1.005"]
    assert plan["cautions"] == []


def test_a_coarse_scale_is_said():
    """A counter scale of 0.01 lb is too coarse for packages of a pound."""
    plan = judged(lot(["1.00"] * 12, division="0.01"))
    assert plan["scale"]["fits"] is False
    assert "0.005 lb" in plan["cautions"][0]
    assert "0.005 lb" in judged(lot(["1.00"] * 12))["cautions"][0]


def test_packaging_left_on_is_asked_about():
    """A package over a tenth too heavy draws a question, and no verdict."""
    assert any("too heavy" in one for one in judged(lot(["1.2"] * 12))["cautions"])


def test_every_rule_tells_how_it_was_had():
    """The rules behind a verdict are cited; what is from memory is counted in words."""
    plan = judged(lot(["1.00"] * 12))
    memory = [rule for rule in plan["rules"] if rule["status"] == "memory"]
    assert memory
    assert f"{len(memory)} of the {len(plan['rules'])} rows used" in plan["assumptions"][0]
    assert all(rule["source"] for rule in plan["rules"])


def test_a_verdict_that_hangs_on_the_recalled_factor_is_told():
    """Between the recalled factor 8.984 and the recomputed 8.984644 a caution says so."""
    # mean 0.0127060, s 0.001414214: limit 0.012705294 recalled, 0.012706205 recomputed
    nets = [str(1 - Decimal("0.012706") + one) for one in (Decimal("0.001"), Decimal("-0.001"))]
    plan = judged(lot(nets, lot_size=2))
    assert plan["average"] == "fails"
    assert any("worked out anew" in one for one in plan["cautions"])


@given(st.lists(st.integers(800, 1200), min_size=12, max_size=12))
def test_the_verdict_is_that_of_python_statistics(thousandths):
    """Mean and s against the statistics module; the verdict as the definition has it."""
    plan = judged(lot([f"{Decimal(one).scaleb(-3)}" for one in thousandths]))
    errors = [one - 1000 for one in thousandths]
    mean, s = statistics.mean(errors), statistics.stdev(errors)
    assert float(plan["mean_error"]) == pytest.approx(mean / 1000, abs=1e-6)
    assert float(plan["s"]) == pytest.approx(s / 1000, abs=1e-6)
    beyond = [error for error in errors if error < -44]
    assert plan["beyond"]["count"] == len(beyond)
    # s is compared to itself exactly: a whole-number square against another
    is_short = sum(errors) < 0 and sum(errors) ** 2 * 11 * 12 * 10**6 > (
        635**2 * 144 * (12 * sum(e * e for e in errors) - sum(errors) ** 2)
    )
    assert (plan["verdict"] == "fails") == bool(beyond or is_short)


WRONG = [
    ([], "object"),
    ({}, "schema"),
    ({"lot_size": 0}, "from 1"),
    ({"lot_size": True}, "whole number"),
    ({"lot_size": 10**30}, "from 1"),
    ({"lot_size": None}, "null"),
    ({"packages": []}, "check 12"),
    ({"packages": [{"net": "1"}] * 13}, "12 of a lot"),
    ({"packages": [{"net": "1"}] * 10_000}, "12 of a lot"),
    ({"packages": {"net": "1"}}, "a list"),
    ({"packages": ["1.00"]}, "an object"),
    ({"packages": [{}]}, "gross is missing"),
    ({"packages": [{"gross": "1.00"}]}, "tare is missing"),
    ({"packages": [{"gross": "1.00", "net": "1.00"}]}, "beside gross"),
    ({"packages": [{"gross": "0.01", "tare": "0.02"}]}, "over the gross"),
    ({"packages": [{"gross": "1.001", "tare": "0"}], "division": "0.01"}, "no reading"),
    ({"packages": [{"gross": "31", "tare": "0"}], "capacity": "30"}, "capacity"),
    ({"packages": [{"net": "NaN"}]}, "decimal"),
    ({"packages": [{"net": "1e-999999"}]}, "decimal"),
    ({"packages": [{"net": "1e99"}]}, "decimal"),
    ({"packages": [{"net": "100001"}]}, "at most"),
    ({"packages": [{"net": "-1"}]}, "zero or more"),
    ({"packages": [{"net": 1.0}]}, "quotes"),
    ({"packages": [{"net": "1", "weight": "1"}]}, "not a known key"),
    ({"label": "0"}, "zero"),
    ({"label": None}, "missing"),
    ({"division": "0.03"}, "1, 2 or 5"),
    ({"division": "0"}, "zero"),
    ({"unit": "stone"}, "use one of"),
    ({"category": "C"}, "use one of"),
    ({"product": "lard"}, "use one of"),
    ({"lots": 1}, "not a known key"),
]


@pytest.mark.parametrize(("changed", "word"), WRONG)
def test_wrong_input_gets_one_sentence_with_its_place(changed, word):
    """Each wrong value is refused with its path."""
    problem = changed
    if isinstance(changed, dict) and changed:
        problem = lot(["1.00"]) | changed
    with that_ends(), pytest.raises(ProblemError) as told:
        netweight(problem)
    assert word in told.value.message
    assert told.value.where


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8)
        | st.sampled_from(["1.00", "0", "NaN", "lb", "A", "B"]),
        lambda kids: st.lists(kids, max_size=4)
        | st.dictionaries(
            st.sampled_from(["schema", "lot_size", "unit", "label", "packages", "net", "gross"]),
            kids, max_size=5,
        ),
        max_leaves=12,
    )
)  # fmt: skip
def test_any_json_gets_a_plan_or_a_sentence(value):
    """No shape of input ends in anything but a plan or a refusal."""
    problem = value
    if isinstance(value, dict):
        problem = {"schema": "collop.netweight/1", "lot_size": 1, **value}
    try:
        plan = netweight(problem)
    except CollopError as error:
        assert error.message
    else:
        jsonschema.validate(plan, SCHEMAS["netweight.plan"])


def test_the_largest_division_is_one_a_scale_may_have():
    """The largest of 1, 2, 5 times ten that is not over the limit."""
    for most, found in (("0.0073", "0.005"), ("0.002", "0.002"), ("1.2", "1"), ("60", "50")):
        assert largest_division(Fraction(most)) == Fraction(found)
