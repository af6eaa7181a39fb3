"""Cuts are found by the names of other regions."""

from __future__ import annotations

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
@pytest.mark.parametrize("page", ["/case", "/sell"])
def test_a_find_field_knows_the_other_names_of_a_cut(client, page, said, name):
    """The line is shown for a name that stands nowhere in its own; another line is not."""
    assert said not in name.casefold()
    answer = client.get(page, params={"find": said})
    assert f">{name}<" in answer.text
    assert ">Lamb breast and riblets<" not in answer.text


def test_other_names_are_of_the_same_kind_of_meat_and_from_the_catalogue():
    """Each name is of a row of that species; another species, or no telling word, finds none."""
    of_beef = {name for row in cut_rows() if row.species == "beef"
               for name in (row.name, *row.other_names)}  # fmt: skip
    for _said, name in SAID:
        assert set(other_names("beef", name)) <= of_beef
        assert other_names("duck", name) == ()
    assert other_names("beef", "Beef") == ()
    assert other_names("beef", "") == ()
