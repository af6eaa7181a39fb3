"""The catalogue of Spanish, and how a sentence made elsewhere is found in it."""

from __future__ import annotations

import subprocess
import sys
from datetime import date, datetime
from pathlib import Path

import pytest
from babel.dates import get_day_names, get_month_names
from babel.messages.pofile import read_po
from hypothesis import given
from hypothesis import strategies as st

from collop.web import case_new, cook_form, permissions, rehome, sell_slip, takings, tickets_form
from collop.web.ask_form import ALLERGENS
from collop.web.locale_text import number_text, soon_text
from collop.web.standing import WEEKDAYS
from collop.words import SPOKEN, day_text, gettext, ngettext, said, speaking
from ending import that_ends

ROOT = Path(__file__).parents[2]
CATALOGUE = ROOT / "src/collop/locale/es/LC_MESSAGES/collop.po"
MOMENT = datetime(2026, 6, 13, 14, 10)  # noqa: DTZ001 -- the shop's own clock has no zone


def test_every_message_of_the_code_has_a_spanish_text_with_the_same_placeholders():
    """``scripts/words --check`` finds nothing missing, untranslated or changed."""
    run = subprocess.run([sys.executable, ROOT / "scripts/words", "--check"],
                         capture_output=True, text=True, check=False)  # fmt: skip
    assert run.returncode == 0, run.stderr[:2000]


def test_the_catalogue_is_a_po_file_of_two_forms_without_dates():
    """Another tool can read it: language, character set and forms stand in its head."""
    head = CATALOGUE.read_text(encoding="utf-8")[:600]
    assert "Plural-Forms: nplurals=2; plural=(n != 1);" in head
    assert "charset=utf-8" in head
    assert "-Date" not in head
    with CATALOGUE.open("rb") as source:
        read = read_po(source, locale="es")
    assert len(read) > 1000
    assert all(len(one.string) == 2 for one in read if isinstance(one.id, tuple))


def test_the_same_message_is_english_where_nobody_speaks_spanish():
    """English is what stands in the code; what is not known stays as it is."""
    assert gettext("Case") == "Case"
    assert said("Heads: -3 is too few; enter 1 or more.").startswith("Heads")
    with speaking("es"):
        assert gettext("Case") == "Vitrina"
        assert gettext("no such words here") == "no such words here"
        assert ngettext("day", "days", 1) == "día"
        assert ngettext("day", "days", 3) == "días"
    with speaking("tlh"):
        assert SPOKEN.get() == "en"


@pytest.mark.parametrize(
    ("english", "spanish"),
    [
        ("Heads: -3 is too few; enter 1 or more.", "Personas: -3 es muy poco; dar 1 o más."),
        # several sentences at once, and a value that is a word of the catalogue itself
        ("Sold. Money: write an amount such as 310 or 48.50.",
         "Vendido. Dinero: escribir un importe como 310 o 48.50."),
        # two values side by side: the second is the one that is known
        ("A serving on a plate costs 2.00, 60 % less than beef fillet in a wrap at 5.00.",
         "Una ración en plato cuesta 2.00, un 60 % menos que beef fillet enrollado a 5.00."),
        # a name keeps its own words, also those the catalogue knows
        ("Chicken, whole: on the table.", "Chicken, whole: en la mesa."),
        ("over the coals, rest 5 min", "sobre las brasas, reposo 5 min"),
        ("How the farrier's aunt shoes a goat", "How the farrier's aunt shoes a goat"),
    ],
)  # fmt: skip
def test_a_sentence_with_values_is_found_by_its_fixed_words(english, spanish):
    """The room makes the sentence in English; the page says it in Spanish with the same values."""
    with speaking("es"):
        assert said(english) == spanish


@given(st.text(max_size=80))
def test_any_text_goes_through_and_keeps_a_value_whole(value):
    """A value of any signs stands in the translation as it was typed, and nothing breaks."""
    with speaking("es"):
        told = said(f"{value}: write an amount such as 310 or 48.50.")
        assert isinstance(said(value), str)
    assert told.endswith("escribir un importe como 310 o 48.50.")


@pytest.mark.parametrize(
    "english",
    [
        # "of" and "at" are the fixed words of a message; the second stands within "what" and "fat"
        "The geese of the upper pound sleep much later than the ferryman thinks right at dawn",
        "Somewhat of fat is what a heron wants",
    ],
)
def test_few_fixed_words_are_not_found_in_a_sentence_made_from_others(english):
    """A sentence nobody translated stays whole: half of it in each language helps no one."""
    with speaking("es"):
        assert said(english) == english


@pytest.mark.parametrize("text", [": ; , . %(a)s and " * 5000, "x" * 10**6, "a, " * 3000, "%", ""])
def test_hostile_text_is_answered(text):
    """Long or strange text is no knot."""
    with that_ends(), speaking("es"):
        assert said(text)[:1] == text[:1]


def test_words_of_tables_are_all_in_the_catalogue():
    """Posts, ways of paying, cooking words, allergens and the like have a Spanish word."""
    tables = [permissions.POST_WORDS, sell_slip._WAYS, sell_slip._WORDS, takings._WAYS,
              cook_form.FORM_WORDS, cook_form.METHOD_WORDS, cook_form.TREATMENT_WORDS,
              rehome.WAYS, tickets_form.CODE_WORDS, case_new.COOK_AS, case_new.STYLES]  # fmt: skip
    words = {word for table in tables for word in table.values()}
    words |= {*ALLERGENS, *case_new.METHODS, *case_new.FORMS, *WEEKDAYS}
    same = {"patty"} & words  # none so far is the same word in both
    with speaking("es"):
        left = {word for word in words if word and gettext(word) == word}
    assert left <= same


def test_days_are_named_as_the_locale_data_has_them():
    """Source: Unicode CLDR, by the reference library Babel: names of days and months in Spanish."""
    days, months = get_day_names("wide", locale="es"), get_month_names("wide", locale="es")
    with speaking("es"):
        for at in range(7):
            day = date(2026, 6, 8 + at)  # a Monday is 0 in CLDR's table of Babel too
            assert day_text(day, "%A") == days[at]
        for month in range(1, 13):
            assert day_text(date(2026, month, 1), "%B") == months[month]


@pytest.mark.parametrize(
    ("form", "spanish"),
    [
        ("%A %-d %B %Y", "sábado 13 de junio de 2026"), ("%a %-d %b, %H:%M", "sáb 13 jun, 14:10"),
        ("%H:%M", "14:10"), ("%-d %B", "13 de junio"), ("%a %-d %b %Y", "sáb 13 jun 2026"),
    ],
)  # fmt: skip
def test_a_moment_is_written_in_either_language(form, spanish):
    """English is what ``strftime`` gives; Spanish joins day, month and year by its own word."""
    assert day_text(MOMENT, form) == MOMENT.strftime(form)
    with speaking("es"):
        assert day_text(MOMENT, form) == spanish


def test_hours_and_money_stay_as_the_scale_and_the_board_have_them():
    """The decimal point, two places and the parted thousands are the same in both languages."""
    assert number_text("1234.5") == "1,234.50"
    assert soon_text("2026-06-13T14:10:00") == "Sat 14:10"
    with speaking("es"):
        assert number_text("1234.5") == "1,234.50"
        assert soon_text("2026-06-13T14:10:00") == "sáb 14:10"
