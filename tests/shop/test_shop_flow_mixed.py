"""The flow of mixed mince: it balances, and weight of others comes in from a node of its own."""

from __future__ import annotations

from collections import Counter

import pytest
from making_floor import TRIM, Maker
from wished import lb

from collop.measures import Weight


@pytest.fixture
def maker(shop, clock):
    """Return somebody at a grinder that is cleaned down at 08:00 of the demo's Tuesday."""
    one = Maker(shop, clock)
    shop.day.clean_down(**one.who())
    return one


def balance(flow):
    """Return what came in and went out of each node, in counts; ends only take in."""
    into, out = Counter(), Counter()
    for link in flow.links:
        out[link.source] += link.weight.count
        into[link.target] += link.weight.count
    return into, out


def is_whole(flow):
    """Tell whether each node gives what it got, and all that came in lies at an end."""
    into, out = balance(flow)
    starts = [name for name in out if name not in into]
    middle = [name for name in out if name in into]
    ends = sum(into[name] for name in into if name not in out)
    given = sum(out[name] for name in starts)
    return all(into[name] == out[name] for name in middle) and given == ends == flow.into.count


def circles(flow):
    """Tell whether any way along the links comes back to where it began."""
    after = {}
    for link in flow.links:
        after.setdefault(link.source, set()).add(link.target)

    def comes_back(name, path):
        return name in path or any(comes_back(one, {*path, name}) for one in after.get(name, ()))

    return any(comes_back(name, set()) for name in after)


def test_mixed_mince_balances_with_a_node_for_other_lots(maker, shop):
    """Ten pounds of B-41 and five of a box, eleven in the case: 326 lb and 5 lb are all told."""
    made = maker.open("10")
    made = maker.box(made.code, "5")
    made = maker.call("produce", made.code, "C11", lb("11"))
    made = maker.call("lose", made.code, lb("1"), "dropped")
    flow = shop.cutting.flow(made.outputs[0].lot_id)
    links = {(one.source, one.target): one.weight for one in flow.links}
    assert (flow.title, flow.into) == ("B-41", lb("331"))
    assert links["from other lots", made.code] == lb("5")
    assert links["Trim", made.code] == lb("10")
    assert links[made.code, "block"] == lb("3")
    assert is_whole(flow)


def test_what_was_found_and_what_was_taken_back_balance_too(maker, shop):
    """A box taken back is not in the flow; a hundredth that the scale found is."""
    made = maker.open("4")
    made = maker.box(made.code, "2")
    made = maker.call("take_back_material", made.code, made.materials[-1].seq, "wrong box")
    made = maker.call("produce", made.code, "C11", lb("4.01"))
    flow = shop.cutting.flow(TRIM)
    into, out = balance(flow)
    assert "from other lots" not in out
    assert flow.into == lb("326.01")
    assert into["Beef mince, 20 % fat"] == Weight.of("4.01", lb("1").unit).count


def test_mince_that_is_ground_again_makes_no_circle(maker, shop):
    """A pack of C11 goes into the next lot, and that into C11: drawn from left to right."""
    made = maker.open("6")
    made = maker.call("produce", made.code, "C11", lb("6"))
    maker.clean("grinder")
    again = maker.open("2", lot=made.outputs[0].lot_id, place="case")
    again = maker.call("produce", again.code, "C11", lb("2"))
    flow = shop.cutting.flow(again.outputs[0].lot_id)
    assert is_whole(flow)
    assert not circles(flow)
    names = {one.source for one in flow.links} | {one.target for one in flow.links}
    assert {f"Beef mince, 20 % fat {one.outputs[0].lot_id}" for one in (made, again)} <= names


def test_the_links_of_monday_balance(shop):
    """The demo's links of mince, mustard and salt: the heaviest of what went in gives the name."""
    flow = shop.cutting.flow("C22-0609")
    assert (flow.title, is_whole(flow), circles(flow)) == ("Trim", True, False)
