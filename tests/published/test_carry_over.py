"""How far a core rises in its rest, beside the published rises (tables/cooking/carry_over.csv).

NCBA_GRILL: Beef Checkoff, Grilling Guidelines; GRILLMAKER: grill maker's guides; PROCOOK: Gisslen,
Professional Cooking; NPB_2020: National Pork Board; CENGEL: Cengel and Ghajar, Heat and Mass
Transfer; FOODLAB: The Food Lab, 2015. All rows seen.
"""

from __future__ import annotations

import pytest
from grill_charts import body_of_weight, celsius

from collop.fire.courses_model import FIRE_RISE_SHARE, Cook, usual_rise
from collop.fire.problem import Body
from collop.reference import carry_over_rows

RISES = {row.product: row for row in carry_over_rows()}
RIB = Body("roast", 110.0, measured=True, shape=1.3)


def rise_f(body, method, pull_f, rest_min, **more):
    """Return the rise of the usual piece [degF]."""
    cook = Cook("", body, method, celsius(pull_f), rest_min=rest_min, **more)
    return usual_rise(cook) * 1.8


@pytest.mark.parametrize("pull_f", [135, 140, 150, 155])
def test_a_thick_steak_rises_by_five_to_ten_degrees_in_five_minutes(pull_f):
    """NCBA_GRILL: 5 F (ribeye, tenderloin) to 10 F (top sirloin) in 5 min, 1.5 in: within 1 F.

    What is believed of the modelled rise was set by these rows, so this holds the setting.
    """
    rows = [row for row in RISES.values() if row.unit == "F in 5 min"]
    assert sorted(row.rise.low for row in rows) == [5, 10]
    assert all(row.source.source_id == "NCBA_GRILL" for row in rows)
    assert 5 - 1 <= rise_f(Body("steak", 38.1), "direct", pull_f, 5, species="beef") <= 10 + 1
    assert FIRE_RISE_SHARE < 0.5


def test_the_rib_roast_of_the_textbook_rises_as_there():
    """CENGEL, rib roast, 15 min rest: 4 C; the model's 5 lb rib, pulled at 135 F, within 1.5 C."""
    row = RISES["rib roast 15 min rest (textbook)"]
    assert (row.rise.low, row.unit) == (4, "C")
    assert rise_f(RIB, "oven", 135, 15, species="beef") / 1.8 == pytest.approx(4, abs=1.5)


@pytest.mark.parametrize("rest_min", [10, 15])
@pytest.mark.parametrize("pull_f", [135, 145])
def test_a_roast_rises_by_five_to_ten_degrees(pull_f, rest_min):
    """GRILLMAKER, roasts resting 10-15 min: 5-10 F."""
    row = RISES["roasts and thick steaks resting 10-15 min"]
    found = rise_f(RIB, "oven", pull_f, rest_min, species="beef")
    assert float(row.rise.low) - 0.5 <= found <= float(row.rise.high)


def test_an_average_roast_rises_further_in_half_an_hour():
    """PROCOOK, average roasts, 15-30 min: 10-15 F; pulled at 135 F the model's rib: 9 and 13 F."""
    row = RISES["average roasts"]
    quarter, half = (rise_f(RIB, "oven", 135, rest, species="beef") for rest in (15, 30))
    assert quarter < half
    assert float(row.rise.low) <= half <= float(row.rise.high)
    assert quarter == pytest.approx(float(row.rise.low), abs=1.5)


def test_a_pork_loin_rises_less_than_the_pork_chart_allows():
    """NPB_2020, larger pork cuts pulled at 150 F, 10 min: 10 F; a 4 lb loin in the model: 7 F.

    So nothing of the pork chart's rise is lent to a pull under the minimum.
    """
    row = RISES["larger pork cuts: pull 150, rest 10 min"]
    loin = body_of_weight("loin", "pork", 4)
    found = rise_f(loin, "oven", 150, 10, species="pork", gas_c=celsius(350))
    assert 5 <= found <= float(row.rise.low)


def test_a_very_large_roast_rises_for_longer_and_a_thin_piece_hardly():
    """PROCOOK: the rise grows with size and is small for small cuts (5 F).

    The 25 F of a steamship round is not met: a 50 lb round rises 9 F in its first hour here.
    """
    round_roast = body_of_weight("round", "beef", 50)
    hour = rise_f(round_roast, "oven", 130, 60, species="beef")
    longer = rise_f(round_roast, "oven", 130, 90, species="beef")
    assert 7 <= hour < longer < 25
    assert rise_f(Body("thin", 12.7), "direct", 145, 5) <= float(RISES["small cuts"].rise.high)


def test_a_chicken_piece_rises_by_a_few_degrees():
    """FOODLAB, chicken piece pulled at 150 F: 3 F, measured; the model's 40 mm piece within 4 F."""
    row = next(row for name, row in RISES.items() if name.startswith("chicken piece"))
    found = rise_f(Body("joint", 40.0), "oven", 150, 6, poultry=True, species="chicken")
    assert found == pytest.approx(float(row.rise.low), abs=4)
