"""The heat command: plans and refusals as JSON and in words, exit codes, schemas."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from collop.cli.asks import schema
from collop.cli.heat import heat

EXAMPLES = Path(__file__).parents[2] / "docs/examples"
PLAIN = {
    "schema": "collop.heat/1", "shape": "slab", "half_thickness_m": 0.02, "alpha_m2_s": 1.3e-7,
    "k_w_mk": 0.48, "h_w_m2k": 95, "start_c": 5, "medium_c": 60, "at_min": [10, 20, 40],
    "until_core_c": 57, "position": 0.0,
}  # fmt: skip


def run(command, *args, text=None):
    return CliRunner().invoke(command, list(args), input=text)


def test_a_file_gives_its_plan_as_json():
    """With --json the documented plan is printed, and the exit is 0."""
    done = run(heat, str(EXAMPLES / "heat.json"), "--json")
    assert done.exit_code == 0
    expected = json.loads((EXAMPLES / "heat.plan.json").read_text(encoding="utf-8"))
    assert json.loads(done.stdout) == expected


def test_standard_input_is_read_like_a_file():
    """`-` gives the same plan as the file."""
    text = (EXAMPLES / "heat.json").read_text(encoding="utf-8")
    by_file = run(heat, str(EXAMPLES / "heat.json"), "--json").stdout
    assert run(heat, "-", "--json", text=text).stdout == by_file


def test_people_get_lines_to_read():
    """Without --json the minutes, temperatures, rise and bands stand in plain lines."""
    done = run(heat, str(EXAMPLES / "heat.json"))
    assert done.exit_code == 0
    for word in ("Rib block", "core reached after", "time 4: core", "rest: from 62.8 C",
                 "minutes:", "(80 of 100)", "Assumed: A time is a guide"):  # fmt: skip
        assert word in done.stdout
    assert "{" not in done.stdout


def test_the_two_faces_of_a_turned_slab_are_both_told():
    """With two faces the upper one stands beside the lower."""
    hot = {"h_w_m2k": 20, "gas_c": 250, "q_rad_w_m2": 8000, "cap_c": 150}
    lid = {"h_w_m2k": 20, "gas_c": 150, "cap_c": 100}
    problem = {key: value for key, value in PLAIN.items() if key not in {"h_w_m2k", "medium_c"}}
    done = run(heat, "-", text=json.dumps(problem | {"faces": [hot, lid], "turns_min": [6]}))
    assert done.exit_code == 0
    assert ", upper " in done.stdout
    assert "theta" not in done.stdout


def test_a_core_that_is_never_reached_is_said():
    """The plan says so, and the exit is 0."""
    done = run(heat, "-", text=json.dumps(PLAIN | {"until_core_c": 70}))
    assert done.exit_code == 0
    assert "does not reach 158 °F (70 °C)" in done.stdout
    spread = {"until_core_c": 59.9, "spread": {"gas_sd_c": 5}}
    done = run(heat, "-", text=json.dumps(PLAIN | spread))
    assert "never" in done.stdout
    assert "of 100 samples get there" in done.stdout


@pytest.mark.parametrize(
    ("changed", "where"),
    [
        ({"shape": "cube"}, "$.shape"),
        ({"half_thickness_m": "thick"}, "$.half_thickness_m"),
        ({"oven": 1}, "$.oven"),
    ],
)
def test_a_bad_problem_is_one_sentence_and_exit_1(changed, where):
    """In words on standard error, or as JSON with the path."""
    text = json.dumps(PLAIN | changed)
    done = run(heat, "-", text=text)
    assert done.exit_code == 1
    assert done.stderr.startswith(where)
    assert len(done.stderr.splitlines()) == 1
    told = run(heat, "-", "--json", text=text)
    assert told.exit_code == 1
    assert where in told.stdout


@pytest.mark.parametrize("name", ["heat", "heat.plan"])
def test_the_schemas_are_printed(name):
    """``collop schema`` knows both."""
    done = run(schema, name)
    assert done.exit_code == 0
    assert json.loads(done.stdout)["title"].startswith("collop.heat")
