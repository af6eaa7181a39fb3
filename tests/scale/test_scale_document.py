"""docs/scale.md says what the room does."""

from __future__ import annotations

import doctest
import re
from pathlib import Path

from collop.scale import State, read_recording

PAGE = Path(__file__).parents[2] / "docs" / "scale.md"


def test_every_example_of_the_page_runs():
    """Each example gives the printed answer."""
    failed, tried = doctest.testfile(str(PAGE), module_relative=False)
    assert tried > 5
    assert failed == 0


def test_the_recording_of_the_page_is_one(tmp_path):
    """The printed recording is read."""
    text = re.search(r"```\n(# collop scale recording 1\n.*?)```", PAGE.read_text(encoding="utf-8"),
                     re.DOTALL)[1]  # fmt: skip
    path = tmp_path / "page.txt"
    path.write_text(text, encoding="utf-8")
    assert [one.offset_ms for one in read_recording(path)] == [0, 120, 900]


def test_every_state_is_named():
    """The page lists the states."""
    text = PAGE.read_text(encoding="utf-8")
    for state in State:
        assert f"`{state}`" in text, state
