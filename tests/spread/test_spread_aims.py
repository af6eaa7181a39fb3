"""The named aims: their worth worked by hand, and what each holds to."""

from __future__ import annotations

from fractions import Fraction
from functools import cache

import pytest

from collop.spread.aims import cost_vector, eating_of, eating_vector, eating_worth, money_vector
from collop.spread.options import usable_options
from collop.spread.picks import Pick
from spread.asked import ask, full_ask, group, offer, plan, read, rules


def options_of(problem):
    return usable_options(problem)[0]


def one_cut(**more):
    """Return an ask for four with 56.00 to spend, over one cut half of which would be left over."""
    cut = offer(
        "A", "9.00", boneless_fraction=0.7, eating={"plate": 0.6}, days_left=3, cover_days=6
    )
    return read(ask(cut, budget_total="56.00", **more))


def test_a_point_of_eating_is_worth_four_times_the_money_of_a_meal():
    """56.00 for four usual meals: 14.00 a meal, 56.00 a point."""
    problem = one_cut()
    assert eating_worth(problem, options_of(problem)) == pytest.approx(5600)


def test_without_a_budget_it_is_five_times_the_median_cost_of_a_meal():
    """Meals at 4.00, 5.00 and 9.00: five times 5.00."""
    prices = ("16.00", "20.00", "36.00")
    cuts = [offer(f"C{n}", price) for n, price in enumerate(prices)]
    problem = read(ask(*cuts, need_oz={"plate": 4}))
    assert eating_worth(problem, options_of(problem)) == pytest.approx(2500)


def test_the_worth_of_a_pound_is_money_missed_eating_leftover_and_help():
    """9.00 and 1.6 meals a pound: 900 + 5600 x 1.6 x 0.4 + 5600 x 1.6 / 2 - 450 / 4."""
    problem = one_cut()
    (worth,) = cost_vector(problem, options_of(problem), money=1.0)
    assert worth == pytest.approx(900 + 3584 + 4480 - 112.5)
    assert money_vector(options_of(problem)) == [900]
    assert eating_vector(options_of(problem)) == [pytest.approx(0.64)]


@pytest.mark.parametrize(
    ("weights", "expected"),
    [
        ({"money": 2.0}, 1800 + 3584 + 4480 - 112.5),
        ({"eating": 0.5}, 900 + 1792 + 4480 - 112.5),
        ({"leftover": 0.0}, 900 + 3584 - 112.5),
        ({"animal": 4.0}, 900 + 3584 + 4480 - 450),
    ],
)
def test_each_weight_scales_its_own_part(weights, expected):
    """The four settings, one at a time."""
    problem = one_cut(weights=weights)
    (worth,) = cost_vector(problem, options_of(problem), money=1.0)
    assert worth == pytest.approx(expected)


def test_food_beyond_the_need_never_eats_better():
    """Four meals at 0.6 are 0.6; a fifth meal at 0.6 lowers it, a perfect one leaves it."""
    (option,) = options_of(one_cut())
    planned = Fraction(4)
    four, five = (Pick(option, (steps,)) for steps in (250, 312))
    assert eating_of([four], planned) == Fraction(6, 10)
    assert eating_of([five], planned) < Fraction(6, 10)
    assert eating_of([Pick(option, (5000,))], planned) == 0


@cache
def crowd():
    """Return the spreads of a table for thirty over a wide case, by aim."""
    species = ("beef", "lamb", "pork", "goat", "duck", "chicken")
    cuts = [
        offer(f"C{n:02}", f"{5 + n * 0.7:.2f}", species=species[n % 6], free_lb="20.00",
              eating={"plate": 0.3 + n / 40}, slots=["centre"] if n % 3 else ["goes-far"],
              days_left=3, cover_days=(n * 7) % 10, boneless_fraction=(1.0, 0.72, 0.9)[n % 3])
        for n in range(20)
    ]  # fmt: skip
    problem = ask(*cuts, heads=30, rules={"help_animal": False})
    return {cut["id"]: cut for cut in cuts}, {s["aim"]: s for s in plan(problem)["spreads"]}


def test_all_five_aims_are_had_where_the_case_is_wide():
    """Thirty heads and twenty cuts: five spreads, each proven."""
    _, spreads = crowd()
    assert len(spreads) == 5
    assert {spread["proof"]["status"] for spread in spreads.values()} == {"optimal"}


def test_the_least_money_costs_least():
    """No other alternative is under it."""
    _, spreads = crowd()
    least = min(spreads.values(), key=lambda spread: float(spread["total"]))
    assert least["aim"] == "least-money"


def test_a_showpiece_has_centre_cuts_for_two_fifths_of_the_food():
    """And eats at least as well as the least money."""
    cuts, spreads = crowd()
    show = spreads["showpiece"]
    centre = sum(line["share"] for line in show["lines"] if "centre" in cuts[line["id"]]["slots"])
    assert centre >= 0.399
    assert show["eating"] > spreads["least-money"]["eating"]


def test_variety_holds_every_cut_and_every_animal_down():
    """No cut over a quarter, no animal over two fifths, of the food."""
    cuts, spreads = crowd()
    animals: dict[str, float] = {}
    for line in spreads["variety"]["lines"]:
        assert line["share"] <= 0.2501
        animal = cuts[line["id"]]["species"]
        animals[animal] = animals.get(animal, 0) + line["share"]
    assert max(animals.values()) <= 0.4001
    assert len(animals) >= 3


def uneven():
    """Return cuts of which beef eats best, and what goes far better than any centre cut."""
    return [
        offer(f"C{n:02}", f"{8 + n % 5}.00",
              species="beef" if n < 6 else ("lamb", "pork", "goat")[n % 3],
              eating={"plate": 0.95 if n < 6 else 0.5}, slots=["centre"] if n > 7 else ["goes-far"])
        for n in range(14)
    ]  # fmt: skip


def test_a_showpiece_has_its_centre_also_where_it_eats_less():
    """Two fifths are of centre cuts although others eat twice as well."""
    cuts = {cut["id"]: cut for cut in uneven()}
    problem = ask(*cuts.values(), heads=20, rules={"max_share": 0.5})
    spreads = {s["aim"]: s for s in plan(problem)["spreads"]}
    shares = {
        aim: sum(one["share"] for one in s["lines"] if "centre" in cuts[one["id"]]["slots"])
        for aim, s in spreads.items()
    }
    assert shares["best-value"] < 0.3
    assert 0.399 <= shares["showpiece"] <= 0.42


def test_variety_holds_an_animal_down_also_where_it_eats_best():
    """Beef eats best and is two fifths of the food at most."""
    cuts = {cut["id"]: cut for cut in uneven()}
    problem = ask(*cuts.values(), heads=20, rules={"max_items": 6})
    spreads = {s["aim"]: s for s in plan(problem)["spreads"]}
    beef = {
        aim: sum(one["share"] for one in s["lines"] if cuts[one["id"]]["species"] == "beef")
        for aim, s in spreads.items()
    }
    assert beef["best-value"] > 0.9
    assert beef["variety"] <= 0.4001


def test_helping_the_animal_moves_most_of_what_would_be_left():
    """Its help, price times what would be left over, is the largest of all."""
    _, spreads = crowd()
    most = max(spreads.values(), key=lambda spread: float(spread["help"]))
    assert most["aim"] == "helps-the-animal"


def test_help_is_that_of_the_lines():
    """Half of 9.00 a pound for 2.50 lb: 11.25."""
    cut = offer("A", "9.00", boneless_fraction=0.7, days_left=3, cover_days=6)
    (spread,) = plan(ask(cut, want=1))["spreads"]
    assert (spread["lines"][0]["weight_lb"], spread["help"]) == ("2.50", "11.25")


def test_without_anything_to_help_there_is_no_such_spread():
    """Nothing lasts too long: four aims at the most, and never a showpiece without a centre."""
    cuts = [offer(f"C{n}", f"{5 + n}.00", eating={"plate": 0.4 + n / 20}) for n in range(9)]
    aims = {s["aim"] for s in plan(ask(*cuts, heads=12, rules={}))["spreads"]}
    assert not aims & {"helps-the-animal", "showpiece"}
    assert "best-value" in aims


def test_a_table_without_meat_has_alternatives_too():
    """Cheese, mushrooms and more: what differs is measured by all the food."""
    cuts = [offer(f"V{n}", f"{5 + 2 * n}.00", species="none", eating={"plate": 0.3 + n / 10})
            for n in range(6)]  # fmt: skip
    found = plan(ask(*cuts, groups=[group(12, "meat")], rules=rules()))
    assert len(found["spreads"]) >= 2
    assert all(line["meat_free"] for spread in found["spreads"] for line in spread["lines"])


def test_the_worth_of_the_full_ask_is_finite_for_every_option():
    """Every key filled: no option has a worth without end."""
    problem = read(full_ask())
    options = options_of(problem)
    assert len(cost_vector(problem, options, money=1.0)) == len(options) >= 7
    assert all(abs(worth) < 1e6 for worth in cost_vector(problem, options, money=1.0))
