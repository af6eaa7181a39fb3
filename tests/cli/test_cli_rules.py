"""The book of rules in the terminal."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.rules import TOPICS, rules, settings
from collop.shop import create_shop, open_shop


def run(*args, code=0):
    result = CliRunner().invoke(main, ["rules", *map(str, args)])
    assert result.exit_code == code, result.output
    return result.output


def told(*args, code=0):
    return json.loads(run(*args, "--json", code=code))


@pytest.fixture
def db(tmp_path):
    path = tmp_path / "demo.db"
    create_shop(f"sqlite:///{path}", demo=True).close()
    with open_shop(f"sqlite:///{path}") as shop:
        shop.rules.change("cold_limit_f", "38", why="the sealer asked", by="ines", key="k1")
    return str(path)


def test_one_rule_is_told_with_its_source():
    """Words, published figure, setting, what is done, source."""
    text = run("SF012")
    assert "Cooked food comes down fast at first" in text
    assert "Published: 70 F, cooked meat, stock, pate, within 2 h" in text
    assert "Cooling from 135 F to 70 F, within: 2 h  (cooling_first_h)" in text
    assert "Wisconsin Food Code 3-501.14 Cooling" in text
    assert "The local code and the local authority come first." in text


def test_a_rule_from_memory_is_marked():
    """The mark stands in the text and in the JSON."""
    assert "from memory, not checked" in run("SF048")
    assert told("SF048")["rules"][0]["status"] == "memory"
    assert "from memory, not checked" in told("SF048")["rules"][0]["source"]


def test_all_rules_as_json():
    """Every row is there, figures of settings are numbers, money is text."""
    found = told()["rules"]
    assert len(found) == len(rules())
    assert {one["topic"] for one in found} == set(TOPICS)
    each = {one["name"]: one for rule in found for one in rule["settings"]}
    assert set(each) == {one.name for one in settings()}
    cold = each["cold_limit_f"]
    assert (cold["value"], cold["unit"], cold["published_limit"]) == (41, "F", 41)
    assert each["retail_meat_2026"]["value"] is None
    pack = each["pack_days"]
    assert (pack["value"], pack["usual"], pack["published_limit"]) == (30, 30, 30)
    assert each["cold_checks_a_day"]["published_limit"] is None
    assert each["food_code"]["choices"] == ["2022", "2017", "2013", "2009"]


def test_a_shop_shows_what_it_chose(db):
    """With a database the value in force is the shop's."""
    assert told("SF006", "--db", db)["rules"][0]["settings"][0]["value"] == 38
    assert "Cold holding, at most: 38 °F" in run("SF006", "--db", db)


def test_topics_and_words_narrow_the_list():
    """By topic, by words; parts are told with --all."""
    assert [one["id"] for one in told("--topic", "cooling")["rules"]] == [
        "SF012", "SF013", "SF014",
    ]  # fmt: skip
    assert [one["id"] for one in told("--find", "older vacuum days")["rules"]] == ["SF062"]
    short, long = run("--topic", "cleaning"), run("--topic", "cleaning", "--all")
    assert "SF076" not in short
    assert "further published rows: --all" in short
    assert "SF076" in long


def test_what_is_not_there_is_one_sentence():
    """An unknown rule or topic ends with 1."""
    assert run("SF999", code=1) == "There is no rule 'SF999'; see collop rules or the page Rules.\n"
    assert "There is no topic 'zz'" in run("--topic", "zz", code=1)
    assert told("SF999", code=1)["error"]["kind"] == "not-found"


def test_a_laxer_edition_says_so(db):
    """Beside the edition that was chosen, never beside the usual one."""
    said = "It counts only where your local code is that edition"
    assert said not in run("SF125", "--db", db)
    with open_shop(f"sqlite:///{db}") as shop:
        shop.rules.change("food_code", "2009", why="our state", by="ines", key="k2")
    assert said in run("SF125", "--db", db)
    each = {one["name"]: one for one in told("SF061", "--db", db)["rules"][0]["settings"]}
    assert each["pack_days"]["published_limit"] == 14
