"""Cost a serving by hand, the neighbours of a line, and a bird against its parts."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.spread.cousins import bird_against_parts, serving_cost, usual_style
from spread.asked import ask, first, group, line_of, offer, read, rules


def cost(price, boneless, style, **more):
    problem = read(ask(offer("A", price, boneless_fraction=boneless), **more))
    return str(serving_cost(problem, problem.offers[0], style))


@pytest.mark.parametrize(
    ("price", "boneless", "style", "by_hand"),
    [
        ("11.20", 0.72, "plate", "6.81"),  # 11.20 / 16 / 0.72 x 7 = 6.8056
        ("16.40", 0.96, "wrap", "2.67"),  # 16.40 / 16 / 0.96 x 2.5 = 2.6693
        ("18.60", 0.75, "plate", "10.85"),  # 18.60 / 16 / 0.75 x 7 = 10.85
        ("5.10", 0.55, "shared", "2.32"),  # 5.10 / 16 / 0.55 x 4 = 2.3182
        ("9.00", 1.0, "hand", "2.81"),  # 9.00 / 16 x 5 = 2.8125
        ("6.60", 0.6, "stew", "2.75"),  # 6.60 / 16 / 0.6 x 4 = 2.75
    ],
)
def test_a_serving_is_price_by_ounce_and_bone_times_the_portion(price, boneless, style, by_hand):
    """Worked by hand for each dish style, rounded once."""
    styles = {"plate": 7, "shared": 6, "hand": 6, "wrap": 5, "stew": 4}
    assert cost(price, boneless, style, need_oz=styles) == by_hand


def test_a_stated_portion_is_the_basis():
    """Three ounces in a wrap instead of two and a half."""
    assert cost("16.00", 1.0, "wrap", need_oz={"wrap": 5}, portion_oz={"wrap": 3}) == "3.00"


def test_an_exact_half_is_rounded_by_the_named_rule():
    """2.5 oz at 16.20 a pound are 2.53125; half a cent goes up or to even."""
    half = {"need_oz": {"wrap": 5}, "portion_oz": {"wrap": 1}}
    assert cost("0.08", 1.0, "wrap", **half) == "0.01"
    assert cost("0.08", 1.0, "wrap", **half, rounding="half-even") == "0.00"


def test_a_line_is_set_against_its_dearer_neighbour_of_the_same_animal():
    """Shoulder steak beside the loin chop: less a pound, less a serving, percent rounded."""
    steak = offer("S", "6.40", species="pork", boneless_fraction=0.9, neighbour="L")
    chop = offer("L", "10.10", species="pork", boneless_fraction=0.8)
    other = offer("B", "20.00")
    (line,) = first(ask(steak, chop, other, want=1, rules=rules(one_in=10)))["lines"]
    assert line["cousins"] == [
        {
            "id": "L", "name": "Cut L", "price_per_lb": "10.10", "style": "plate",
            "serving_cost": "5.52", "less_per_lb": "3.70", "less_per_serving": "2.41",
            "percent": 44,
        }
    ]  # fmt: skip
    assert line["serving_cost"] == "3.11"
    assert "44 % less than cut L on a plate at 5.52" in line["reason"]


def test_a_neighbour_costs_what_it_costs_in_its_usual_style():
    """Rump in a wrap is set against the chop on a plate, as customers would have it."""
    rump = offer("R", "16.40", styles=["wrap"], eating={"wrap": 0.8}, neighbour="C")
    chop = offer("C", "12.00", species="lamb", styles=["plate", "shared"],
                 eating={"shared": 0.9, "plate": 0.9})  # fmt: skip
    problem = ask(rump, chop, need_oz={"wrap": 5}, groups=[group(4)])
    cousin = line_of(first(problem), "R")["cousins"][0]
    assert (cousin["id"], cousin["style"], cousin["serving_cost"]) == ("C", "plate", "5.25")
    assert cousin["less_per_lb"] == "-4.40"
    assert cousin["less_per_serving"] == "2.69"


def test_what_this_table_may_not_eat_is_not_spoken_of():
    """No pork at the table: no line is praised against pork."""
    cut = offer("A", "6.00", casing=None, neighbour="P")
    pork = offer("P", "12.00", species="pork")
    (line,) = first(ask(cut, pork, groups=[group(4, "species:pork")]))["lines"]
    assert line["cousins"] == []


def test_at_most_four_neighbours_dearer_ones_first():
    """The named one, then dearer ones from near to far, then cheaper ones."""
    cuts = [offer(f"D{n}", f"{10 + n}.00") for n in (1, 2, 3, 4)]
    own = offer("A", "10.00", neighbour="D4", eating={"plate": 0.99})
    (line,) = first(ask(own, *cuts, offer("Z", "9.99", eating={"plate": 0.01}), pinned=["A"]))[
        "lines"
    ]
    assert [cousin["id"] for cousin in line["cousins"]] == ["D4", "D1", "D2", "D3"]


def test_usual_is_the_plate_where_a_cut_suits_it():
    """Else the first style it is for."""
    problem = read(ask(offer("A", styles=["wrap", "plate"], eating={}),
                       offer("B", styles=["stew", "wrap"], eating={})))  # fmt: skip
    assert [usual_style(one) for one in problem.offers] == ["plate", "stew"]


def test_a_bird_against_its_parts_by_hand():
    """Half a carcass of 756 g: thigh 232, so of 4.1 lb at 5.30 the thighs at 6.20 are 7.80."""
    found = bird_against_parts(Fraction("4.1"), Fraction(530), [("thigh", Fraction(620))])
    assert (str(found.bird), str(found.parts)) == ("21.73", "7.80")
    assert found.priced_share == Fraction(232, 756)
    # (21.73 - 7.80) / (4.1 lb x (1 - 232/756)) = 4.90 a pound
    assert str(found.rest_per_lb) == "4.90"
    assert found.source


def test_a_bird_with_all_its_parts_priced_has_no_rest():
    """All four parts at the bird's own price are the bird."""
    parts = [(part, Fraction(530)) for part in ("breast", "drumstick", "thigh", "wing")]
    found = bird_against_parts(Fraction(4), Fraction(530), parts)
    assert found.bird == found.parts
    assert (found.priced_share, str(found.rest_per_lb)) == (1, "0.00")


@given(st.integers(1, 3000), st.integers(1, 3000))
def test_bird_and_parts_always_add_up(bird_price, thigh_price):
    """Thighs at their price and the rest at its price are the bird, to a few cents."""
    found = bird_against_parts(
        Fraction(4), Fraction(bird_price), [("thigh", Fraction(thigh_price))]
    )
    rest = (1 - found.priced_share) * 4 * found.rest_per_lb.minor
    assert abs(found.parts.minor + rest - found.bird.minor) <= 3


@pytest.mark.parametrize(
    ("currency", "price", "said"), [("JPY", "530", "2173"), ("KWD", "5.30", "21.730")]
)
def test_a_bird_is_told_in_the_money_of_the_ask(currency, price, said):
    """No places or three places: the sentence has the currency's own."""
    bird = offer("bird", price, species="chicken", pieces_lb=["4.1"], free_lb="4.10",
                 boneless_fraction=0.68)  # fmt: skip
    thighs = offer("T", "620" if currency == "JPY" else "6.20", species="chicken",
                   name="Chicken thighs", boneless_fraction=0.8, free_lb="0.10")  # fmt: skip
    spread = first(ask(bird, thighs, currency=currency, heads=5))
    assert f"of the {said} the bird costs" in line_of(spread, "bird")["reason"]
