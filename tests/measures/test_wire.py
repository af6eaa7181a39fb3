"""Reading JSON: each bad value gets one sentence with its path."""

from __future__ import annotations

import json
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue, ProblemError, UnknownKey
from collop.wire import Reader, load_json


def reader(**value: object) -> Reader:
    """Return a reader that knows one key."""
    return Reader(value, "$", ["k"])


def test_a_json_object_is_read():
    """Good JSON comes back as it is."""
    assert load_json('{"a": [1, "2", null, true]}') == {"a": [1, "2", None, True]}


@pytest.mark.parametrize("name", ["NaN", "Infinity", "-Infinity"])
def test_numbers_that_are_none_are_named(name):
    """What JSON does not know is not read as a number."""
    with pytest.raises(ProblemError, match=f"{name} is not a number; write a decimal number"):
        load_json(f'{{"a": {name}}}')


def test_a_key_given_twice_is_named():
    """The later value does not win in silence."""
    with pytest.raises(ProblemError, match="The key 'a' is given twice; keep one of them"):
        load_json('{"b": {"a": 1, "a": 2}}')


def test_bad_json_names_line_and_column():
    """The place of the fault is told."""
    with pytest.raises(ProblemError, match=r"This is not JSON: .* at line 2, column 3\."):
        load_json("{\n  a: 1}")


def test_deep_nesting_is_refused():
    """A file made to exhaust the stack gets a sentence."""
    with pytest.raises(ProblemError, match="nested too deeply; flatten it"):
        load_json('{"a": ' + "[" * 100_000)


def test_a_number_too_long_to_read_is_refused():
    """Thousands of digits get a sentence."""
    with pytest.raises(ProblemError, match="too long to read; shorten it"):
        load_json('{"a": ' + "9" * 5000 + "}")


@pytest.mark.parametrize("text", ["[]", "1", '"a"', "null", "true"])
def test_a_problem_is_an_object(text):
    """Other JSON is refused."""
    with pytest.raises(ProblemError, match="must be one JSON object in braces") as caught:
        load_json(text)
    assert caught.value.where == "$"


def test_an_unknown_key_is_refused_with_its_path():
    """A misspelt key is never ignored."""
    with pytest.raises(UnknownKey, match=r"\$\.groups\[0\]\.cuont is not a known key") as caught:
        Reader({"count": 1, "cuont": 2}, "$.groups[0]", ["count"])
    assert caught.value.where == "$.groups[0].cuont"


@pytest.mark.parametrize(
    ("value", "kind"),
    [(None, "null"), (True, "true/false"), ("x", "text"), ([], "a list"), (3, "a number")],
)
def test_what_is_no_object_is_told_what_it_is(value, kind):
    """A reader stands on an object only."""
    with pytest.raises(BadValue, match=rf"^\$\.a must be an object, not {kind}\.$"):
        Reader(value, "$.a", [])


PLAIN = "write a decimal such as 4.85."
QUOTED = 'must be a decimal in quotes such as "4.85"'
SENTENCES = [
    (lambda r: r.text("k"), 5, "$.k must be text in quotes, not a number."),
    (lambda r: r.text("k"), None, "$.k must be text in quotes, not null."),
    (lambda r: r.choice("k", ["a", "b"]), "c", "$.k is 'c'; use one of a, b."),
    (lambda r: r.choice("k", ["a"]), ["a"], "$.k must be text in quotes, not a list."),
    (lambda r: r.flag("k", default=False), "yes", "$.k must be true or false, not text."),
    (lambda r: r.flag("k", default=False), 1, "$.k must be true or false, not a number."),
    (lambda r: r.whole("k", 1, 9), 1.5, "$.k must be a whole number, not a number."),
    (lambda r: r.whole("k", 1, 9), True, "$.k must be a whole number, not true/false."),
    (lambda r: r.whole("k", 1, 9), 0, "$.k is 0; it must be from 1 to 9."),
    (lambda r: r.whole("k", 1, 9), 10, "$.k is 10; it must be from 1 to 9."),
    (lambda r: r.number("k", 0, 1), "0.5", "$.k must be a number, not text."),
    (lambda r: r.number("k", 0, 1), True, "$.k must be a number, not true/false."),
    (lambda r: r.number("k", 0, 1), 1.5, "$.k is 1.5; it must be from 0 to 1."),
    (lambda r: r.number("k", 0, 1), float("inf"), "$.k is inf; it must be from 0 to 1."),
    (lambda r: r.number("k", 0, 1), float("nan"), "$.k is nan; it must be from 0 to 1."),
    (lambda r: r.decimal("k"), 4.85, f"$.k {QUOTED}, not a number."),
    (lambda r: r.decimal("k"), "x", "$.k is 'x'; write a decimal such as 4.85."),
    (lambda r: r.decimal("k"), "", "$.k is ''; write a decimal such as 4.85."),
    (lambda r: r.decimal("k"), "NaN", "$.k is 'NaN'; write a decimal such as 4.85."),
    (lambda r: r.decimal("k"), "sNaN", "$.k is 'sNaN'; write a decimal such as 4.85."),
    (lambda r: r.decimal("k"), "-Infinity", "$.k is '-Infinity'; write a decimal such as 4.85."),
    (lambda r: r.decimal("k"), "1e-999999999", f"$.k is '1e-999999999'; {PLAIN}"),
    (lambda r: r.decimal("k"), "-0.01", "$.k is -0.01; it must be zero or more."),
    (lambda r: r.decimal("k"), "1000000.01", "$.k is 1000000.01; it must be at most 1000000."),
    (lambda r: r.decimal("k", high="1"), "1.01", "$.k is 1.01; it must be at most 1."),
    (lambda r: r.items("k"), {}, "$.k must be a list, not an object."),
    (lambda r: r.texts("k"), ["a", 2], "$.k[1] must be text, not a number."),
]  # fmt: skip


@pytest.mark.parametrize(("get", "value", "sentence"), SENTENCES)
def test_each_getter_says_what_is_wrong_and_where(get, value, sentence):
    """One sentence names the path, the fault and the way out."""
    with pytest.raises(BadValue) as caught:
        get(reader(k=value))
    assert caught.value.message == sentence
    assert caught.value.where == ("$.k[1]" if "[1]" in sentence else "$.k")


GETTERS = [
    lambda r: r.text("k"),
    lambda r: r.choice("k", ["a"]),
    lambda r: r.whole("k", 0, 9),
    lambda r: r.number("k", 0, 9),
    lambda r: r.decimal("k"),
    lambda r: r.items("k"),
    lambda r: r.texts("k"),
    lambda r: list(r.each("k")),
]


@pytest.mark.parametrize("get", GETTERS)
def test_a_missing_value_is_named(get):
    """Every getter without a default asks for its key."""
    with pytest.raises(BadValue, match=r"^\$\.k is missing; add it\.$"):
        get(reader())


def test_a_long_whole_number_is_out_of_range_not_a_crash():
    """A number of four hundred digits is refused like any other."""
    with pytest.raises(BadValue, match=r"it must be from 0 to 1\."):
        reader(k=10**400).number("k", 0, 1)


def test_a_long_decimal_is_cut_in_its_sentence():
    """A long text is not thrown back whole."""
    with pytest.raises(BadValue, match="write a decimal such as") as caught:
        reader(k="1" * 5000).decimal("k")
    assert len(caught.value.message) < 100


def test_good_values_come_back_as_they_are():
    """Each getter returns the value in its type."""
    assert reader(k="a").text("k") == "a"
    assert reader(k="a").choice("k", ["a", "b"]) == "a"
    assert reader(k=True).flag("k", default=False) is True
    assert reader(k=9).whole("k", 1, 9) == 9
    assert reader(k=1).number("k", 0, 1) == 1.0
    assert reader(k=" 4.850 ").decimal("k") == Decimal("4.850")
    assert reader(k=["a", "b"]).texts("k") == ("a", "b")
    assert list(reader(k=[{}, 1]).each("k")) == [("$.k[0]", {}), ("$.k[1]", 1)]


def test_a_default_stands_for_a_missing_or_null_value():
    """Null and absence both mean the default, where there is one."""
    for one in (reader(), reader(k=None)):
        assert not one.has("k")
        assert one.text("k", None) is None
        assert one.choice("k", ["a", "b"], "b") == "b"
        assert one.flag("k", default=True) is True
        assert one.whole("k", 0, 9, None) is None
        assert one.number("k", 0, 9, 2.5) == 2.5
        assert one.decimal("k", None) is None
        assert one.texts("k", []) == ()
    assert reader(k=0).has("k")


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=10,
)


@given(JSON, st.sampled_from(GETTERS))
def test_no_value_makes_a_getter_fail_in_another_way(value, get):
    """Whatever JSON brings is read or refused with a sentence."""
    where, message = "$.k", "."
    try:
        get(reader(k=value))
    except BadValue as error:
        where, message = error.where, error.message
    assert where.startswith("$.k")
    assert message.endswith(".")


@given(st.text(max_size=80) | JSON.map(json.dumps))
def test_no_text_makes_reading_json_fail_in_another_way(text):
    """Any text is an object or one clear error."""
    message = "."
    try:
        load_json(text)
    except ProblemError as error:
        message = error.message
    assert message.endswith(".")


@pytest.mark.parametrize("text", ['{"a": "\\ud800"}', '{"\\uDFFF": 1}', '{"a": [["x\ud800"]]}'])
def test_half_a_letter_is_refused(text):
    """No file and no answer could hold it."""
    with pytest.raises(ProblemError, match="half a letter"):
        load_json(text)


def test_both_halves_are_a_letter_and_a_backslash_is_text():
    """An escaped pair is read; the six signs of an escape, themselves escaped, are text."""
    assert load_json('{"a": "\\ud83d\\ude00"}') == {"a": "\N{GRINNING FACE}"}
    assert load_json('{"a": "\\\\ud800"}') == {"a": "\\ud800"}


@pytest.mark.parametrize("key", ["\0", "a\nb", "k" * 10_000, 7])
def test_any_unknown_key_is_told_in_one_short_line(key):
    """Keys are any text, and what a program hands over may be no text at all."""
    with pytest.raises(UnknownKey) as refused:
        Reader({key: 1}, "$", ["a"])
    assert refused.value.message.isprintable()
    assert len(refused.value.message) < 200
    assert refused.value.message.endswith(".")
