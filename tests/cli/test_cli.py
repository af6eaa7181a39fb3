"""The command: plans and errors, exit codes, quick help."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from collop.cli import main

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "docs/examples/spread.json"


@pytest.fixture
def ask():
    """Return the documented ask as an object to be spoilt."""
    return json.loads(EXAMPLE.read_text(encoding="utf-8"))


def run(*args, text=None):
    return CliRunner().invoke(main, list(args), input=text)


def test_spread_prints_the_plan_as_json():
    """`collop spread FILE --json` prints one plan object and exits 0."""
    done = run("spread", str(EXAMPLE), "--json")
    assert done.exit_code == 0
    plan = json.loads(done.stdout)
    assert plan["schema"] == "collop.spread.plan/1"
    assert plan["spreads"][0]["aim"] == "best-value"


def test_spread_reads_standard_input_like_a_file():
    """`-` gives the same plan as the file."""
    by_file = run("spread", str(EXAMPLE), "--json").stdout
    by_input = run("spread", "-", "--json", text=EXAMPLE.read_text(encoding="utf-8")).stdout
    assert by_input == by_file


def test_spread_tells_people_what_to_say():
    """Without --json the sentence to say, the lines and the money a head are printed."""
    done = run("spread", str(EXAMPLE))
    assert done.exit_code == 0
    assert "BEST VALUE" in done.stdout
    assert "a head" in done.stdout
    assert "{" not in done.stdout


def test_no_is_an_answer_not_an_error(ask):
    """An ask with too little money exits 0 and prints the nearest yes."""
    ask["budget_total"] = "10.00"
    done = run("spread", "-", text=json.dumps(ask))
    assert done.exit_code == 0
    assert "NO." in done.stdout
    assert "budget_total" in done.stdout


def _spoil(ask, how):
    if how == "negative eaters":
        ask["groups"][0]["count"] = -3
    elif how == "unknown allergen":
        ask["groups"][0]["avoids"] = ["allergen:moonstone"]
    elif how == "price missing":
        del ask["offers"][0]["price_per_lb"]
    elif how == "ten thousand eaters":
        ask["groups"][0]["count"] = 10_000
    elif how == "empty case":
        ask["offers"] = []
    elif how == "contradiction":
        for group in ask["groups"]:
            group["avoids"] = ["species:lamb"]
        ask["pinned"] = ["C01"]
    elif how == "unknown key":
        ask["groups"][0]["hunger"] = 2
    return json.dumps(ask)


BAD = {
    "negative eaters": "$.groups[0].count",
    "unknown allergen": "$.groups[0].avoids[0]",
    "price missing": "$.offers[0].price_per_lb",
    "ten thousand eaters": "$.groups[0].count",
    "empty case": "$.offers",
    "contradiction": "$.pinned[0]",
    "unknown key": "$.groups[0].hunger",
}


@pytest.mark.parametrize("how", BAD)
def test_bad_input_gets_one_sentence_and_exit_1(ask, how):
    """Each bad input gives one sentence on standard error, no traceback, exit 1."""
    done = run("spread", "-", text=_spoil(ask, how))
    assert done.exit_code == 1
    assert done.stdout == ""
    sentence = done.stderr.strip()
    assert sentence.endswith(".")
    assert "\n" not in sentence
    assert "Traceback" not in sentence


@pytest.mark.parametrize("how", BAD)
def test_bad_input_names_its_place_in_json(ask, how):
    """With --json the error object names kind, message and path."""
    done = run("spread", "-", "--json", text=_spoil(ask, how))
    assert done.exit_code == 1
    error = json.loads(done.stdout)["error"]
    assert set(error) == {"kind", "message", "where"}
    assert error["where"] == BAD[how]


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ('{"schema": NaN}', "NaN"),
        ("[1, 2]", "object"),
        ("{", "not JSON"),
        ("", "not JSON"),
        ("\ufeff{}", "schema"),
    ],
)
def test_what_is_no_ask_is_refused_in_one_sentence(text, part):
    """NaN, lists, broken and empty text are refused."""
    done = run("spread", "-", text=text)
    assert done.exit_code == 1
    assert part in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1


def test_a_missing_file_is_one_sentence():
    """A file that is not there exits 1 with its name."""
    done = run("spread", "no-such-file.json")
    assert done.exit_code == 1
    assert "no-such-file.json" in done.stderr


def test_usage_errors_exit_2():
    """A missing argument or an unknown command is a usage error."""
    assert run("spread").exit_code == 2
    assert run("carve").exit_code == 2


@pytest.mark.parametrize("name", ["spread", "spread.plan"])
def test_schema_prints_a_json_schema(name):
    """`collop schema` prints a draft 2020-12 schema."""
    done = run("schema", name)
    assert done.exit_code == 0
    assert json.loads(done.stdout)["$schema"].endswith("2020-12/schema")


def test_demo_makes_the_shop_and_answers(tmp_path):
    """`collop demo` makes the database once and works 34 eaters with 310 of money to spreads."""
    database = str(tmp_path / "shop.db")
    first = run("demo", "--db", database, "--json")
    assert first.exit_code == 0
    found = json.loads(first.stdout)
    assert sum(group["count"] for group in found["ask"]["groups"]) == 34
    assert found["plan"]["answer"] == "yes"
    assert 3 <= len(found["plan"]["spreads"]) <= 5
    again = run("demo", "--db", database)
    assert again.exit_code == 0
    assert "a head" in again.stdout


def test_check_finds_a_sound_shop_and_misses_no_database(tmp_path):
    """`collop check` exits 0 on a sound shop, 1 with a sentence where there is none."""
    database = str(tmp_path / "shop.db")
    run("demo", "--db", database)
    assert run("check", "--db", database).exit_code == 0
    done = run("check", "--db", str(tmp_path / "other.db"))
    assert done.exit_code == 1
    assert len(done.stderr.strip().splitlines()) == 1


def test_help_loads_nothing_heavy():
    """Help imports neither the solver, the database nor the web."""
    code = (
        "import sys\n"
        "from click.testing import CliRunner\n"
        "from collop.cli import main\n"
        "assert CliRunner().invoke(main, ['--help']).exit_code == 0\n"
        "heavy = {'numpy', 'highspy', 'sqlalchemy', 'fastapi', 'uvicorn', 'alembic'}\n"
        "assert not heavy & set(sys.modules), heavy & set(sys.modules)\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_every_command_says_what_it_does_with_an_example():
    """Each command has help with a real example."""
    for name, command in main.commands.items():
        assert command.help, name
        assert f"Example: collop {name}" in command.help
