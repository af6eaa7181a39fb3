"""Any tree of weights: closing, scale, order, and agreement with a generic solver."""

from __future__ import annotations

import random
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize

from collop.carcass import Part, reconcile, weigh_up
from collop.measures import Weight, WeightUnit

SEEDS = st.integers(0, 100_000)


def _text(weight):
    return f"{Decimal(weight).quantize(Decimal('0.001'))}"


def _piece(rng, name, level, noise):
    """Return a random piece with readings near its true weights, and its true weight."""
    parts, total = [], 0.0
    if level and rng.random() < (1.0 if level == 3 else 0.6):
        for index in range(rng.randint(2, 4)):
            part, true = _piece(rng, f"{name}.{index}", level - 1, noise)
            parts.append(part)
            total += true
        total /= 0.99
    else:
        total = rng.uniform(2, 30)
    reading = _text(max(0.001, total + rng.gauss(0, 0.02) * noise))
    found = {"name": name, "weight": reading, "sd": rng.choice(["0.01", "0.02", "0.05"])}
    return (found | {"parts": parts} if parts else found), total


def any_tree(seed, noise=0.5):
    rng = random.Random(seed)
    whole, _ = _piece(rng, "whole", 3, noise)
    return {"schema": "collop.balance/1", "loss": {"share": 0.01, "sd_share": 0.005},
            "whole": whole}  # fmt: skip


def estimates(piece):
    found = {piece["name"]: piece["estimate"]}
    for part in piece.get("parts", ()):
        found |= estimates(part)
    return found


def closes(piece):
    if not piece.get("parts"):
        return True
    below = sum(Decimal(part["weight"]) for part in piece["parts"])
    below += Decimal(piece["loss"]["weight"])
    return below == Decimal(piece["weight"]) and all(map(closes, piece["parts"]))


def _generic(problem):
    """Solve the same least squares as one linear system of its optimality conditions."""
    names, values, sds, rows = [], [], [], []

    def walk(piece):
        index = len(names)
        names.append(piece["name"])
        values.append(float(piece["weight"]))
        sds.append(float(piece["sd"]))
        if piece.get("parts"):
            loss = len(names)
            names.append(f"loss of {piece['name']}")
            values.append(float(piece["weight"]) * 0.01)
            sds.append(float(piece["weight"]) * 0.005)
            rows.append({index: -1.0, loss: 1.0} | {walk(part): 1.0 for part in piece["parts"]})
        return index

    walk(problem["whole"])
    a = np.zeros((len(rows), len(names)))
    for line, row in enumerate(rows):
        for column, value in row.items():
            a[line, column] = value
    m, weight = np.array(values), np.diag(1 / np.array(sds) ** 2)
    upper = np.hstack([weight, a.T])
    lower = np.hstack([a, np.zeros((len(rows), len(rows)))])
    right = np.concatenate([weight @ m, np.zeros(len(rows))])
    x = np.linalg.lstsq(np.vstack([upper, lower]), right, rcond=None)[0][: len(names)]
    chi_square = float((x - m) @ weight @ (x - m))
    return dict(zip(names, x, strict=True)), chi_square


@given(SEEDS)
def test_any_accepted_tree_closes_in_its_printed_digits(seed):
    """Each whole is its parts and its loss, exactly, and no weight is negative."""
    plan = reconcile(any_tree(seed))
    assert plan["closes"]
    assert closes(plan["whole"])
    assert min(estimates(plan["whole"]).values()) >= 0


@given(SEEDS)
def test_any_tree_agrees_with_a_generic_solver(seed):
    """Estimates and test figure are those of the optimality conditions solved as one system."""
    problem = any_tree(seed)
    plan = reconcile(problem)
    expected, chi_square = _generic(problem)
    if min(expected.values()) > 0:
        for name, value in estimates(plan["whole"]).items():
            assert value == pytest.approx(expected[name], abs=2e-6)
    assert plan["chi_square"] == pytest.approx(chi_square, abs=2e-4)


@given(SEEDS, st.sampled_from(["more", "less"]))
def test_a_gap_beyond_every_spread_is_refused(seed, way):
    """A whole that is a third too heavy or too light is refused, and something is named."""
    problem = any_tree(seed)
    times = Decimal("1.33") if way == "more" else Decimal("0.67")
    problem["whole"]["weight"] = _text(Decimal(problem["whole"]["weight"]) * times)
    plan = reconcile(problem)
    assert plan["verdict"] == "refused"
    assert plan["whole"] is None
    assert plan["likely"]
    assert all(one["say"].endswith((".", "?")) for one in plan["likely"])


def _scaled(piece, times):
    found = piece | {key: str(Decimal(piece[key]) * times) for key in ("weight", "sd")}
    if "parts" in piece:
        found["parts"] = [_scaled(part, times) for part in piece["parts"]]
    return found


@given(SEEDS, st.sampled_from([2, 7, 100]))
def test_a_larger_animal_with_a_coarser_scale_is_the_same_question(seed, times):
    """All weights and spreads times a factor: same test figure, estimates times the factor."""
    problem = any_tree(seed)
    larger = problem | {"whole": _scaled(problem["whole"], times)}
    one, two = reconcile(problem), reconcile(larger)
    assert two["chi_square"] == pytest.approx(one["chi_square"], abs=2e-4)
    before, after = estimates(one["whole"]), estimates(two["whole"])
    for name, value in before.items():
        assert after[name] == pytest.approx(value * times, abs=1e-6 * (times + 1))


def _shuffled(piece, rng):
    if "parts" not in piece:
        return piece
    parts = [_shuffled(part, rng) for part in piece["parts"]]
    rng.shuffle(parts)
    return piece | {"parts": parts}


@given(SEEDS)
def test_the_order_of_the_parts_does_not_matter(seed):
    """Weighed in another order, every piece gets the same weight."""
    problem = any_tree(seed)
    other = problem | {"whole": _shuffled(problem["whole"], random.Random(seed + 1))}
    one, two = reconcile(problem), reconcile(other)
    assert two["chi_square"] == pytest.approx(one["chi_square"], abs=2e-4)
    assert estimates(two["whole"]) == pytest.approx(estimates(one["whole"]), abs=2e-6)


@given(SEEDS)
def test_a_unit_of_its_own_changes_nothing(seed):
    """Every reading in grams, the answer in pounds: the same weights."""
    problem = any_tree(seed)

    def grams(piece):
        found = piece | {"unit": "g"}
        for key in ("weight", "sd"):
            found[key] = str(Decimal(piece[key]) * Decimal("453.59237"))
        if "parts" in piece:
            found["parts"] = [grams(part) for part in piece["parts"]]
        return found

    one = reconcile(problem)
    two = reconcile(problem | {"whole": grams(problem["whole"])})
    assert estimates(two["whole"]) == pytest.approx(estimates(one["whole"]), abs=2e-6)


@given(SEEDS)
def test_leaving_a_large_cut_unweighed_keeps_the_tree_closed(seed):
    """What was not weighed is worked out, one sum fewer is tested, and all still closes."""
    problem = any_tree(seed)
    large = [part for part in problem["whole"]["parts"] if "parts" in part]
    if not large:
        return
    before = reconcile(problem)["freedom"]
    large[0]["weight"] = None
    plan = reconcile(problem)
    assert plan["freedom"] == before - 1
    assert closes(plan["whole"])


@given(SEEDS)
def test_weights_held_at_zero_are_the_best_that_are_not_negative(seed):
    """One sum whose loss would be negative agrees with a bounded solver."""
    rng = random.Random(seed)
    parts = [rng.uniform(1, 10) for _ in range(3)]
    whole = sum(parts) - rng.uniform(0, 0.04)
    problem = {
        "schema": "collop.balance/1",
        "scale_sd": "0.03",
        "significance": 0.0001,
        "whole": {
            "name": "whole",
            "weight": _text(whole),
            "loss": {"weight": "0.02", "sd": "0.05"},
            "parts": [{"name": f"p{n}", "weight": _text(w)} for n, w in enumerate(parts)],
        },
    }
    plan = reconcile(problem)
    readings = np.array([*(float(_text(w)) for w in parts), 0.02, float(_text(whole))])
    sds = np.array([0.03, 0.03, 0.03, 0.05, 0.03])
    # the whole is the sum of the others, so four numbers are free and not negative
    matrix = np.vstack([np.diag(1 / sds[:4]), np.ones(4) / sds[4]])
    best, _ = optimize.nnls(matrix, readings / sds)
    found = [part["estimate"] for part in plan["whole"]["parts"]]
    found.append(plan["whole"]["loss"]["estimate"])
    assert found == pytest.approx(best, abs=2e-6)


USUAL = {"leg": 7, "loin": 5, "belly": 5, "shoulder": 5, "picnic": 5, "trim": 1.1, "fat": 1.3,
         "bone": 1.9}  # fmt: skip
TARES = {"trim lug": 2.2, "pan": 0.85}


def _pounds(weight):
    return Weight.of(f"{weight:.2f}", WeightUnit.LB)


def _tare(rng, readings):
    readings[rng.choice(list(USUAL))] += rng.choice(list(TARES.values()))


def _twice(rng, readings):
    name = rng.choice(list(USUAL))
    readings[f"{name} again"] = readings[name]


def _missing(rng, readings):
    del readings[rng.choice(["trim", "fat", "bone"])]


def _point(rng, readings):
    readings[rng.choice(list(USUAL))] *= 10


def _simulated(rng, spoil=None):
    """Return the verdict on a small side cut up, weighed with scale and loss as assumed."""
    readings = {name: weight * rng.uniform(0.9, 1.1) for name, weight in USUAL.items()}
    meat = sum(readings.values())
    whole = meat / 0.99 * (1 + rng.gauss(0, 0.005)) + rng.gauss(0, 0.02)
    readings = {name: weight + rng.gauss(0, 0.02) for name, weight in readings.items()}
    if spoil:
        spoil(rng, readings)
    return weigh_up(
        _pounds(whole),
        [Part(name, _pounds(weight)) for name, weight in readings.items()],
        tares=[(name, _pounds(weight)) for name, weight in TARES.items()],
    )


def test_one_true_side_in_a_hundred_is_refused():
    """Simulated sides that are right are refused about as seldom as the significance says."""
    rng = random.Random(20)
    refused = sum(not _simulated(rng).closes for _ in range(2000))
    # binomial, 2000 at 0.01: mean 20, standard deviation 4.4
    assert 7 <= refused <= 33


@pytest.mark.parametrize(
    ("spoil", "kind", "first"),
    [(_tare, "tare", 0.9), (_twice, "twice", 0.65), (_missing, "missing", 0.85),
     (_point, "point", 0.9)],
)  # fmt: skip
def test_simulated_slips_are_named(spoil, kind, first):
    """Simulated sides with one slip: it is mostly named first, nearly always among three."""
    rng = random.Random(21)
    runs = 150
    verdicts = [_simulated(rng, spoil) for _ in range(runs)]
    kinds = [[likely.kind for likely in verdict.likely] for verdict in verdicts]
    assert sum(found[:1] == [kind] for found in kinds) >= first * runs
    assert sum(kind in found[:3] for found in kinds) >= 0.9 * runs
