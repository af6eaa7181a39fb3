"""The check of a plan: a sound one passes, and each way to spoil it is named."""

from __future__ import annotations

import copy
import json
import random
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import maximum_flow

from bench.benched import weeks
from collop.bench import bench
from collop.bench.checker import check_plan
from collop.bench.checker_hands import most_done
from collop.bench.reading import read_problem

DAYS = ["2026-06-09", "2026-06-10", "2026-06-11"]


def cut(name, price, **more):
    """Return a line of the case that keeps four days and sells two pounds a day."""
    return {"id": name, "name": f"Cut {name}", "species": "lamb", "price": price, "keeps_days": 4,
            "usual": ["2", "2", "2"], "elasticity": 1.5, "steps": ["1", "0.8"],
            "salvage": "0.50", "ground": None, "left": {"worth": "4.00", "takes": "3"},
            "stock": [], **more}  # fmt: skip


def piece(tag, **more):
    """Return a lamb of twenty pounds."""
    return {"tag": tag, "kind": "lamb", "weight": "20.0", "shrink_per_day": "0", "from": 0,
            "until": 2, "must": False, "worth_left": "1.00", "claims": [], **more}  # fmt: skip


def asked():
    """Return an invented week with one of everything: a claim, a lock, a large cut, mince."""
    styles = [
        {"id": "whole", "name": "Whole", "minutes": "40", "outputs": [
            {"cut": "A", "share": "0.4"}, {"bin": "trim", "share": "0.3"},
            {"kind": "saddle", "share": "0.2"}, {"worth": "0.20", "name": "bone", "share": "0.1"}]},
        {"id": "plain", "name": "Plain", "minutes": "20", "outputs": [
            {"cut": "A", "share": "0.9"}, {"worth": "0", "name": "loss", "share": "0.1"}]},
    ]  # fmt: skip
    chops = {"id": "chops", "name": "Chops", "minutes": "15", "outputs": [
        {"cut": "B", "share": "0.9"}, {"worth": "0", "name": "loss", "share": "0.1"}]}  # fmt: skip
    return {
        "schema": "collop.bench/1", "name": "checked", "currency": "USD", "rounding": "half-up",
        "unit": "lb", "days": [{"day": day, "open": True} for day in DAYS],
        "hands": [
            {"name": "Ana", "minutes": ["100"] * 3, "overtime": ["30"] * 3, "per_hour": "24.00",
             "overtime_per_hour": None, "cannot": []},
            {"name": "Bo", "minutes": ["50"] * 3, "overtime": None, "per_hour": "18.00",
             "overtime_per_hour": None, "cannot": ["whole", "plain"]}],
        "case_room": "60",
        "kinds": [
            {"id": "lamb", "name": "Lamb", "species": "lamb", "holds_days": 0, "styles": styles},
            {"id": "saddle", "name": "Saddle", "species": "lamb", "holds_days": 1,
             "styles": [chops]}],
        "rail": [
            piece("L-1"),
            piece("L-2"),
            piece("L-3", weight="10.0", claims=[
                {"booking": "H9", "name": "Half", "weight": "5.0", "due": 1}]),
            piece("L-4", weight="8.0"),
        ],
        "cuts": [
            cut("A", "9.00", ground={"bin": "trim", "yield": "0.95", "minutes_per_unit": "1"},
                usual=["2", "2", "1"], left=None,
                stock=[{"weight": "3.5", "days_left": 0, "lot": ""},
                       {"weight": "2.5", "days_left": 2, "lot": ""}]),
            cut("B", "14.00"),
            cut("M", "11.00", usual=["1", "3", "3"]),
        ],
        "bins": [
            {"id": "trim", "name": "Trim", "species": "lamb", "fat": "0.30", "keeps_days": 1,
             "worth": "1.00", "stock": []},
            {"id": "lean", "name": "Lean", "species": "lamb", "fat": "0.05", "keeps_days": 3,
             "worth": "2.00", "stock": [{"weight": "4.0", "days_left": 2, "lot": ""}]}],
        "makes": [{"cut": "M", "name": "Mince", "bins": ["lean", "trim"], "fat_max": "0.20",
                   "fat_min": None, "added": "0.1", "added_cost": "0.40", "cost_per_unit": "0.25",
                   "minutes_per_unit": "1"}],
        "bookings": [
            {"id": "H1", "name": "Supper", "due": 1, "lines": [
                {"cut": "A", "weight": "2.0", "price": "8.50"},
                {"cut": "B", "weight": "30.0", "price": None}]},
            {"id": "H2", "name": "Lunch", "due": 2, "lines": [
                {"cut": "M", "weight": "1.5", "price": "10.00"}]}],
        "locks": [{"tag": "L-4", "style": "plain", "day": 2},
                  {"tag": "L-2", "style": None, "day": None}],
        "before": None, "gap": 0, "reasons": False,
    }  # fmt: skip


@pytest.fixture(scope="module")
def told():
    """Return the problem, read, and its plan as text, so that each test spoils its own copy."""
    return read_problem(asked()), json.dumps(bench(asked()))


def test_a_sound_plan_passes(told):
    """The plan of the week with one of everything breaks no rule, and has one of everything."""
    problem, text = told
    plan = json.loads(text)
    assert check_plan(problem, plan) == []
    assert {one["id"] for one in plan["breaks"]} >= {"L-1", "L-3", "L-4", "L-1/Saddle"}
    assert [one["tag"] for one in plan["kept"]] == ["L-2"]
    assert plan["makes"]
    assert plan["grinds"]
    assert plan["short"]
    assert plan["answer"] == "short"


def by(plan, key, **wanted):
    """Return the first row of a list that has these values."""
    return next(row for row in plan[key] if all(row[k] == v for k, v in wanted.items()))


def moved(text, by_="0.001"):
    """Return a decimal a little higher."""
    return str(Fraction(text) + Fraction(by_)) if "/" in text else f"{float(text) + float(by_):.3f}"


def _two_outputs(plan):
    outputs = by(plan, "breaks", id="L-1")["outputs"]
    outputs[0]["weight"] = moved(outputs[0]["weight"], "0.5")
    outputs[1]["weight"] = moved(outputs[1]["weight"], "-0.5")


def _sold_more(plan):
    day = by(plan, "cuts", id="B")["days"][2]
    day["sold"] = moved(day["sold"], "9")
    day["at"] = [{"step": "1", "weight": day["sold"]}]


def _sold_but_not_at_a_price(plan):
    day = by(plan, "cuts", id="A")["days"][1]
    day["at"] = [*day["at"], {"step": "0.5", "weight": "0.100"}]


def _fatter(plan):
    parts = {one["bin"]: one for one in plan["makes"][0]["from"]}
    parts["trim"]["weight"] = moved(parts["trim"]["weight"], "0.1")
    parts["lean"]["weight"] = moved(parts["lean"]["weight"], "-0.1")


def _named_short(plan):
    plan["short"] = []


SPOILT = [
    ("outputs of L-1 do not add up", lambda p: by(p, "breaks", id="L-1")["outputs"][0].update(
        weight=moved(by(p, "breaks", id="L-1")["outputs"][0]["weight"]))),
    ("is not its share", _two_outputs),
    ("gives what its style does not", lambda p: by(p, "breaks", id="L-1")["outputs"][0].update(
        id="Z")),
    ("L-1 is broken twice", lambda p: p["breaks"].append(by(p, "breaks", id="L-1"))),
    ("no known piece", lambda p: by(p, "breaks", id="L-1").update(tag="L-9")),
    ("its style is none of its kind", lambda p: by(p, "breaks", id="L-1").update(style="chops")),
    ("weighs 10.0", lambda p: by(p, "breaks", id="L-3").update(weight="11")),
    ("another date", lambda p: by(p, "breaks", id="L-1").update(date="2026-06-01")),
    ("minutes, not 40", lambda p: by(p, "breaks", id="L-1").update(minutes="39")),
    ("not each cut once", lambda p: p["breaks"].remove(by(p, "breaks", id="L-1/Saddle"))),
    ("waits longer than it holds", lambda p: by(p, "breaks", id="L-1").update(day=2)),
    ("which is not in the plan", lambda p: by(p, "breaks", id="L-1").update(day=3)),
    ("not their share", lambda p: by(p, "breaks", id="L-3")["outputs"][0].update(claimed="0")),
    ("is claimed", lambda p: by(p, "breaks", id="L-3").update(claimed="0")),
    ("what is kept is not", lambda p: p.update(kept=[])),
    ("another day than was settled", lambda p: by(p, "breaks", id="L-4").update(day=1)),
    ("was to be broken and is not", lambda p: p["breaks"].remove(by(p, "breaks", id="L-4"))),
    ("claims are not told", lambda p: p["claims"][0].update(met=False)),
    ("fat, over 0.2", _fatter),
    ("nothing that was to be made", lambda p: p["makes"][0].update(name="Links")),
    ("made of", lambda p: p["makes"][0].update(weight=moved(p["makes"][0]["weight"], "1"))),
    ("tells 0.5 fat", lambda p: p["makes"][0].update(fat=0.5)),
    ("made of 0.0", lambda p: p["makes"][0].update(**{"from": []})),
    ("takes from bins it may not", lambda p: p["makes"][0]["from"][0].update(bin="fat")),
    ("may not be ground", lambda p: p["grinds"][0].update(bin="lean")),
    ("is ground", lambda p: p["grinds"][0].update(gives="99")),
    ("opens with", lambda p: by(p, "cuts", id="A").update(opening="6.1")),
    ("gets", lambda p: by(p, "cuts", id="A")["days"][0].update(**{"in": "0"})),
    ("past its days", lambda p: by(p, "cuts", id="A")["days"][0].update(booked="90")),
    ("spoils", lambda p: by(p, "cuts", id="A")["days"][0].update(spoilt="0.777")),
    ("on hand on day 1", lambda p: by(p, "cuts", id="A")["days"][1].update(on_hand="0.777")),
    ("left over all days", lambda p: by(p, "cuts", id="A").update(left="0.777")),
    ("less than nothing", lambda p: by(p, "bins", id="trim")["days"][0].update(used="-1")),
    ("used on day 0", lambda p: by(p, "bins", id="lean")["days"][0].update(used="0.777")),
    ("more on day 2 than is bought", _sold_more),
    ("a price that is not asked", _sold_but_not_at_a_price),
    ("but 0.0 at its prices", lambda p: by(p, "cuts", id="A")["days"][1].update(
        at=[], sold="1")),
    ("the case holds", lambda p: p["case_room"]["used"].__setitem__(0, "0.777")),
    ("bookings are not those", lambda p: p["bookings"].pop()),
    ("lines of H1 are not", lambda p: p["bookings"][0]["lines"].reverse()),
    ("is due on day 1", lambda p: by(p, "bookings", id="H1").update(due=2)),
    ("do not add up", lambda p: by(p, "bookings", id="H1")["lines"][1].update(short="0")),
    ("told met or not", lambda p: by(p, "bookings", id="H1").update(met=True)),
    ("named as short", _named_short),
    ("the answer says that all is met", lambda p: p.update(answer="all")),
    ("the answer is", lambda p: p.update(answer="perhaps")),
    ("than there is time", lambda p: p["hands"][0]["used"].__setitem__(0, "101")),
    ("idle wrongly", lambda p: p["hands"][0]["idle"].__setitem__(0, "7.77")),
    ("minutes; ", lambda p: p["hands"][0]["used"].__setitem__(0, "1")),
    ("hands are not those", lambda p: p["hands"].pop()),
    ("sales brings", lambda p: p["money"].update(sales="1.00")),
    ("labour brings", lambda p: p["money"].update(labour="0.01")),
    ("the parts add up to", lambda p: p.update(contribution="1.00")),
    ("not those that are told", lambda p: p["money"].pop("salvage")),
    ("the days are not", lambda p: p.update(days=DAYS[:2])),
    ("the cuts are not those", lambda p: p["cuts"].append(p["cuts"][0])),
    ("what was asked", lambda p: p.update(currency="EUR")),
    ("the schema is", lambda p: p.update(schema="collop.bench.plan/2")),
]  # fmt: skip


@pytest.mark.parametrize(("says", "spoil"), SPOILT, ids=[says for says, _ in SPOILT])
def test_each_way_to_spoil_a_plan_is_named(told, says, spoil):
    """A plan changed in one place is refused, and the sentence tells where."""
    problem, text = told
    plan = json.loads(text)
    spoil(plan)
    assert any(says in rule for rule in check_plan(problem, plan)), check_plan(problem, plan)


def test_work_that_only_some_can_do_is_held_to_their_time(told):
    """Minutes moved to the hand who may not break a carcass are refused though they add up."""
    problem, text = told
    plan = json.loads(text)
    ana, bo = by(plan, "hands", name="Ana"), by(plan, "hands", name="Bo")
    day = next(d for d in range(3) if float(ana["used"][d]) >= 40)
    room = min(float(ana["used"][day]), 50 - float(bo["used"][day]))
    for row, change in ((ana, -room), (bo, room)):
        row["used"][day] = f"{float(row['used'][day]) + change:.2f}"
        row["idle"][day] = f"{float(row['idle'][day]) - change:.2f}"
    assert any("does not fit those who may do it" in rule for rule in check_plan(problem, plan))


def test_a_closed_day_sells_nothing():
    """A sale on a day when nobody is served is refused, though there is stock for it."""
    problem = asked()
    plan = bench(problem)
    day = next(d for d in range(3) if any(one["days"][d]["sold"] != "0" for one in plan["cuts"]))
    problem["days"][day]["open"] = False
    assert any("nobody is served" in rule for rule in check_plan(read_problem(problem), plan))


def test_a_piece_is_broken_within_its_days():
    """A break before the first day of a piece, or after its last, is refused."""
    problem = asked()
    plan = bench(problem)
    day = by(plan, "breaks", id="L-1")["day"]
    problem["rail"][0].update({"from": 0, "until": day - 1} if day else {"from": 1})
    assert "L-1 is broken outside its days" in check_plan(read_problem(problem), plan)


def test_a_piece_that_was_to_be_kept_is_kept():
    """A break of a piece that was settled to hang is refused."""
    problem = asked()
    plan = bench(problem)
    problem["locks"].append({"tag": "L-1", "style": None, "day": None})
    assert "L-1 was to be kept and is broken" in check_plan(read_problem(problem), plan)


def test_the_case_is_held_to_its_room():
    """A night with more in the case than it holds is refused."""
    problem = asked()
    plan = bench(problem)
    problem["case_room"] = "1"
    assert any("over its room" in rule for rule in check_plan(read_problem(problem), plan))


JUNK = st.one_of(
    st.none(), st.booleans(), st.integers(-5, 5), st.text(max_size=4), st.floats(),
    st.sampled_from(["NaN", "1e-999999", "1e999999", "-1", "9" * 50, "1/3"]),
    st.just([]), st.just({}), st.just([None]), st.just({"id": []}),
)  # fmt: skip


def paths(value, so_far=()):
    """Yield the path of every value in a plan."""
    if so_far:
        yield so_far
    rows = {}
    if isinstance(value, (dict, list)):
        rows = value if isinstance(value, dict) else dict(enumerate(value))
    for key, one in rows.items():
        yield from paths(one, (*so_far, key))


@given(junk=JUNK, seed=st.integers(0, 10**6))
@settings(max_examples=150)
def test_no_value_stops_the_check(told, junk, seed):
    """Whatever stands in a plan, the check ends with sentences, not with an error."""
    problem, text = told
    plan = json.loads(text)
    path = random.Random(seed).choice(list(paths(plan)))
    place = plan
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = copy.deepcopy(junk)
    found = check_plan(problem, plan)
    assert all(isinstance(one, str) and len(one) < 400 for one in found)


def test_what_is_no_plan_is_said_to_be_none():
    """Values that are no plan are refused in a sentence."""
    problem = read_problem(asked())
    for junk in ({}, {"schema": 1}, [], None, "plan"):
        assert check_plan(problem, junk)[0].startswith("the plan cannot be read")


@given(weeks())
@settings(max_examples=25)
def test_the_plan_of_any_week_is_sound(problem):
    """The plan of an invented week breaks no rule."""
    assert check_plan(read_problem(problem), bench(problem)) == []


@given(st.integers(0, 10**6))
@settings(max_examples=60)
def test_work_is_shared_out_as_by_a_maximum_flow(seed):
    """The most work that hands can do equals SciPy's maximum flow (``scipy.sparse.csgraph``)."""
    rng = random.Random(seed)
    hands = {name: Fraction(rng.randint(0, 30)) for name in "abcde"[: rng.randint(1, 5)]}
    work = {}
    for _ in range(rng.randint(1, 6)):
        able = frozenset(rng.sample(sorted(hands), rng.randint(0, len(hands))))
        work[able] = Fraction(rng.randint(0, 40))
    jobs, names = list(work), list(hands)
    size = len(jobs) + len(names) + 2
    edges = [[0] * size for _ in range(size)]
    for at, job in enumerate(jobs, 1):
        edges[0][at] = int(work[job])
        for to, name in enumerate(names, len(jobs) + 1):
            edges[at][to] = 10**6 if name in job else 0
    for at, name in enumerate(names, len(jobs) + 1):
        edges[at][size - 1] = int(hands[name])
    flow = maximum_flow(csr_matrix(edges, dtype="int32"), 0, size - 1).flow_value
    assert most_done(work, hands) == flow
