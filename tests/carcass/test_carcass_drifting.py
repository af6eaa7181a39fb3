"""Yield drift: against scipy, against a mixed model solved by hand, and against simulation."""

from __future__ import annotations

import copy
import json
import math
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from collop.carcass.drifting import drift
from collop.carcass.drifting_chance import contrasts, degrees_of_freedom
from collop.carcass.drifting_reading import MOST_BREAKS, MOST_GROUPS, MOST_PARTS
from collop.carcass.drifting_schema import SCHEMAS
from collop.errors import ProblemError
from ending import that_ends

DOCS = Path(__file__).parents[2] / "docs"
VALUES = st.floats(min_value=0.3, max_value=0.9, allow_nan=False)
GROUPS = st.dictionaries(
    st.sampled_from("abcd"), st.lists(VALUES, min_size=2, max_size=6), min_size=2
)


def one_break(hand, cut, *, farm="Hill Lees", trim=10.0, whole=100.0):
    """Return a break that gives so many pounds of cuts and trim out of a hundred."""
    rest = whole - cut - trim
    return {"label": "x", "hand": hand, "farm": farm,
            "weights": {"cuts": f"{cut:.2f}", "trim": f"{trim:.2f}",
                        "bone": f"{rest:.2f}"}}  # fmt: skip


def problem(*breaks, **more):
    """Return a problem of one style."""
    style = {"style": "Fore", "saleable": ["cuts", "trim"], "breaks": list(breaks)}
    return {"schema": "collop.drift/1", "styles": [style]} | more


def told(plan, **asked):
    """Return the only comparison with these facts."""
    [found] = [
        one for one in plan["compared"] if all(one[key] == value for key, value in asked.items())
    ]
    return found


TWO = (*(one_break("Marek", cut) for cut in (61.2, 60.1, 62.4, 61.0)),
       *(one_break("Kofi", cut) for cut in (57.9, 58.8, 57.2)))  # fmt: skip


def test_the_documented_problem_gives_the_documented_plan():
    """docs/examples/drift.json runs into its plan, and both keep their schemas."""
    asked, plan = (
        json.loads((DOCS / f"examples/drift{kind}.json").read_text(encoding="utf-8"))
        for kind in ("", ".plan")
    )
    assert drift(asked) == plan
    for name, value in (("drift", asked), ("drift.plan", plan)):
        jsonschema.Draft202012Validator.check_schema(SCHEMAS[name])
        jsonschema.validate(value, SCHEMAS[name])


def test_every_key_is_described():
    """docs/drift.md names each key of the problem and of the plan."""
    text = (DOCS / "drift.md").read_text(encoding="utf-8")
    keys = set(SCHEMAS["drift"]["properties"]) | set(SCHEMAS["drift.plan"]["properties"])
    for name, key in (("drift", "styles"), ("drift.plan", "compared")):
        keys |= set(SCHEMAS[name]["properties"][key]["items"]["properties"])
    for key in keys - {"schema", "name", "unit"}:
        assert f"`{key}" in text or f".{key}`" in text, key


# Against scipy -----------------------------------------------------------------------------


def test_two_groups_are_the_t_test_of_scipy():
    """Of two hands the interval is that of scipy.stats.ttest_ind with equal variances."""
    marek, kofi = [0.612, 0.601, 0.624, 0.610], [0.579, 0.588, 0.572]
    found = {one.group: one for one in contrasts({"Marek": marek, "Kofi": kofi}, 0.95)}
    test = stats.ttest_ind(kofi, marek)
    low, high = test.confidence_interval(0.95)
    assert found["Kofi"].low == pytest.approx(low, rel=1e-12)
    assert found["Kofi"].high == pytest.approx(high, rel=1e-12)
    assert found["Marek"].low == pytest.approx(-high, rel=1e-12)


@given(groups=GROUPS)
@settings(max_examples=40, deadline=None)
def test_each_group_against_the_others_is_a_contrast_of_the_linear_model(groups):
    """Least squares with a column for each group gives the same difference and interval."""
    names = list(groups)
    values = np.array([value for name in names for value in groups[name]])
    design = np.array([[float(name == other) for other in names] for name in names
                       for _ in groups[name]])  # fmt: skip
    fitted, *_ = np.linalg.lstsq(design, values, rcond=None)
    free = len(values) - len(names)
    variance = float(((values - design @ fitted) ** 2).sum()) / free
    inverse = np.linalg.inv(design.T @ design)
    for one in contrasts(groups, 0.9):
        sizes = np.array([0 if name == one.group else len(groups[name]) for name in names])
        weights = np.where([name == one.group for name in names], 1.0, -sizes / sizes.sum())
        half = stats.t.ppf(0.95, free) * math.sqrt(variance * float(weights @ inverse @ weights))
        assert one.difference == pytest.approx(float(weights @ fitted), abs=1e-9)
        assert (one.high - one.low) / 2 == pytest.approx(half, abs=1e-9)


@given(groups=GROUPS)
@settings(max_examples=40, deadline=None)
def test_the_best_guess_is_the_mixed_models(groups):
    """Henderson's equations of the mixed model, with the spreads of scipy.stats.f_oneway's table.

    The spread between groups is by the moments; where it is nothing, nothing is guessed.
    """
    names, sizes = list(groups), [len(one) for one in groups.values()]
    values = [np.array(one) for one in groups.values()]
    whole, count = sum(sizes), len(sizes)
    within = sum(float(((one - one.mean()) ** 2).sum()) for one in values) / (whole - count)
    grand = np.concatenate(values).mean()
    between = sum(n * (one.mean() - grand) ** 2 for n, one in zip(sizes, values, strict=True))
    if within > 1e-6:
        ratio = stats.f_oneway(*values).statistic
        assert between / (count - 1) / within == pytest.approx(float(ratio), rel=1e-6, abs=1e-9)
    effective = (whole - sum(n * n for n in sizes) / whole) / (count - 1)
    spread = (between / (count - 1) - within) / effective
    found = [one.best_guess for one in contrasts(groups, 0.9)]
    if spread <= 1e-7:
        assert found == pytest.approx([0.0] * count, abs=0.05)
        return
    penalty = within / spread
    left = np.zeros((count + 1, count + 1))
    left[0, 0], left[0, 1:], left[1:, 0] = whole, sizes, sizes
    left[1:, 1:] = np.diag([n + penalty for n in sizes])
    right = [sum(float(one.sum()) for one in values), *(float(one.sum()) for one in values)]
    assert found == pytest.approx(np.linalg.solve(left, right)[1:].tolist(), abs=1e-6)
    assert names == [one.group for one in contrasts(groups, 0.9)]


# Against simulation -------------------------------------------------------------------------


def simulated(rng, hands, farms, shift):
    """Return the plan of 18 made-up breaks; `shift` is what each hand takes off the cuts."""
    rows = []
    for n in range(18):
        hand, farm = hands[n % len(hands)], farms[n // 3 % len(farms)]
        cut = 60 + rng.normal(0, 1.2) - shift.get(hand, 0)
        rows.append(one_break(hand, cut, farm=farm, trim=10 + rng.normal(0, 0.6)))
    return drift(problem(*rows))


def test_without_any_drift_all_looks_together_are_wrong_one_time_in_twenty_at_most():
    """400 shops in which nobody differs: a false alarm anywhere in 5 % or fewer, within chance.

    Three hands and two farms are looked at in four quantities: sixteen looks a shop. At 5 % for
    each look a false alarm would come in about one shop of three.
    """
    rng = np.random.default_rng(41)
    alarms = naive = 0
    for _ in range(400):
        plan = simulated(rng, ("Ines", "Kofi", "Marek"), ("Hill Lees", "Windle Copse"), {})
        assert plan["looks"] == {"saleable": 4, "parts": 12}
        alarms += any(one["verdict"] != "chance" for one in plan["compared"])
        naive += _naive(plan)
    # two standard errors of 5 % over 400 shops are 2.2 points
    assert alarms <= 400 * 0.072
    assert naive > 400 * 0.15


def _naive(plan):
    """Tell whether an interval of 95 % for each look by itself would have raised an alarm."""
    for one in plan["compared"]:
        level = plan["levels"]["saleable" if one["part"] is None else "parts"]
        free = 18 - (3 if one["factor"] == "hand" else 2)
        half = (one["high"] - one["low"]) / 2
        narrow = half * stats.t.ppf(0.975, free) / stats.t.ppf((1 + level) / 2, free)
        if abs(one["difference"]) > narrow:
            return True
    return False


def test_one_interval_holds_the_true_difference_as_often_as_it_says():
    """2,000 samples with a true difference of 0.03: the interval of 95 % holds it in 95 %."""
    rng = np.random.default_rng(7)
    held = 0
    for _ in range(2000):
        groups = {"a": rng.normal(0.63, 0.02, 5), "b": rng.normal(0.6, 0.02, 3),
                  "c": rng.normal(0.6, 0.02, 6)}  # fmt: skip
        [one] = [one for one in contrasts(groups, 0.95) if one.group == "a"]
        held += one.low <= 0.03 <= one.high
    # three standard errors of 95 % over 2,000 are 1.5 points
    assert abs(held / 2000 - 0.95) < 0.015


def test_a_large_drift_is_told_of_the_hand_that_has_it():
    """A hand that gives five pounds less of each hundred is found in nine shops of ten."""
    rng = np.random.default_rng(3)
    found = sum(
        told(simulated(rng, ("Kofi", "Marek"), ("Hill Lees", "Windle Copse"), {"Kofi": 5}),
             group="Kofi", part=None)["verdict"] == "less"
        for _ in range(60)
    )  # fmt: skip
    assert found >= 54


# What is told -------------------------------------------------------------------------------


def test_a_drift_is_said_with_both_its_ends():
    """Kofi's cuts are three pounds lighter: said once, with the interval and how sure it is."""
    plan = drift(problem(*TWO))
    one = told(plan, group="Kofi", part=None)
    assert one["verdict"] == "less"
    assert one["difference"] == pytest.approx(-0.032, abs=5e-4)
    assert one["say"].startswith("Kofi, Fore: 68.0 % saleable over 3 breaks, the others 71.2 %")
    assert "less of each 100, somewhere from" in one["say"]
    assert plan["say"][0] == one["say"]
    assert sum("saleable" in one for one in plan["say"]) == 1


def test_of_three_hands_as_far_up_as_down_both_are_said():
    """Ines gives as much more as Kofi gives less: neither is the other turned round."""
    cuts = {"Ines": 66.0, "Kofi": 54.0, "Marek": 60.0}
    rows = [one_break(hand, cut + more) for hand, cut in cuts.items() for more in (-0.5, 0, 0.5)]
    plan = drift(problem(*rows))
    assert told(plan, group="Ines", part=None, factor="hand")["difference"] == pytest.approx(
        -told(plan, group="Kofi", part=None, factor="hand")["difference"]
    )
    said = [one for one in plan["say"] if "saleable" in one]
    assert [one.partition(",")[0] for one in said] == ["Ines", "Kofi"]


def test_what_may_be_chance_is_said_to_be():
    """Two close hands: nothing can be told yet, and the number of breaks is named."""
    plan = drift(problem(*(one_break("Marek", cut) for cut in (61.2, 58.1, 62.4)),
                         one_break("Kofi", 60.0)))  # fmt: skip
    assert plan["say"] == ["No difference can be told from chance yet."]
    assert "cannot be told from chance yet (1 break)" in told(plan, group="Kofi", part=None)["say"]


def test_a_hand_with_a_farm_of_its_own_is_not_told_apart_from_it():
    """Kofi broke all of one farm's and nothing else: said, whatever the figures."""
    rows = [*TWO[:4], *(one_break("Kofi", cut, farm="Windle Copse") for cut in (57.9, 58.8))]
    plan = drift(problem(*rows))
    assert [(one["hand"], one["farm"]) for one in plan["same"]] == [
        ("Kofi", "Windle Copse"), ("Marek", "Hill Lees"),
    ]  # fmt: skip
    assert "cannot be told apart" in plan["same"][0]["say"]


@pytest.mark.parametrize(
    ("rows", "why"),
    [
        ([one_break(None, 60.0)], "No hand is told for any break."),
        ([one_break("Kofi", 60.0)], "The one break is of one hand; there is nothing to compare"),
        ([one_break("Kofi", 60.0)] * 2, "All 2 breaks are of one hand"),
        ([one_break("Kofi", 60.0), one_break("Marek", 61.0)], "tells nothing of chance"),
    ],
)
def test_too_few_breaks_are_said_to_be(rows, why):
    """Nobody, one hand, or one break of each: not compared, and why."""
    plan = drift(problem(*rows))
    assert why in next(one["why"] for one in plan["not_compared"] if one["factor"] == "hand")
    assert plan["say"] == ["There is nothing to compare yet."]


def test_breaks_alike_to_the_last_digit_prove_nothing():
    """Without any spread a difference would be certain: it is called chance instead."""
    plan = drift(problem(*[one_break("Kofi", 60.0)] * 2, *[one_break("Marek", 61.0)] * 2))
    assert {one["verdict"] for one in plan["compared"]} == {"chance"}


def test_a_higher_confidence_widens_and_the_order_of_breaks_does_not_matter():
    """99 % is wider than 80 %; turned round, the breaks tell the same."""
    wide, narrow = (told(drift(problem(*TWO, confidence=sure)), group="Kofi", part=None)
                    for sure in (0.99, 0.8))  # fmt: skip
    assert wide["high"] - wide["low"] > narrow["high"] - narrow["low"]
    assert drift(problem(*TWO[::-1])) == drift(problem(*TWO))


def test_one_group_has_no_freedom():
    """Alone, or one of each, nothing tells the spread."""
    assert degrees_of_freedom({"a": [1.0, 2.0]}) == 0
    assert degrees_of_freedom({"a": [1.0], "b": [2.0]}) == 0


# What is refused ----------------------------------------------------------------------------


def changed(at, value):
    """Return the problem with one value changed; `at` is the way to it."""
    made = copy.deepcopy(problem(*TWO))
    inner = made
    for key in at[:-1]:
        inner = inner[key]
    inner[at[-1]] = value
    return made


WEIGHT = ("styles", 0, "breaks", 1, "weights")
BAD = [
    ((), []),
    (("schema",), "collop.yields/1"),
    (("more",), 1),
    (("styles",), []),
    (("styles",), {}),
    (("confidence",), float("nan")),
    (("confidence",), 1),
    (("confidence",), "0.95"),
    (("styles", 0, "style"), "  "),
    (("styles", 0, "saleable"), []),
    (("styles", 0, "saleable"), ["ham"]),
    (("styles", 0, "breaks"), []),
    (("styles", 0, "breaks"), [7]),
    (("styles", 0, "breaks"), [{}] * 10_000),
    (("styles", 0, "breaks", 1), None),
    (("styles", 0, "breaks", 1, "hand"), ""),
    (("styles", 0, "breaks", 1, "farm"), 7),
    (WEIGHT, {}),
    (WEIGHT, {"cuts": "1", "trim": "1"}),
    ((*WEIGHT, "cuts"), 60.0),
    ((*WEIGHT, "cuts"), "NaN"),
    ((*WEIGHT, "cuts"), "1e-999999"),
    ((*WEIGHT, "cuts"), "-1"),
    ((*WEIGHT, "cuts"), "9" * 30),
    ((*WEIGHT, "ham"), "1"),
    (WEIGHT, {"cuts": "0", "trim": "0", "bone": "0"}),
]


@pytest.mark.parametrize(("at", "value"), BAD)
def test_whatever_is_wrong_is_told_in_one_sentence(at, value):
    """Each bad value is refused with its path and what to do."""
    bad = value if not at else changed(at, value)
    with that_ends(), pytest.raises(ProblemError) as refused:
        drift(bad)
    assert refused.value.where.startswith("$")
    assert str(refused.value).count("\n") == 0
    assert str(refused.value).endswith(".")


def test_two_styles_of_one_name_and_too_many_hands_are_refused():
    """Styles are told apart by name; more hands than a shop has are no hands."""
    twice = problem(*TWO)
    twice["styles"] *= 2
    with pytest.raises(ProblemError, match="twice"):
        drift(twice)
    rows = [one_break(f"Hand {n}", 60.0) for n in range(MOST_GROUPS + 1)]
    with pytest.raises(ProblemError, match="of hand"):
        drift(problem(*rows))


def test_the_most_that_is_taken_is_answered():
    """2,000 breaks of sixty parts by forty hands."""
    parts = {f"part {n}": f"{n + 1}.5" for n in range(MOST_PARTS)}
    rows = [
        {"hand": f"Hand {n % MOST_GROUPS}", "weights": parts | {"part 0": f"{n % 7 + 1}.25"}}
        for n in range(MOST_BREAKS)
    ]
    asked = {"schema": "collop.drift/1",
             "styles": [{"style": "Fore", "saleable": ["part 0"], "breaks": rows}]}  # fmt: skip
    with that_ends():
        plan = drift(asked)
    assert len(plan["compared"]) == MOST_GROUPS * (MOST_PARTS + 1)
    jsonschema.validate(plan, SCHEMAS["drift.plan"])
