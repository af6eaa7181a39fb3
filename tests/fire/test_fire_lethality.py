"""The count of dead bacteria, and the published minimum that rules over it."""

from __future__ import annotations

import dataclasses
import doctest
import importlib
import itertools
import math
import time

import jsonschema
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue, CollopError, UnknownKey
from collop.fire.lethality import log_reduction, one_rate_reduction
from collop.fire.lethality_plan import lethality, longest_at
from collop.fire.lethality_schema import SCHEMAS
from collop.fire.lethality_tables import (
    BEEF,
    CHICKEN,
    TABLES,
    TURKEY,
    death_table,
    required_minutes,
)
from collop.reference import cook_minimum, lethality_rows

ROAST = "fsis-appendix-a-beef"
PLAN_SCHEMA = jsonschema.Draft202012Validator(SCHEMAS["lethality.plan"])


def problem(*history, **more):
    """Return a problem from pairs of minute and core."""
    readings = [{"min": minute, "core_c": core} for minute, core in history]
    return {"schema": "collop.lethality/1", "table": ROAST, "history": readings} | more


def columns():
    """Return every column of every table that can be counted by."""
    return [(BEEF, None, 6.5), (BEEF, None, 7.0), (CHICKEN, None, 7.0), (CHICKEN, 1.0, 7.0),
            (TURKEY, 1.0, 7.0)]  # fmt: skip


def by_small_steps(minutes, core_c, table):
    """Return the log reduction by a plain sum over steps of a quarter second."""
    clock = np.arange(minutes[0], minutes[-1], 1 / 240) + 1 / 480
    core = np.interp(clock, minutes, core_c)
    return sum(
        table.log / required_minutes(dataless(table), temp, table.log) / 240
        for temp in core
        if temp >= table.first_c
    )


def dataless(table):
    """Return a table without its rows that are reached at once."""
    return dataclasses.replace(table, at_once_c=None)


@pytest.mark.parametrize(("name", "fat", "target"), columns())
def test_the_integral_is_that_of_small_steps(name, fat, target):
    """A history across many rows, up and down, is summed exactly in few readings."""
    minutes, core = [0.0, 25.0, 30.0, 31.0, 45.0], [40.0, 69.5, 71.5, 71.5, 50.0]
    table = death_table(name, fat, target)
    found = float(log_reduction(minutes, core, table=name, fat=fat, target=target))
    assert found == pytest.approx(by_small_steps(minutes, core, table), rel=2e-3)


@given(
    st.lists(st.tuples(st.floats(0.1, 60), st.floats(20, 90)), min_size=2, max_size=12),
    st.sampled_from(columns()),
)
def test_cutting_a_history_changes_nothing(steps, column):
    """Readings put in between on the straight lines leave the count as it is."""
    name, fat, target = column
    minutes = np.cumsum([step for step, _ in steps])
    core = np.array([temp for _, temp in steps])
    finer = np.union1d(minutes, np.linspace(minutes[0], minutes[-1], 17))
    whole = log_reduction(minutes, core, table=name, fat=fat, target=target)
    cut = log_reduction(
        finer, np.interp(finer, minutes, core), table=name, fat=fat, target=target
    )  # fmt: skip
    assert float(cut) == pytest.approx(float(whole), rel=1e-6, abs=1e-9)


@given(
    st.lists(st.floats(20, 90), min_size=3, max_size=9), st.floats(0, 8), st.sampled_from(columns())
)
def test_a_hotter_history_never_counts_less(core, warmer, column):
    """The same clock with every reading warmer reaches at least as much."""
    name, fat, target = column
    minutes, cold = np.arange(len(core)) * 5.0, np.array(core)
    one = log_reduction(minutes, cold, table=name, fat=fat, target=target)
    two = log_reduction(minutes, cold + warmer, table=name, fat=fat, target=target)
    assert float(two) >= float(one) - 1e-9


def test_samples_are_counted_at_once_and_alone_alike():
    """Many samples in one array, on one clock or each on its own, give what each gives alone."""
    rng = np.random.default_rng(5)
    core = rng.uniform(40, 80, (50, 7))
    minutes = np.cumsum(rng.uniform(0.0, 2.0, 50))
    together = log_reduction(minutes, core)
    own = log_reduction(np.repeat(minutes[:, None], 7, axis=1), core)
    assert together.shape == own.shape == (7,)
    for sample in range(7):
        alone = float(log_reduction(minutes, core[:, sample]))
        assert together[sample] == pytest.approx(alone)
        assert own[sample] == pytest.approx(alone)


def test_a_reading_given_again_adds_nothing():
    """A sample that has left a phase repeats its last reading at the same minute."""
    one = log_reduction([0, 10], [65, 65])
    two = log_reduction([0, 10, 10, 10], [65, 65, 65, 65])
    assert float(one) == float(two)


def test_two_thousand_samples_are_counted_in_a_moment():
    """Two hours at ten seconds for 2,000 samples take under three seconds of processor."""
    core = np.linspace(4, 80, 720)[:, None] + np.linspace(0, 5, 2000)
    begun = time.process_time()
    found = log_reduction(np.arange(720) / 6, core, table=CHICKEN)
    assert time.process_time() - begun < 3
    assert (np.diff(found) > 0).all()


@pytest.mark.parametrize(
    ("minutes", "core"),
    [
        ([0, 1], [60]), ([[0, 1]], [[60, 60]]), ([], []), ([0, 1], [60, float("nan")]),
        ([0, float("inf")], [60, 60]), ([1, 0], [60, 60]), ([0, 1], [[[60]], [[60]]]),
    ],
)  # fmt: skip
def test_arrays_that_do_not_fit_are_one_sentence(minutes, core):
    """Shapes, order and readings that are no number are refused."""
    if minutes == [[0, 1]]:
        minutes, core = [[0], [1], [2]], [[60, 60], [60, 60]]
    with pytest.raises(BadValue):
        log_reduction(minutes, core)


@pytest.mark.parametrize(("name", "fat", "target"), columns())
def test_required_minutes_fall_as_it_gets_hotter(name, fat, target):
    """No table asks for longer at a higher temperature, across every row and step."""
    table = death_table(name, fat, target)
    temps = np.linspace(table.first_c, 80, 2000)
    needed = [required_minutes(table, float(temp), target) for temp in temps]
    assert all(after <= before + 1e-12 for before, after in itertools.pairwise(needed))
    with pytest.raises(BadValue, match="under the first row"):
        required_minutes(table, table.first_c - 0.01, target)


def test_leaner_chicken_is_never_slower_than_the_fat_column():
    """Between its four rows lean chicken takes what is certain, at most the 12 % column."""
    fat, lean = death_table(CHICKEN, None, 7.0), death_table(CHICKEN, 1.0, 7.0)
    for temp in np.linspace(57.8, 80, 1000):
        assert required_minutes(lean, temp, 7) <= required_minutes(fat, temp, 7) + 1e-9
    for fat_pct in (1.5, 5.0, 12.0, 30.0):  # between columns the next fatter one is taken
        assert death_table(CHICKEN, fat_pct, 7.0) == fat


def test_a_recalled_row_is_in_no_table():
    """Rows from memory, and the row printed a degree too low, do not count."""
    recalled = [row for row in lethality_rows("time_temp") if not row.is_cited]
    assert {row.temp_f for row in recalled} == {136, 137, 138, 139, 165}
    lean = death_table(CHICKEN, 1.0, 7.0)
    assert lean.first_c == 57.8
    for row in recalled:
        if row.temp_f < 160:
            found = required_minutes(lean, float(row.temp_c), 7)
            assert found > float(row.time_s) / 60  # the slower, cited column
    assert death_table(CHICKEN, 1.0, 7.0).at_once_c is None


def test_turkey_is_known_lean_alone():
    """Without a fat figure, or with more fat, the turkey table is refused."""
    for fat in (None, 2.0):
        with pytest.raises(BadValue, match="lean meat alone"):
            death_table(TURKEY, fat, 7.0)
    with pytest.raises(BadValue, match="There is no table 'beef'"):
        death_table("beef")


def test_a_rate_of_ones_own_is_the_textbook_integral():
    """At a constant temperature the count is minutes over D, and D falls tenfold in z."""
    level = one_rate_reduction([0, 20], [60, 60], d_min=2, ref_c=60, z_c=5)
    assert float(level) == pytest.approx(10)
    hot = one_rate_reduction([0, 20], [65, 65], d_min=2, ref_c=60, z_c=5)
    assert float(hot) == pytest.approx(100)
    assert float(one_rate_reduction([0, 999], [54.3, 54.3], d_min=2, ref_c=60, z_c=5)) == 0
    ramp = one_rate_reduction([0, 10], [60, 70], d_min=2, ref_c=60, z_c=5)
    assert float(ramp) == pytest.approx(5 * (100 - 1) / math.log(10) / 10 * 5)


@given(st.floats(1.0, 12.0), st.sampled_from([54.4, 57.0, 60.0, 61.5, 65.0, 68.0]))
def test_the_required_minutes_reach_the_target(target, temp):
    """Held for what is required, the count is the target: look-up and integral agree."""
    needed = required_minutes(death_table(BEEF, None, target), temp, target)
    found = float(log_reduction([0, needed], [temp, temp], target=target))
    assert found == pytest.approx(target)


def test_what_the_contract_shows():
    """112 min at 54.4 C reach 6.5 log by the table, and do not meet the published minimum."""
    plan = lethality(problem((0, 54.4), (112, 54.4), log_reduction=6.5, fat_pct=None))
    assert plan["log_reduction"] == 6.5
    assert plan["required_min_at_c"] == {"54.4": 112.0}
    assert plan["reached"] is True
    assert plan["published_minimum"]["met"] is False
    assert "the minimum is the rule" in plan["published_minimum"]["say"]
    look_up = {"schema": "collop.lethality/1", "table": ROAST, "log_reduction": 6.5,
               "at_c": [54.4, 60.0, 71]}  # fmt: skip
    assert lethality(look_up) == {"required_min_at_c": {"54.4": 112.0, "60.0": 12.0, "71": 0.0}}


def test_the_slower_rate_is_acted_on():
    """At 54.4 C the literature is slower for E. coli, and the plan says so."""
    plan = lethality(problem((0, 54.4), (112, 54.4)))
    assert plan["slowest"] == "literature, E. coli"
    assert plan["reached"]
    assert not plan["reached_by_all"]
    hot = lethality(problem((0, 66.0), (30, 66.0)))
    assert hot["reached_by_all"]
    assert hot["published_minimum"]["met"]
    assert len(plan["kinetics"]) == 4
    assert lethality(problem((0, 60), (5, 60), table=CHICKEN))["kinetics"] == []


@pytest.mark.parametrize(
    ("history", "more", "met"),
    [
        ([(0, 62.8), (3, 62.8)], {}, True),
        ([(0, 62.8), (2.9, 62.8)], {}, False),
        ([(0, 62.7), (60, 62.7)], {}, False),
        ([(0, 60), (1, 66), (2, 60), (3, 66), (4, 60)], {}, False),  # two short stretches
        ([(0, 55), (10, 64), (20, 64), (30, 50)], {}, True),
        ([(0, 62.8), (60, 62.8)], {"treatment": "tenderised"}, False),
        ([(0, 62.8), (60, 62.8)], {"treatment": "injected"}, False),
        ([(0, 62.8), (60, 62.8)], {"treatment": "rolled"}, False),
        ([(0, 62.8), (60, 62.8)], {"treatment": "ground"}, False),
        ([(0, 62.8), (60, 62.8)], {"cook_as": "ground"}, False),
        ([(0, 60), (10, 71.2), (11, 60)], {"treatment": "rolled"}, True),
        ([(0, 60), (10, 73.8), (99, 73.8)], {"table": CHICKEN}, False),
        ([(0, 60), (10, 73.9), (11, 60)], {"table": CHICKEN}, True),
        ([(0, 60), (10, 73.9), (11, 60)], {"table": TURKEY, "fat_pct": 1}, True),
    ],
)
def test_the_minimum_is_met_by_temperature_and_rest_alone(history, more, met):
    """145 F and 3 min unbroken for whole cuts, 160 F ground or needled, 165 F birds."""
    assert lethality(problem(*history, **more))["published_minimum"]["met"] is met


@given(
    st.lists(st.floats(20, 80), min_size=2, max_size=8),
    st.sampled_from(TABLES),
    st.sampled_from(["whole", "tenderised", "injected", "rolled", "ground"]),
)
def test_no_count_lowers_a_minimum(core, table, treatment):
    """Whatever is counted, the printed temperature is the published one or above."""
    history = [(7.5 * index, temp) for index, temp in enumerate(core)]
    plan = lethality(problem(*history, table=table, treatment=treatment, fat_pct=1.0))
    told = plan["published_minimum"]
    rules = {"whole": "whole"} if table == BEEF else {}
    cook_as = rules.get(treatment, "ground" if table == BEEF else "poultry")
    assert told["core_f"] == cook_minimum(cook_as).whole_fahrenheit
    assert told["core_c"] == cook_minimum(cook_as).whole_celsius
    if told["met"]:
        assert max(core) * 1.8 + 32 >= told["core_f"] - 1e-6
    assert PLAN_SCHEMA.is_valid(plan)


def test_reached_is_never_told_of_less():
    """A count just under its target is not rounded up to it."""
    plan = lethality(problem((0, 60), (11.999, 60)))
    assert plan["log_reduction"] < 6.5
    assert not plan["reached"]
    assert lethality(problem((0, 60), (12, 60)))["reached"]


def test_a_temperature_that_does_it_at_once_does_it():
    """From 70.0 C the beef table is reached at once; chicken has no such cited row."""
    assert lethality(problem((0, 50), (1, 70.0), (2, 50)))["log_reduction"] >= 6.5
    brief = lethality(problem((0, 50), (0.1, 72.5), (0.2, 50), table=CHICKEN))
    assert not brief["reached"]


def test_a_slow_come_up_is_cautioned():
    """Over 6 h between 50 and 130 F is named with its source; under it nothing is said."""
    slow = lethality(problem((0, 5), (420, 54.4), (600, 60)))
    assert any("6 h is published" in text for text in slow["cautions"])
    quick = lethality(problem((0, 5), (120, 54.4), (600, 60)))
    assert not any("h is published" in text for text in quick["cautions"])
    held = lethality(problem((0, 40), (400, 40)))
    assert any("6.7 h" in text for text in held["cautions"])


def test_a_count_earned_under_60_c_is_told_as_less_sure():
    """Under 60 C measurements do not agree with the beef table all the way down."""
    assert any("less sure" in text for text in lethality(problem((0, 55), (99, 55)))["cautions"])
    warm = lethality(problem((0, 55), (99, 60)))
    assert not any("less sure" in text for text in warm["cautions"])


def test_the_longest_stretch():
    """The longest unbroken time at or above a level, with crossings on the straight lines."""
    assert longest_at((0.0, 10.0, 20.0), (50.0, 60.0, 50.0), 60.0) == pytest.approx(0, abs=1e-6)
    assert longest_at((0.0, 10.0), (50.0, 55.0), 60.0) == -1
    assert longest_at((0.0, 10.0, 20.0, 30.0), (50.0, 60.0, 60.0, 50.0), 55.0) == 20.0
    assert longest_at((0.0, 4.0, 5.0, 9.0), (60.0, 60.0, 40.0, 60.0), 60.0) == pytest.approx(4.0)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"schema": "collop.heat/1"}, r"\$\.schema is 'collop\.heat/1'"),
        ({"table": "beef"}, r"\$\.table is 'beef'; use one of"),
        ({"log_reduction": 0}, r"\$\.log_reduction is 0; it must be from 1 to 12"),
        ({"log_reduction": float("nan")}, r"\$\.log_reduction is nan"),
        ({"log_reduction": True}, "must be a number"),
        ({"log_reduction": "6.5"}, "must be a number"),
        ({"fat_pct": -1}, r"\$\.fat_pct is -1"),
        ({"fat_pct": 10**400}, r"\$\.fat_pct is 1000"),
        ({"cook_as": "rare"}, "use one of whole, ground, poultry"),
        ({"cook_as": "poultry"}, "is not of that meat"),
        ({"table": CHICKEN, "cook_as": "whole"}, "is not of that meat"),
        ({"treatment": "cubed"}, "use one of whole, tenderised"),
        ({"history": None}, "or at_c must be given"),
        ({"at_c": [60]}, "and not both"),
        ({"history": []}, "holds 0 readings"),
        ({"history": [{"min": 0, "core_c": 60}]}, "holds 1 readings"),
        ({"history": [{"min": 0, "core_c": 60}] * 2}, r"history\[1\]\.min is 0, not later"),
        ({"history": [{"min": 0}, {"min": 1, "core_c": 60}]}, r"\[0\]\.core_c is missing"),
        ({"history": {"min": 0}}, "must be a list"),
        ({"history": [1, 2]}, r"history\[0\] must be an object"),
        ({"history": None, "at_c": []}, "holds 0 temperatures"),
        ({"history": None, "at_c": [54.3]}, r"\$\.at_c\[0\]: 54\.3 C is under the first row"),
        ({"history": None, "at_c": ["60"]}, r"\$\.at_c\[0\] must be a number"),
        ({"history": None, "at_c": [1e999]}, r"\$\.at_c\[0\] is inf"),
        ({"table": TURKEY}, "lean meat alone"),
    ],
)
def test_a_bad_value_is_one_sentence_with_its_place(changes, said):
    """Wrong types, ranges and contradictions are told in one sentence."""
    with pytest.raises(BadValue, match=said) as caught:
        lethality(problem((0, 60), (12, 60)) | changes)
    assert "\n" not in caught.value.message


def test_an_unknown_key_is_refused_with_its_path():
    """A misspelt key is never ignored."""
    with pytest.raises(UnknownKey, match=r"\$\.fat is not a known key"):
        lethality(problem((0, 60), (12, 60), fat=12))
    with pytest.raises(UnknownKey, match=r"\$\.history\[0\]\.core is not"):
        lethality(problem() | {"history": [{"min": 0, "core": 60}, {"min": 1, "core_c": 60}]})


@pytest.mark.parametrize("value", [None, [], 5, "x", {}, {"schema": None}])
def test_what_is_no_problem_is_refused(value):
    """Anything else than an object with its keys is one sentence."""
    with pytest.raises(CollopError):
        lethality(value)


def test_a_long_history_is_quick_and_one_too_long_is_refused():
    """10,000 readings take under two seconds of processor; over 20,000 are refused."""
    history = [(index / 10, 40 + index / 400) for index in range(10_000)]
    begun = time.process_time()
    plan = lethality(problem(*history))
    assert time.process_time() - begun < 2
    assert plan["log_reduction"] == 12
    with pytest.raises(BadValue, match="holds 20001 readings"):
        lethality(problem(*[(index, 60) for index in range(20_001)]))


@pytest.mark.parametrize(
    "name",
    [
        "fire.lethality", "fire.lethality_plan", "reference.lethality",
        "reference.thermalproperties", "reference.waterbaths",
    ],
)  # fmt: skip
def test_the_examples_in_the_modules_are_true(name):
    """Each docstring example gives what it says."""
    result = doctest.testmod(importlib.import_module(f"collop.{name}"))
    assert (result.attempted > 0, result.failed) == (True, 0)
