"""Reading a problem of the cutting plan: what is taken, what is refused, and how it is said."""

from __future__ import annotations

import copy
import json
from datetime import date
from fractions import Fraction
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collop.bench.bench_schema import SCHEMAS
from collop.bench.problem import Ground, Left, Lock
from collop.bench.reading import read_problem
from collop.bench.reading_size import count_ways
from collop.bench.ways import ways_of
from collop.errors import Contradiction, ProblemError, UnknownKey
from ending import that_ends

EXAMPLE = Path(__file__).parents[2] / "docs/examples/bench.json"
LEAST = {
    "schema": "collop.bench/1",
    "days": [{"day": "2026-06-09"}, {"day": "2026-06-10"}],
    "hands": [{"name": "Marek", "minutes": ["60", "60"]}],
    "cuts": [{"id": "C01", "price": "11.40", "keeps_days": 3, "usual": ["1", "2.5"]}],
}


def example():
    return json.loads(EXAMPLE.read_text(encoding="utf-8"))


def at(data, path):
    """Return what holds the last step of a path, and that step."""
    *way, last = path
    for step in way:
        data = data[step]
    return data, last


def put(path, value):
    """Return the example with one value put in."""
    data = example()
    where, last = at(data, path)
    where[last] = value
    return data


def refusal(data):
    """Return the refusal of a problem, which is one printable sentence."""
    with that_ends(), pytest.raises(ProblemError) as caught:
        read_problem(data)
    error = caught.value
    assert "\n" not in error.message
    assert error.message.endswith(".")
    assert len(error.message) < 300
    return error


def test_the_example_is_read_exactly():
    """Weights, money and shares are exact fractions; days count from 0; names are followed."""
    found = read_problem(example())
    assert (found.currency, found.unit, found.rounding) == ("USD", "lb", "half-up")
    assert [one.date for one in found.days] == [date(2026, 6, 9 + n) for n in range(5)]
    side = found.kinds["pork side"].styles[0]
    assert [one.to for one in side.outputs] == ["kind", "cut", "cut", "bin", "worth", "worth"]
    assert side.outputs[0].name == "Pork loin"
    assert side.outputs[4].worth == Fraction(15, 100)
    assert side.outputs[4].id == ""
    piece = found.rail[1]
    assert (piece.weight, piece.shrink_per_day) == (Fraction(924, 10), Fraction(3, 1000))
    assert (piece.from_day, piece.until_day, piece.must) == (0, 4, False)
    assert piece.claimed == Fraction(1, 4)
    shoulder = found.cuts["P03"]
    assert shoulder.ground == Ground("pork-trim", Fraction(97, 100), Fraction(3, 2))
    assert shoulder.left == Left(Fraction(32, 10), Fraction(10))
    assert found.cuts["P05"].steps == (Fraction(1), Fraction(9, 10), Fraction(8, 10))
    assert found.bookings[1].lines[0].price == Fraction(92, 10)
    assert found.makes[0].bins == ("pork-trim",)
    assert found.case_room == 120
    assert found.gap == Fraction(1, 1000)


def test_what_is_left_out_has_its_documented_default():
    """The least problem is read: no room, no rail; overtime, steps, elasticity and gap are ours."""
    found = read_problem(LEAST)
    cut = found.cuts["C01"]
    assert (cut.name, cut.elasticity, cut.salvage, cut.stock) == ("C01", Fraction(3, 2), 0, ())
    assert cut.steps == (Fraction(1), Fraction(9, 10), Fraction(8, 10), Fraction(7, 10))
    assert cut.left == Left(Fraction(0), None)
    assert cut.ground is None
    assert found.hands[0].overtime == (0, 0)
    assert (found.rail, found.makes, found.bookings, found.locks, found.before) == ((),) * 5
    assert (found.case_room, found.unit, found.reasons) == (None, "lb", True)
    assert found.days[1].is_open
    assert any("elasticity of 1.5" in note for note in found.assumptions)


def test_what_null_stands_for():
    """Null is the same as leaving the key out, wherever a key may be left out."""
    data = copy.deepcopy(LEAST)
    data |= dict.fromkeys(("name", "currency", "rounding", "unit", "case_room", "kinds", "rail",
                           "bins", "makes", "bookings", "locks", "before", "gap",
                           "reasons"))  # fmt: skip
    data["hands"][0] |= dict.fromkeys(("overtime", "per_hour", "overtime_per_hour", "cannot"))
    data["cuts"][0] |= dict.fromkeys(("name", "species", "elasticity", "steps", "salvage",
                                      "ground", "left", "stock"))  # fmt: skip
    assert read_problem(data) == read_problem(LEAST)
    jsonschema.validate(data, SCHEMAS["bench"])


def test_overtime_is_one_and_a_half_times_the_hour_if_no_pay_is_given():
    """An hour of overtime costs 1.5 times the usual one, and the plan says so."""
    found = read_problem(example())
    assert found.hands[0].overtime_per_hour == 36
    assert any("1.5 times" in note and "Marek" in note for note in found.assumptions)
    paid = put(("hands", 0, "overtime_per_hour"), "30")
    assert read_problem(paid).hands[0].overtime_per_hour == 30
    assert not read_problem(paid | {"gap": None}).assumptions


def test_a_bookings_line_without_a_price_has_the_board_price():
    """The agreed price stands; else the price of the cut."""
    found = read_problem(example())
    assert found.bookings[0].lines[0].price == Fraction(114, 10)


def test_lots_are_taken_in_the_order_they_end():
    """Stock comes back with what keeps shortest first, whatever the order it was given in."""
    lots = [{"weight": "2", "days_left": 3, "lot": "b"}, {"weight": "1", "days_left": 0}]
    found = read_problem(put(("cuts", 0, "stock"), lots)).cuts["C01"].stock
    assert [(one.weight, one.days_left, one.lot) for one in found] == [(1, 0, ""), (2, 3, "b")]


def test_locks_fix_a_style_a_day_or_that_a_piece_is_kept():
    """A lock names style and day, style alone, or neither."""
    locks = [{"tag": "L-207", "style": "lamb for the oven", "day": 2},
             {"tag": "P-118A", "style": "side for links"}, {"tag": "P-118B"}]  # fmt: skip
    found = read_problem(put(("locks",), locks)).locks
    assert found == (
        Lock("L-207", "lamb for the oven", 2),
        Lock("P-118A", "side for links", None),
        Lock("P-118B", None, None),
    )


def test_the_last_plan_is_a_hint_and_may_name_what_is_gone():
    """`before` is kept as it is: a tag that no longer hangs is no fault, a wrong kind is."""
    gone = [{"tag": "B-40", "style": "gone", "day": 1}]
    assert read_problem(put(("before",), gone)).before == (Lock("B-40", "gone", 1),)
    error = refusal(put(("before",), [{"tag": "B-40", "style": 3}]))
    assert error.where == "$.before[0].style"


#: Where, what is put there, the path of the refusal, and a word of it.
WRONG = [
    (("schema",), "collop.spread/1", "$.schema", "use one of"),
    (("moonstone",), 1, "$.moonstone", "not a known key"),
    (("currency",), "usd", "$.currency", "three capital letters"),
    (("unit",), "stone", "$.unit", "use one of lb, kg"),
    (("rounding",), "up", "$.rounding", "use one of"),
    (("gap",), 0.7, "$.gap", "from 0 to 0.5"),
    (("gap",), 1e-12, "$.gap", "write zero"),
    (("reasons",), "yes", "$.reasons", "true or false"),
    (("case_room",), 600, "$.case_room", "decimal in quotes"),
    (("name",), "x" * 201, "$.name", "200 at the most"),
    (("name",), "a\nb", "$.name", "cannot be printed"),
    (("name",), "\ud800", "$.name", "cannot be printed"),
    (("days",), [], "$.days", "is empty"),
    (("days",), [{"day": "2026-06-09"}] * 15, "$.days", "14 at the most"),
    (("days", 1, "day"), "2026-06-11", "$.days[1].day", "the day after 2026-06-09"),
    (("days", 0, "day"), "2026-02-30", "$.days[0].day", "write a date"),
    (("days", 0, "day"), "20260609", "$.days[0].day", "write a date"),
    (("days", 0, "open"), 1, "$.days[0].open", "true or false"),
    (("hands",), [], "$.hands", "names nobody"),
    (("hands", 1, "name"), "Marek", "$.hands[1].name", "once more"),
    (("hands", 0, "minutes"), ["90"] * 4, "$.hands[0].minutes", "each of the 5 days"),
    (("hands", 0, "minutes", 2), "1441", "$.hands[0].minutes[2]", "at most 1440"),
    (("hands", 0, "minutes", 2), "1420", "$.hands[0].overtime[2]", "over 1440"),
    (("hands", 0, "minutes", 2), 60, "$.hands[0].minutes[2]", "in quotes"),
    (("hands", 0, "per_hour"), "-1", "$.hands[0].per_hour", "zero or more"),
    (("hands", 1, "cannot"), ["halal"], "$.hands[1].cannot[0]", "no style"),
    (("kinds", 1, "id"), "lamb carcass", "$.kinds[1].id", "once more"),
    (("kinds", 0, "id"), " ", "$.kinds[0].id", "is empty"),
    (("kinds", 0, "styles"), [], "$.kinds[0].styles", "at least one way"),
    (("kinds", 0, "styles", 1, "id"), "side for links", "$.kinds[1].styles[1].id", "once more"),
    (("kinds", 0, "styles", 0, "minutes"), None, "$.kinds[0].styles[0].minutes", "is missing"),
    (("kinds", 0, "styles", 0, "outputs"), [], "$.kinds[0].styles[0].outputs", "is empty"),
    (("kinds", 0, "styles", 0, "outputs", 0, "share"), "0.31",
     "$.kinds[0].styles[0].outputs", "sums to 1.01 instead of 1"),
    (("kinds", 0, "styles", 0, "outputs", 0, "share"), "0.300000000001",
     "$.kinds[0].styles[0].outputs", "sums to 1.000000000001"),
    (("kinds", 0, "styles", 0, "outputs", 0, "share"), "0.3000000000001",
     "$.kinds[0].styles[0].outputs[0].share", "12 decimals"),
    (("kinds", 0, "styles", 0, "outputs", 0, "share"), "0",
     "$.kinds[0].styles[0].outputs[0].share", "is zero"),
    (("kinds", 0, "styles", 0, "outputs", 0, "share"), 0.3,
     "$.kinds[0].styles[0].outputs[0].share", "in quotes"),
    (("kinds", 0, "styles", 0, "outputs", 0, "sd"), 0.6,
     "$.kinds[0].styles[0].outputs[0].sd", "from 0 to 0.5"),
    (("kinds", 0, "styles", 0, "outputs", 0, "cut"), "C99",
     "$.kinds[0].styles[0].outputs[0].cut", "no cut"),
    (("kinds", 0, "styles", 0, "outputs", 0, "bin"), "pork-trim",
     "$.kinds[0].styles[0].outputs[0].cut", "cut and bin"),
    (("kinds", 0, "styles", 0, "outputs", 0), {"share": "0.3"},
     "$.kinds[0].styles[0].outputs[0].cut", "none of them"),
    (("kinds", 0, "styles", 0, "outputs", 0, "name"), "Leg",
     "$.kinds[0].styles[0].outputs[0].name", "leave it out"),
    (("kinds", 0, "styles", 0, "outputs", 1, "cut"), "C01",
     "$.kinds[0].styles[0].outputs[1].cut", "add the shares up"),
    (("kinds", 1, "styles", 0, "outputs", 3, "bin"), "lamb-trim",
     "$.kinds[1].styles[0].outputs[3].bin", "no bin"),
    (("kinds", 1, "styles", 0, "outputs", 0, "kind"), "loin",
     "$.kinds[1].styles[0].outputs[0].kind", "no kind"),
    (("kinds", 2, "holds_days"), 15, "$.kinds[2].holds_days", "from 0 to 14"),
    (("rail", 1, "tag"), "L-207", "$.rail[1].tag", "once more"),
    (("rail", 0, "kind"), "goat", "$.rail[0].kind", "no kind"),
    (("rail", 0, "weight"), "0", "$.rail[0].weight", "0.1 or more"),
    (("rail", 0, "weight"), "52.4001", "$.rail[0].weight", "3 decimals"),
    (("rail", 0, "shrink_per_day"), "0.3", "$.rail[0].shrink_per_day", "at most 0.2"),
    (("rail", 0, "until"), 5, "$.rail[0].until", "from 0 to 4"),
    (("rail", 0, "from"), -1, "$.rail[0].from", "from 0 to 4"),
    (("rail", 0, "from"), 1.0, "$.rail[0].from", "whole number"),
    (("rail", 0, "from"), 10**5000, "$.rail[0].from", "too many digits"),
    (("rail", 0), {"tag": "L", "kind": "lamb carcass", "weight": "9", "from": 3, "until": 2},
     "$.rail[0].until", "before `from`"),
    (("rail", 1, "claims", 0, "weight"), "92.401", "$.rail[1].claims", "more than the 92.4"),
    (("rail", 1, "claims", 0, "due"), 5, "$.rail[1].claims[0].due", "from 0 to 4"),
    (("rail", 1, "claims", 0, "booking"), "", "$.rail[1].claims[0].booking", "is empty"),
    (("cuts",), [], "$.cuts", "names nothing"),
    (("cuts",), None, "$.cuts", "names nothing"),
    (("cuts", 1, "id"), "C01", "$.cuts[1].id", "once more"),
    (("cuts", 0, "price"), "0", "$.cuts[0].price", "0.0001 or more"),
    (("cuts", 0, "price"), "1e-999999", "$.cuts[0].price", "write a decimal"),
    (("cuts", 0, "price"), "NaN", "$.cuts[0].price", "write a decimal"),
    (("cuts", 0, "price"), "Infinity", "$.cuts[0].price", "write a decimal"),
    (("cuts", 0, "price"), "1000001", "$.cuts[0].price", "at most 1000000"),
    (("cuts", 0, "price"), "11.4000001", "$.cuts[0].price", "6 decimals"),
    (("cuts", 0, "usual"), "1", "$.cuts[0].usual", "must be a list"),
    (("cuts", 0, "usual", 4), "-1", "$.cuts[0].usual[4]", "zero or more"),
    (("cuts", 0, "elasticity"), 0, "$.cuts[0].elasticity", "from 0.01 to 10"),
    (("cuts", 0, "elasticity"), float("nan"), "$.cuts[0].elasticity", "from 0.01 to 10"),
    (("cuts", 0, "elasticity"), True, "$.cuts[0].elasticity", "must be a number"),
    (("cuts", 0, "steps"), [], "$.cuts[0].steps", "from 1 to 12"),
    (("cuts", 0, "steps"), ["0.9", "1"], "$.cuts[0].steps[1]", "the highest first"),
    (("cuts", 0, "steps"), ["1", "1.0"], "$.cuts[0].steps[1]", "each once"),
    (("cuts", 0, "steps"), ["1", "0"], "$.cuts[0].steps[1]", "0.3 or more"),
    (("cuts", 0, "keeps_days"), None, "$.cuts[0].keeps_days", "must be a whole number"),
    (("cuts", 5, "ground", "bin"), "beef", "$.cuts[5].ground.bin", "no bin"),
    (("cuts", 5, "ground", "yield"), "1.01", "$.cuts[5].ground.yield", "at most 1"),
    (("cuts", 5, "ground", "yield"), "0", "$.cuts[5].ground.yield", "is zero"),
    (("cuts", 5, "left"), {}, "$.cuts[5].left.worth", "is missing"),
    (("cuts", 5, "left"), "3", "$.cuts[5].left", "must be an object"),
    (("cuts", 3, "stock", 0, "weight"), "0", "$.cuts[3].stock[0].weight", "0.001 or more"),
    (("cuts", 3, "stock", 0, "days_left"), -1, "$.cuts[3].stock[0].days_left", "from 0"),
    (("bins", 0, "fat"), "1.2", "$.bins[0].fat", "at most 1"),
    (("bins",), [{"id": "pork-trim", "fat": "0.2", "keeps_days": 1}] * 2, "$.bins[1].id", "once"),
    (("makes", 0, "cut"), "C99", "$.makes[0].cut", "no cut"),
    (("makes", 0, "cut"), "P03", "$.makes[0].cut", "goes back to no bin"),
    (("makes", 0, "bins"), [], "$.makes[0].bins", "is empty"),
    (("makes", 0, "bins"), ["pork-trim"] * 2, "$.makes[0].bins[1]", "once more"),
    (("makes", 0, "bins"), ["beef"], "$.makes[0].bins[0]", "no bin"),
    (("makes", 0, "bins"), [3], "$.makes[0].bins[0]", "must be text"),
    (("makes", 0, "fat_min"), "0.4", "$.makes[0].fat_min", "over fat_max"),
    (("makes", 0, "added"), "0.95", "$.makes[0].added", "at most 0.9"),
    (("bookings", 1, "id"), "H1", "$.bookings[1].id", "once more"),
    (("bookings", 0, "due"), 5, "$.bookings[0].due", "from 0 to 4"),
    (("bookings", 0, "lines"), [], "$.bookings[0].lines", "is empty"),
    (("bookings", 0, "lines", 0, "cut"), "C99", "$.bookings[0].lines[0].cut", "no cut"),
    (("bookings", 0, "lines", 0, "price"), "0", "$.bookings[0].lines[0].price", "is zero"),
    (("locks",), [{"tag": "L-207"}, {"tag": "L-207"}], "$.locks[1].tag", "once more"),
    (("locks",), [{"tag": "L-208"}], "$.locks[0].tag", "does not hang"),
    (("locks",), [{"tag": "L-207", "style": "side for links"}], "$.locks[0].style", "no style of"),
    (("locks",), [{"tag": "L-207", "day": 1}], "$.locks[0].style", "beside a day"),
    (("locks",), [{"tag": "L-207", "style": "lamb for the oven", "day": 9}],
     "$.locks[0].day", "from 0 to 4"),
    (("locks",), "none", "$.locks", "must be a list"),
]  # fmt: skip


@pytest.mark.parametrize(("path", "value", "where", "word"), WRONG, ids=range(len(WRONG)))
def test_each_slip_is_told_with_its_place(path, value, where, word):
    """One wrong value is refused in one sentence that names its path and what is wrong."""
    error = refusal(put(path, value))
    assert error.where == where
    assert where in error.message
    assert word in error.message


def test_a_locked_day_lies_within_the_days_of_the_piece():
    """A piece that may be broken from day 2 is not locked on day 1."""
    data = put(("rail", 0, "from"), 2)
    data["locks"] = [{"tag": "L-207", "style": "lamb for the oven", "day": 1}]
    error = refusal(data)
    assert error.where == "$.locks[0].day"
    assert "days 2 to 4" in error.message


def test_a_piece_that_must_be_broken_is_not_locked_as_kept():
    """`must` and a lock that keeps the piece cannot both hold."""
    data = example()
    data["rail"][0]["must"] = True
    data["locks"] = [{"tag": "L-207"}]
    assert isinstance(refusal(data), Contradiction)


@pytest.mark.parametrize("deep", [1, 2, 3])
def test_no_kind_comes_back_to_itself(deep):
    """A round of large cuts is refused however long it is."""
    data = copy.deepcopy(LEAST)
    data["kinds"] = [
        {"id": f"k{n}", "styles": [{"id": f"s{n}", "minutes": "1", "outputs": [
            {"kind": f"k{(n + 1) % deep}", "share": "1"}]}]}
        for n in range(deep)
    ]  # fmt: skip
    assert "comes off itself" in refusal(data).message


def _chain(length):
    """Return a problem whose first kind is cut into large cuts so many times over."""
    data = copy.deepcopy(LEAST)
    data["kinds"] = [
        {"id": f"k{n}", "styles": [{"id": f"s{n}", "minutes": "1", "outputs": [
            {"kind": f"k{n + 1}", "share": "1"} if n < length else {"cut": "C01", "share": "1"}]}]}
        for n in range(length + 1)
    ]  # fmt: skip
    return data


def test_large_cuts_come_off_large_cuts_four_times_at_the_most():
    """Four steps below the piece are read, five are refused; so is a chain of all kinds."""
    assert len(read_problem(_chain(4)).kinds) == 5
    for length in (5, 199):
        assert "4 is the most" in refusal(_chain(length)).message


def test_a_tree_that_nobody_could_choose_from_is_refused():
    """Four levels of 20 styles with ten large cuts each are refused at once, not counted out.

    Nothing hangs that could be cut so: the kinds alone are read.
    """
    data = copy.deepcopy(LEAST)
    kinds = []
    for level in range(4):
        for n in range(10):
            below = [{"kind": f"k{level + 1}-{m}", "share": "0.1"} for m in range(10)]
            outputs = below if level < 3 else [{"cut": "C01", "share": "1"}]
            styles = [{"id": f"s{level}-{n}-{s}", "minutes": "1", "outputs": outputs}
                      for s in range(20)]  # fmt: skip
            kinds.append({"id": f"k{level}-{n}", "styles": styles})
    data["kinds"] = kinds
    assert len(read_problem(data).kinds) == 40
    data["rail"] = [{"tag": "T", "kind": "k0-0", "weight": "50"}]
    error = refusal(data)
    assert isinstance(error, Contradiction)
    assert error.where == "$.rail"
    assert "ways" in error.message
    data["locks"] = [{"tag": "T"}]
    assert read_problem(data).locks[0].tag == "T"


@pytest.mark.parametrize(
    "locks", [[], [{"tag": "L-207", "style": "lamb for the oven", "day": 1}, {"tag": "P-118B"}]]
)
def test_ways_are_counted_as_they_are_tried(locks):
    """The count that limits a problem is the number of ways that the plan chooses among."""
    found = read_problem(put(("locks",), locks))
    assert count_ways(found.rail, found.kinds, found.locks, len(found.days)) == len(ways_of(found))


def test_a_tag_that_reads_like_a_large_cut_is_refused():
    """A large cut is named by its piece and a slash, so another piece may not be."""
    error = refusal(put(("rail", 0, "tag"), "P-118A/Pork loin/a"))
    assert error.where == "$.rail[0].tag"
    assert read_problem(put(("rail", 0, "tag"), "L/207")).rail[0].tag == "L/207"


def test_two_large_cuts_of_one_style_are_named_apart():
    """Two kinds that share a name may not come off in one style."""
    data = put(("kinds", 1, "styles", 0, "outputs", 1), {"kind": "ham", "share": "0.27"})
    styles = [{"id": "ham", "minutes": "5", "outputs": [{"cut": "P03", "share": "1"}]}]
    data["kinds"].append({"id": "ham", "name": "Pork loin", "styles": styles})
    assert refusal(data).where == "$.kinds[1].styles[0].outputs[1].kind"
    data["kinds"][-1]["name"] = "Ham"
    assert read_problem(data).kinds["ham"].name == "Ham"


@pytest.mark.parametrize(
    ("key", "most"),
    [("rail", 2000), ("cuts", 500), ("kinds", 200), ("bookings", 2000), ("bins", 50),
     ("makes", 100), ("hands", 20), ("locks", 2000)],
)  # fmt: skip
def test_ten_thousand_lines_are_refused_before_they_are_read(key, most):
    """A list longer than a shop has is refused by its length, quickly."""
    error = refusal(example() | {key: [{"id": "x"}] * 20_001})
    assert error.where == f"$.{key}"
    assert f"{most} at the most" in error.message


def test_the_largest_shop_is_read():
    """2,000 pieces, 500 cuts and 2,000 bookings over 14 days are read within seconds."""
    data = copy.deepcopy(LEAST)
    data["days"] = [{"day": f"2026-06-{9 + n:02}"} for n in range(14)]
    data["hands"][0]["minutes"] = ["480"] * 14
    data["cuts"] = [
        {"id": f"C{n}", "price": "9.90", "keeps_days": 4, "usual": ["1.5"] * 14} for n in range(500)
    ]
    outputs = [{"cut": f"C{n}", "share": "0.01"} for n in range(100)]
    data["kinds"] = [
        {"id": f"k{n}", "styles": [{"id": f"s{n}", "minutes": "30", "outputs": outputs}]}
        for n in range(200)
    ]
    data["rail"] = [{"tag": f"T{n}", "kind": f"k{n % 200}", "weight": "50"} for n in range(2000)]
    data["bookings"] = [
        {"id": f"H{n}", "due": n % 14, "lines": [{"cut": f"C{n % 500}", "weight": "2"}]}
        for n in range(2000)
    ]
    with that_ends():
        found = read_problem(data)
    assert len(found.rail) == len(found.bookings) == 2000


def _leaves(value, path=()):
    """Yield the path of every value of a problem, the lists and objects too."""
    if path:
        yield path
    pairs = value.items() if isinstance(value, dict) else enumerate(value)
    for key, inner in pairs:
        if isinstance(inner, (dict, list)):
            yield from _leaves(inner, (*path, key))
        else:
            yield (*path, key)


HOSTILE = st.sampled_from(
    [None, True, False, -1, 0, 1, 2.5, 1e308, -1e308, float("nan"), float("inf"), 10**5000, 5e-324,
     "", " ", "NaN", "-0", "-1", "1e-999999", "1e999999", "1e24", "0." + "0" * 22 + "1", "9" * 5000,
     "½", "٣", "_", "\ud800", "\x00", [], [[]], {}, {"a": 1}, [None], ["1"] * 10_000],
)  # fmt: skip
PATHS = st.sampled_from(list(_leaves(example())))


@settings(max_examples=400)
@given(path=PATHS, value=HOSTILE)
def test_a_hostile_value_anywhere_is_read_or_refused_in_one_sentence(path, value):
    """Whatever stands at any place, there is a problem or one sentence, and soon."""
    data = put(path, value)
    try:
        found = read_problem(data)
    except ProblemError as error:
        assert error.where.startswith("$")
        refusal(data)
    else:
        assert found.days


@settings(max_examples=150)
@given(path=PATHS, key=st.text(max_size=30).filter(lambda text: text not in {"", "name"}))
def test_an_unknown_key_anywhere_is_refused(path, key):
    """A key that nobody knows is refused with its path wherever an object stands."""
    data = example()
    where, last = at(data, path)
    target = where[last]
    if not isinstance(target, dict) or key in target:
        return
    target[f"~{key}"] = 1
    with pytest.raises(UnknownKey):
        read_problem(data)


@pytest.mark.parametrize("data", [None, [], "x", 3, {}, {"schema": None}])
def test_what_is_no_problem_is_refused(data):
    """Other JSON than a problem is refused."""
    refusal(data)


@given(parts=st.lists(st.integers(1, 10**6), min_size=1, max_size=8))
def test_shares_are_taken_only_if_they_come_to_one(parts):
    """Shares of 12 decimals that sum to 1 are read exactly; a hair more or less is refused."""
    whole = 10**12
    shares = [part * whole // sum(parts) for part in parts]
    shares[0] += whole - sum(shares)
    for slip in (0, 1, -1):
        slipped = [shares[0] + slip, *shares[1:]]
        written = [f"{one // whole}.{one % whole:012d}" for one in slipped]
        data = copy.deepcopy(LEAST)
        outputs = [{"worth": "0", "name": f"n{n}", "share": one} for n, one in enumerate(written)]
        style = {"id": "s", "minutes": "1", "outputs": outputs}
        data["kinds"] = [{"id": "k", "styles": [style]}]
        if slip:
            refusal(data)
        else:
            found = read_problem(data).kinds["k"].styles[0].outputs
            assert [one.share * whole for one in found] == shares


def test_the_example_keeps_its_schema_and_the_schema_is_sound():
    """The schema of the problem accepts the example and the least problem."""
    jsonschema.Draft202012Validator.check_schema(SCHEMAS["bench"])
    jsonschema.Draft202012Validator.check_schema(SCHEMAS["bench.plan"])
    jsonschema.validate(example(), SCHEMAS["bench"])
    jsonschema.validate(LEAST, SCHEMAS["bench"])


@settings(max_examples=100)
@given(path=PATHS, value=HOSTILE)
def test_what_the_reading_takes_the_schema_takes(path, value):
    """The schema is no stricter than the reading, but for odd ways to write a decimal."""
    if isinstance(value, str):
        return
    data = put(path, value)
    try:
        read_problem(data)
    except ProblemError:
        return
    jsonschema.validate(data, SCHEMAS["bench"])
