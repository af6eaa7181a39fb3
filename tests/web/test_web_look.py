"""The style sheet: its size, and contrast computed from its one colour table."""

from __future__ import annotations

import re

import pytest

from collop.web.rendering import STATIC

CSS = (STATIC / "collop.css").read_text(encoding="utf-8")
COLOURS = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", CSS))

BODY_TEXT = [("ink", "paper"), ("ink", "card"), ("ink-soft", "paper"), ("ink-soft", "card"),
             ("ink", "brass-pale"), ("alert", "paper"), ("alert", "card"), ("alert", "alert-pale"),
             ("ink", "alert-pale"), ("brass", "paper"), ("brass", "card"), ("oxblood", "paper"),
             ("oxblood", "card"), ("on-oxblood", "oxblood"), ("on-oxblood", "oxblood-deep"),
             ("good", "good-pale"), ("paper", "ink")]  # fmt: skip
SHAPES = [("edge", "paper"), ("edge", "card"), ("oxblood", "card"), ("brass", "paper"),
          ("brass-pale", "oxblood")]  # fmt: skip


def luminance(colour):
    """Return the relative luminance of a colour as WCAG 2.2 defines it."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    """Return the contrast ratio of two named colours."""
    light, dark = sorted((luminance(COLOURS[one]), luminance(COLOURS[other])), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula_gives_the_published_ends():
    """White on black is 21, a colour on itself is 1."""
    assert luminance("#ffffff") == pytest.approx(1)
    assert (luminance("#ffffff") + 0.05) / (luminance("#000000") + 0.05) == pytest.approx(21)


@pytest.mark.parametrize(("text", "ground"), BODY_TEXT)
def test_body_text_has_seven_to_one(text, ground):
    """Harsh light: every text and its ground, WCAG 1.4.6."""
    assert contrast(text, ground) >= 7


@pytest.mark.parametrize(("shape", "ground"), SHAPES)
def test_borders_and_marks_have_three_to_one(shape, ground):
    """Field borders, chart lines and the slow mark, WCAG 1.4.11."""
    assert contrast(shape, ground) >= 3


def test_the_style_sheet_is_small_and_has_one_colour_table():
    """At most 25 kB; outside the table only black, white and the focus ring are named."""
    assert len(CSS.encode()) <= 25_000
    rest = CSS.replace(CSS[CSS.index(":root") : CSS.index("}", CSS.index(":root"))], "")
    assert set(re.findall(r"#[0-9a-f]{3,6}\b", rest)) <= {"#000", "#f2b705"}
    assert "url(" not in CSS
    assert "@import" not in CSS
