"""Cutting styles: starting shares beside the shop's own."""

from __future__ import annotations


def test_each_style_shows_its_start_and_what_our_breaks_made_of_it(client, words):
    """The forequarter has one break of our own, the lamb none."""
    text = words(client.get("/styles").text)
    assert "Forequarter for the case beef forequarter, about 120 min" in text
    assert "1 break of our own: B-41F" in text
    assert "no breaks of our own" in text
    assert "Brisket cut Beef brisket 8.4 % 8.4 % not known yet" in text


def test_starting_figures_are_taken_over_as_often_as_wanted(client, shop, words):
    """Whole duck: nobody published a table, so the figures say that they are the shop's own."""
    data = {"key": "k", "piece": "whole duck", "by": "ines"}
    assert client.post("/styles", data=data).status_code == 303
    assert "Whole duck, starting figures" in words(client.get("/styles?done=yes").text)
    (made,) = [one for one in shop.cutting.styles() if one.piece == "whole duck"]
    assert "shop" in made.source
    assert client.post("/styles", data=data | {"key": "l"}).status_code == 303
    names = [one.name for one in shop.cutting.styles() if one.piece == "whole duck"]
    assert names == ["Whole duck, starting figures", "Whole duck, starting figures 2"]


def test_a_fault_stands_beside_its_field(client, words):
    """An unknown piece, and nobody named."""
    answer = client.post("/styles", data={"key": "k", "piece": "ostrich"})
    assert answer.status_code == 422
    text = words(answer.text)
    assert "Piece" in text
    assert "choose who" in text
