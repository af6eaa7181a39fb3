"""The commands on a carcass: plans, plain text, one sentence for every bad input."""

from __future__ import annotations

import copy
import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from collop.cli import carcass

EXAMPLES = Path(__file__).parents[2] / "docs/examples"
PROBLEMS = {
    name: json.loads((EXAMPLES / f"carcass-{name}.json").read_text(encoding="utf-8"))
    for name in ("styles", "yieldgrade", "takehome")
}
COMMANDS = {
    "styles": carcass.styles,
    "yieldgrade": carcass.yieldgrade,
    "takehome": carcass.takehome,
}


def run(name, problem, *options):
    """Run a command on a problem from standard input."""
    text = problem if isinstance(problem, str) else json.dumps(problem)
    return CliRunner().invoke(COMMANDS[name], ["-", *options], input=text)


def plan(name, **changes):
    """Return the plan of a documented problem with some keys changed."""
    done = run(name, PROBLEMS[name] | changes, "--json")
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def test_the_forequarter_example_closes_on_its_weight():
    """Outputs of docs/examples/carcass-styles.json sum to 166.700 lb in thousandths."""
    found = plan("styles")
    thousandths = sum(int(line["weight_lb"].replace(".", "")) for line in found["outputs"])
    assert thousandths == 166_700
    assert found["gap_lb"] == "0.000"
    assert found["weight_lb"] == "166.700"
    assert {line["place"] for line in found["outputs"]} == {"case", "trim", "fat", "bone", "drip"}


def test_each_large_cut_tells_its_style_and_the_others():
    """The chosen style, its minutes, and what else could be chosen."""
    large = {cut["name"]: cut for cut in plan("styles")["large_cuts"]}
    assert list(large) == ["shank", "brisket", "short plate", "rib", "chuck"]
    assert large["chuck"]["style"] == "single-muscle value cuts"
    assert large["chuck"]["minutes"] == 60
    assert "boneless chuck roll and clod, roasts" in large["chuck"]["styles"]
    usual = {cut["name"]: cut for cut in plan("styles", choices={})["large_cuts"]}
    assert usual["chuck"]["style"] == "boneless chuck roll and clod, roasts"


def test_every_output_says_what_it_rests_on():
    """Recalled and own figures bear their mark in the plan."""
    lines = plan("styles")["outputs"]
    assert {line["standing"] for line in lines} <= {"seen", "computed", "memory", "shop"}
    assert all(
        "from memory, not checked" in line["source"]
        for line in lines
        if line["standing"] == "memory"
    )


def test_the_yield_grade_example_is_that_of_the_source():
    """NDSU example: 2.754 by the equation, grade 2; the short method beside it."""
    found = plan("yieldgrade")
    assert (found["equation"]["value"], found["equation"]["grade"]) == (2.754, 2)
    assert found["short"]["grade"] == 2
    assert found["short_refused"] is None


def test_the_short_method_says_why_it_does_not_hold():
    """A 550-lb carcass has a grade by the equation only."""
    found = plan("yieldgrade", hot_carcass_lb="550")
    assert found["short"] is None
    assert "from 600 to 1000 lb" in found["short_refused"]
    assert found["equation"]["grade"] == 1


def test_the_take_home_example_names_every_weight():
    """1300 lb, 62 %: 806 lb hot, and ranges kept for the rest."""
    steps = {step["name"]: step for step in plan("takehome")["steps"]}
    assert steps["hot"]["low_lb"] == steps["hot"]["high_lb"] == "806.000"
    assert (steps["hung"]["low_lb"], steps["hung"]["high_lb"]) == ("757.640", "773.760")
    assert steps["hung"]["standing"] == "seen"


@pytest.mark.parametrize("name", COMMANDS)
def test_a_file_gives_what_standard_input_gives(name):
    """The documented file runs by its path too."""
    by_file = CliRunner().invoke(COMMANDS[name], [str(EXAMPLES / f"carcass-{name}.json"), "--json"])
    assert by_file.exit_code == 0
    assert by_file.stdout == run(name, PROBLEMS[name], "--json").stdout


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("styles", ["BEEF FOREQUARTER", "petite tender", "from memory", "shop's starting figure",
                    "Sum 166.700 lb"]),
        ("yieldgrade", ["equation: 2.75, yield grade 2", "decimals dropped", "short: 2.80"]),
        ("takehome", ["806.000 lb", "757.640 to 773.760 lb", "hot less 4 to 6 %"]),
    ],
)  # fmt: skip
def test_people_get_plain_text_with_the_marks(name, words):
    """Without --json there are lines, no braces, and marks where nothing was read."""
    done = run(name, PROBLEMS[name])
    assert done.exit_code == 0
    assert "{" not in done.stdout
    for word in words:
        assert word in done.stdout


def test_a_refused_short_method_is_told_in_plain_text():
    """The reason stands where the grade would."""
    done = run("yieldgrade", PROBLEMS["yieldgrade"] | {"hot_carcass_lb": "550"})
    assert "from 600 to 1000 lb" in done.stdout


BAD = [
    ("styles", {"piece": "beef"}, "$.piece"),
    ("styles", {"piece": None}, "$.piece"),
    ("styles", {"weight_lb": "0"}, "$.weight_lb"),
    ("styles", {"weight_lb": "heavy"}, "$.weight_lb"),
    ("styles", {"weight_lb": 166.7}, "$.weight_lb"),
    ("styles", {"weight_lb": "0.00000000000000001"}, "$.weight_lb"),
    ("styles", {"choices": []}, "$.choices"),
    ("styles", {"choices": [1]}, "$.choices"),
    ("styles", {"choices": {"chuck": 7}}, "$.choices.chuck"),
    ("styles", {"choices": {"chuck": "none"}}, "$.choices.chuck"),
    ("styles", {"choices": {"round": ""}}, "$.choices.round"),
    ("styles", {"species": "horse"}, "$.piece"),
    ("styles", {"schema": "collop.spread/1"}, "$.schema"),
    ("styles", {"knife": "long"}, "$.knife"),
    ("yieldgrade", {"adjusted_fat_in": "5"}, "$.adjusted_fat_in"),
    ("yieldgrade", {"kph_pct": 2.0}, "$.kph_pct"),
    ("yieldgrade", {"ribeye_sq_in": "-1"}, "$.ribeye_sq_in"),
    ("yieldgrade", {"hot_carcass_lb": "90"}, "$.hot_carcass_lb"),
    ("yieldgrade", {"marbling": "small"}, "$.marbling"),
    ("takehome", {"species": "horse"}, "$.species"),
    ("takehome", {"stage": "cooked"}, "$.stage"),
    ("takehome", {"weight_lb": "0"}, "$.weight_lb"),
    ("takehome", {"dressing_pct": "101"}, "$.dressing_pct"),
    ("takehome", {"days_hung": "14"}, "$.days_hung"),
    ("takehome", {"days_hung": 500}, "$.days_hung"),
    ("takehome", {"cutting": "thin"}, "$.cutting"),
    ("takehome", {"species": "goat", "dressing_pct": None}, "$.dressing_pct"),
    ("takehome", {"species": "lamb", "days_hung": 9}, "$.days_hung"),
]


@pytest.mark.parametrize(("name", "change", "where"), BAD)
def test_each_bad_value_is_one_sentence_with_its_path(name, change, where):
    """Exit 1, the path in JSON, one line on standard error without it."""
    problem = PROBLEMS[name] | change
    done = run(name, problem, "--json")
    assert done.exit_code == 1
    error = json.loads(done.stdout)["error"]
    assert error["where"] == where
    plain = run(name, problem)
    assert plain.exit_code == 1
    assert plain.stdout == ""
    assert plain.stderr.strip() == error["message"]
    assert "\n" not in plain.stderr.strip()


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("wrong", [None, True, 0, -1, 1.5, "", "x", [], {}, [None], {"x": 1}])
def test_any_wrong_kind_anywhere_is_a_sentence_or_a_plan(name, wrong):
    """Each key with each kind: never a traceback."""
    for key in PROBLEMS[name]:
        problem = copy.deepcopy(PROBLEMS[name])
        problem[key] = wrong
        done = run(name, problem, "--json")
        assert done.exit_code in {0, 1}
        assert done.exception is None or isinstance(done.exception, SystemExit)
        assert json.loads(done.stdout)


@pytest.mark.parametrize("text", ["", "{", "[]", "null", '{"schema": 1, "schema": 2}'])
@pytest.mark.parametrize("name", COMMANDS)
def test_what_is_no_problem_is_one_sentence(name, text):
    """Text that is no JSON object is refused."""
    done = run(name, text)
    assert done.exit_code == 1
    assert done.stderr.count("\n") == 1


def test_a_missing_key_is_named():
    """What is wanted is said."""
    problem = {key: value for key, value in PROBLEMS["yieldgrade"].items() if key != "kph_pct"}
    done = run("yieldgrade", problem)
    assert done.stderr.strip() == "$.kph_pct is missing; add it."


def cuts(*arguments):
    """Search for cuts."""
    return CliRunner().invoke(carcass.cuts, list(arguments))


def test_cuts_are_found_with_their_marks_and_numbers():
    """`collop cuts onglet --json` gives the hanger with what was read."""
    (hanger,) = json.loads(cuts("ONGLET", "--json").stdout)["cuts"]
    assert (hanger["id"], hanger["imps"], hanger["unece"]) == ("B029", "140", "2180")
    assert hanger["standing"] == "memory"
    assert hanger["weight_lb"] == ["1.000", "2.000"]


def test_an_ambiguous_word_lists_all_animals():
    """Plain text names the animal and the large cut of each."""
    done = cuts("butt")
    assert "(beef, sirloin)" in done.stdout
    assert "(pork, shoulder)" in done.stdout
    assert "(beef" not in cuts("butt", "--species", "pig").stdout


def test_no_such_cut_is_an_answer_and_no_such_animal_is_not():
    """An empty search exits 0 with a sentence; an unknown animal exits 1."""
    nothing = cuts("unicorn")
    assert nothing.exit_code == 0
    assert "No cut is called 'unicorn'" in nothing.stdout
    assert json.loads(cuts("unicorn", "--json").stdout)["cuts"] == []
    horse = cuts("leg", "--species", "horse")
    assert horse.exit_code == 1
    assert "is no animal here" in horse.stderr


def test_every_command_has_help_with_an_example():
    """--help says what it does and how to call it."""
    for command in (carcass.cuts, *COMMANDS.values()):
        done = CliRunner().invoke(command, ["--help"])
        assert done.exit_code == 0
        assert "Example: collop" in done.stdout
