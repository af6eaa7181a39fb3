"""Cuts are found by the names of other regions."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from collop.reference.cuts import cut_rows
from collop.reference.other_names import other_names
from collop.shop import StillClock, create_shop
from collop.web import create_app

#: What a customer says, and the line of the demo shop it is. The names stand in the table
#: cut_catalogue.csv, whose rows are from memory: a search, never a claim.
SAID = [("onglet", "Beef hanger and skirt"), ("ground beef", "Beef mince, 20 % fat"),
        ("center sirloin", "Beef rump")]  # fmt: skip


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    """Return a client of a demo shop."""
    path = tmp_path_factory.mktemp("names") / "shop.db"
    shop = create_shop(f"sqlite:///{path}", demo=True, clock=StillClock())
    with shop, TestClient(create_app(shop)) as made:
        yield made


@pytest.mark.parametrize(("said", "name"), SAID)
@pytest.mark.parametrize("page", ["/case", "/sell", "/tickets"])
def test_a_find_field_knows_the_other_names_of_a_cut(client, page, said, name):
    """The line is shown for a name that stands nowhere in its own; another line is not."""
    assert said not in name.casefold()
    answer = client.get(page, params={"find": said})
    assert re.search(rf">\s*{name}\s*<", answer.text)
    assert not re.search(r">\s*Lamb breast and riblets\s*<", answer.text)


@pytest.mark.parametrize(("said", "name"), SAID)
@pytest.mark.parametrize("page", ["/free-by", "/board"])
def test_a_page_that_finds_as_one_types_holds_the_other_names(client, page, said, name):
    """The script of the find field reads ``data-find``: the row of the line has it, no other."""
    rows = re.findall(r'<tr[^>]* data-find="([^"]*)".*?</tr>', client.get(page).text, re.DOTALL)
    holding = [row for row in re.findall(r"<tr.*?</tr>", client.get(page).text, re.DOTALL)
               if said in row.partition(">")[0].casefold()]  # fmt: skip
    assert rows
    assert any(name in row for row in holding)
    assert not any("Lamb breast" in row for row in holding)


def test_other_names_are_of_the_same_kind_of_meat_and_from_the_catalogue():
    """Each name is of a row of that species; another species, or no telling word, finds none."""
    of_beef = {name for row in cut_rows() if row.species == "beef"
               for name in (row.name, *row.other_names)}  # fmt: skip
    for _said, name in SAID:
        assert set(other_names("beef", name)) <= of_beef
        assert other_names("duck", name) == ()
    assert other_names("beef", "Beef") == ()
    assert other_names("beef", "") == ()
