"""The book of rules: every published row is in it, and what the product does is said."""

from __future__ import annotations

import doctest
import importlib
import pkgutil
import re
from pathlib import Path

import pytest

import collop.rules
from collop.errors import BadValue, NotFound
from collop.reference.rulebook import rule_rows
from collop.rules import EDITIONS, TOPICS, edition, rule, rules, search, settings
from collop.rules.book import _ours

MINE = ("book", "choosing", "cooling", "dating", "editions", "holds", "limits", "retail_limits",
        "retention", "sanitising", "settings_model", "storing", "tracing")  # fmt: skip


def test_every_published_row_stands_in_the_book_once():
    """The six tables and our own figures, nothing else."""
    ids = [one.id for one in rules()]
    assert len(ids) == len(set(ids))
    assert {one for one in ids if not one.startswith("OWN")} == {r.rule_id for r in rule_rows()}


def test_our_words_point_at_rows_that_are_there():
    """No row is named that no table has, and none is part of two rules."""
    there = {row.rule_id for row in rule_rows()}
    seen = set()
    for one in _ours().values():
        assert one.rule_id in there
        for row in one.also:
            assert row in there
            assert row not in seen
            seen.add(row)
    assert not seen & set(_ours())


def test_what_the_product_acts_on_is_said_in_our_words():
    """Sixty rules and more have a text of ours, end in a full stop and say what is done."""
    ours = [one for one in rules() if one.does and not one.part_of]
    assert len(ours) >= 60
    for one in ours:
        assert one.text.endswith("."), one.id
        assert one.does.endswith("."), one.id
        assert one.text != one.published or one.id.startswith("OWN")
        assert "\N{EXCLAMATION MARK}" not in one.text + one.does


def test_every_rule_has_topic_source_and_status():
    """Each topic has rules; each rule has a source, and the mark if it is from memory."""
    assert {one.topic for one in rules()} == set(TOPICS)
    for one in rules():
        assert one.source.title
        marked = "from memory, not checked" in one.citation()
        assert marked == (not one.is_cited and not one.id.startswith("OWN")), one.id


def test_every_setting_stands_at_its_rule_with_the_value_in_force():
    """What the shop chose is shown, the rest as it began."""
    chosen = {"cold_limit_f": "38"}
    shown = {each.name: value for one in rules(chosen) for each, value in
             zip(one.settings, one.chosen, strict=True)}  # fmt: skip
    assert set(shown) == {one.name for one in settings()}
    assert shown["cold_limit_f"] == "38"
    assert shown["freezer_f"] == "0"
    assert shown["pack_days"] == "30"


def test_a_search_finds_words_in_any_order():
    """All words must stand in it; case does not count."""
    assert [one.id for one in search("OLDER vacuum days")] == ["SF062"]
    assert "LB104" in [one.id for one in search("sesame")]
    assert search("no such words here") == ()
    assert len(search("")) == len(rules())
    assert {one.topic for one in search("", topic="cooling")} == {"cooling"}
    assert search("x " * 5000) is not None


def test_what_is_not_there_is_refused():
    """An unknown rule or topic gets one sentence."""
    with pytest.raises(NotFound, match="There is no rule 'SF999'"):
        rule("SF999")
    with pytest.raises(NotFound, match="There is no rule"):
        rule("x" * 5000)
    with pytest.raises(BadValue, match="There is no topic 'zz'"):
        rules(topic="zz")
    assert rule(" sf006 ").id == "SF006"


@pytest.mark.parametrize("name", MINE)
def test_the_examples_hold(name):
    """The figures in the docstrings are what the functions return."""
    module = importlib.import_module(f"collop.rules.{name}")
    found = doctest.testmod(module)
    assert found.failed == 0
    assert found.attempted > 0 or name == "settings_model"


def test_the_page_of_the_docs_names_every_setting_and_key():
    """docs/rules.md names each setting, but of the years to come, and each edition's days."""
    text = (Path(__file__).parents[2] / "docs" / "rules.md").read_text(encoding="utf-8")
    for one in settings():
        if not re.search(r"_20(2[7-9]|3\d)$", one.name):
            assert f"`{one.name}`" in text, one.name
    for key in EDITIONS:
        assert f"{edition(key).pack_days} days" in text
    for field in ("does", "also", "part_of", "status", "edition", "scope"):
        assert f"`{field}`" in text


def test_the_room_is_read_without_anything_heavy():
    """Every module of the room loads, and the names it hands out are there."""
    assert {one.name for one in pkgutil.iter_modules(collop.rules.__path__)} >= set(MINE)
    for name in collop.rules.__all__:
        assert getattr(collop.rules, name) is not None
