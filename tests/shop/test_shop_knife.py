"""Under the knife: start = parts + left, at every moment, and a close only when the bar is full."""

from __future__ import annotations

from fractions import Fraction

import pytest
from wished import case_line, free_lb, lb

from collop.errors import BadValue, NotEnoughFree, NotFound, WrongState
from collop.measures import Weight
from collop.shop import NewDelivery, NewPart, NewPiece, NewStyle
from collop.shop.demo_rail import demo_table

LOSS = NewPart("Loss", "loss", "drip", Fraction("0.01"))
SHEET = {row["part"]: lb(row["lb"]) for row in demo_table("break_b41f.csv")}


def parts_of(cut):
    return {part.name: part.id for part in cut.style.parts}


def weigh_all(shop, cut, sheet, **more):
    for step, (name, weight) in enumerate(sheet.items()):
        cut = shop.cutting.weigh_part(
            cut.number, parts_of(cut)[name], weight, by="marek", key=f"{more.get('k', 'w')}{step}"
        )
    return cut


@pytest.fixture
def cut(monday):
    return monday.cutting.start_break("B-41F", "fore", by="marek", key="start")


def at(shop, place):
    return sum(one.weight.count for one in shop.cutting.stock() if one.place == place)


def test_monday_s_forequarter_closes_to_the_last_count(monday, cut):
    """166.7 lb = parts + bone + fat + trim + loss; case and trim rise by what was weighed."""
    before = {line.id: line.on_hand for line in monday.case()}
    cut = weigh_all(monday, cut, SHEET)
    assert cut.left == lb("1.8")
    cut = monday.cutting.close_break(cut.number, by="marek", key="close")
    assert (cut.is_open, cut.left, cut.loss) == (False, lb("0"), lb("1.8"))
    assert cut.weighed + cut.loss == lb("166.7")
    rise = {line.id: line.on_hand - before[line.id] for line in monday.case()}
    assert {name for name, weight in rise.items() if weight} == {"C07", "C08", "C09", "C10", "C15"}
    assert sum(weight.count for weight in rise.values()) == lb("47").count
    assert at(monday, "trim") == lb("38.6").count
    assert (at(monday, "bone"), at(monday, "fat")) == (lb("27.4").count, lb("11.9").count)
    assert (case_line(monday, "C09").days_left, free_lb(monday, "C09")) == (6, "12.00")


def test_more_than_is_left_is_an_untared_pan(monday, cut):
    """160.7 lb and then 12 lb is 6 lb too much; nothing is written."""
    trim = parts_of(cut)["Trim"]
    cut = monday.cutting.weigh_part(cut.number, trim, lb("160.7"), by="marek", key="a")
    with pytest.raises(BadValue, match=r"That is 6\.00 lb too much.*Pan not tared\?"):
        monday.cutting.weigh_part(cut.number, trim, lb("12"), by="marek", key="b")
    assert monday.cutting.break_(cut.number).left == lb("6")


def test_a_last_part_within_scale_error_is_found_by_the_scale(monday, cut):
    """0.03 lb over what is left is the scale's own error: it is weight that was found."""
    trim = parts_of(cut)["Trim"]
    cut = monday.cutting.weigh_part(cut.number, trim, lb("160.7"), by="marek", key="a")
    cut = monday.cutting.weigh_part(cut.number, trim, lb("6.03"), by="marek", key="b")
    assert cut.left == lb("0")
    assert at(monday, "trim") == lb("166.73").count
    done = monday.cutting.close_break(cut.number, by="marek", key="c", why="all ground")
    assert done.loss == lb("0")


def test_what_a_weighing_found_is_gone_when_it_is_taken_back(monday, cut):
    """Nothing appears from nowhere: 6.03 lb of 6 lb left, taken back, leaves 6 lb again."""
    trim = parts_of(cut)["Trim"]
    monday.cutting.weigh_part(cut.number, trim, lb("160.7"), by="marek", key="a")
    for turn in range(5):
        cut = monday.cutting.weigh_part(cut.number, trim, lb("6.03"), by="marek", key=f"w{turn}")
        cut = monday.cutting.take_back(
            cut.number, cut.weighings[-1].seq, by="marek", key=f"t{turn}"
        )
        assert cut.left == lb("6")
    assert monday.cutting.flow("B-41F").into == lb("326")


def test_the_scale_finds_no_more_than_its_error_however_often(monday, cut):
    """What it found before counts: a bar that is full stays full."""
    trim = parts_of(cut)["Trim"]
    monday.cutting.weigh_part(cut.number, trim, lb("166.7"), by="marek", key="a")
    monday.cutting.weigh_part(cut.number, trim, lb("0.08"), by="marek", key="b")
    with pytest.raises(BadValue, match="too much"):
        monday.cutting.weigh_part(cut.number, trim, lb("0.08"), by="marek", key="c")


def test_a_wrong_tile_is_asked_about(monday, cut):
    """The bone on the tile of the blade steaks: it asks once; sure is sure."""
    blade = parts_of(cut)["Blade steaks"]
    with pytest.raises(BadValue, match="right tile") as asked:
        monday.cutting.weigh_part(cut.number, blade, lb("26.4"), by="marek", key="a")
    assert asked.value.where == "sure"
    cut = monday.cutting.weigh_part(cut.number, blade, lb("26.4"), by="marek", key="b", sure=True)
    assert cut.weighed == lb("26.4")


def test_a_full_bar_without_its_bone_is_asked_about(monday, cut):
    """Weights that close are not all: the bone lies on another tile."""
    sheet = {name: w for name, w in SHEET.items() if name not in {"Bone", "Trim"}}
    cut = weigh_all(monday, cut, sheet | {"Trim": lb("66")})
    assert monday.cutting.judge(cut.number).closes
    with pytest.raises(WrongState, match="is full, but: Not weighed yet: Bone"):
        monday.cutting.close_break(cut.number, by="marek", key="x")


def test_a_piece_with_nothing_weighed_goes_back_on_the_rail(monday, cut):
    """A wrong start is put right; after the first part it is not."""
    back = monday.cutting.put_back(cut.number, by="marek", key="b")
    assert not back.is_open
    piece = next(one for one in monday.rail() if one.tag == "B-41F")
    assert piece.weight_now == lb("166.7")
    with pytest.raises(WrongState, match="start it again"):
        monday.cutting.reopen_break(cut.number, by="marek", key="c", why="x")
    again = monday.cutting.start_break("B-41F", "fore", by="marek", key="d")
    trim = parts_of(again)["Trim"]
    monday.cutting.weigh_part(again.number, trim, lb("1"), by="marek", key="e")
    with pytest.raises(WrongState, match="take them back first"):
        monday.cutting.put_back(again.number, by="marek", key="f")


def test_a_forgotten_barrel_keeps_the_break_open_until_it_is_said(monday, cut):
    """Without the bone 29.2 lb are missing: it asks; with a reason it closes and keeps it."""
    cut = weigh_all(monday, cut, {name: w for name, w in SHEET.items() if name != "Bone"})
    assert not monday.cutting.judge(cut.number).closes
    with pytest.raises(WrongState, match=r"29\.20 lb"):
        monday.cutting.close_break(cut.number, by="marek", key="x")
    assert monday.cutting.break_(cut.number).is_open
    done = monday.cutting.close_break(cut.number, by="marek", key="y", why="dog man took the bone")
    assert (done.loss, done.why) == (lb("29.2"), "dog man took the bone")


def test_half_way_through_it_says_what_is_still_to_be_weighed(monday, cut):
    """Five parts usually weigh what is missing: that is likelier than any slip of the pen."""
    first = {name: SHEET[name] for name in ("Brisket", "Shin on the bone", "Short ribs", "Trim")}
    cut = weigh_all(monday, cut, first)
    (likely, *_) = monday.cutting.judge(cut.number).likely
    assert likely.kind == "unweighed"
    assert likely.sentence.startswith("Not weighed yet: Chuck eye steaks, usually 7.00 lb; Blade")
    assert likely.sentence.endswith("; and 1 more.")


def test_a_weighing_taken_back_is_on_the_block_again(monday, cut):
    """Nothing is deleted: the weighing stays in the list, marked, and the lot is empty."""
    cut = monday.cutting.weigh_part(
        cut.number, parts_of(cut)["Short ribs"], lb("12"), by="marek", key="a"
    )
    seq = cut.weighings[-1].seq
    cut = monday.cutting.take_back(cut.number, seq, by="marek", key="b", why="wrong tile")
    assert [(one.weight, one.taken_back) for one in cut.weighings] == [(lb("12"), True)]
    assert (cut.left, cut.parts) == (lb("166.7"), ())
    assert free_lb(monday, "C09") == "0.00"
    with pytest.raises(WrongState, match="already"):
        monday.cutting.take_back(cut.number, seq, by="marek", key="c")
    with pytest.raises(NotFound, match="no such weighing"):
        monday.cutting.take_back(cut.number, 999, by="marek", key="d")


def test_what_is_promised_cannot_be_taken_back(shop):
    """The short ribs of the demo's break hang partly on H8: release it first."""
    shop.cutting.reopen_break(1, by="ines", key="o", why="wrong tile")
    ribs = next(one for one in shop.cutting.break_(1).parts if one.part == "Short ribs")
    with pytest.raises(WrongState, match="no longer whole"):
        shop.cutting.take_back(1, ribs.seq, by="ines", key="t")
    shop.release("H8", by="ines", key="r", why="moved")
    assert shop.cutting.take_back(1, ribs.seq, by="ines", key="u").left == lb("13.8")


def test_a_closed_break_is_opened_with_a_reason_and_its_loss_is_back_on_the_block(shop):
    """Closing again writes a new loss; each step stays in the record."""
    with pytest.raises(WrongState, match="closed"):
        shop.cutting.weigh_part(1, shop.cutting.break_(1).style.parts[0].id, lb("1"), by="ines",
                                key="a")  # fmt: skip
    with pytest.raises(BadValue, match="Say why"):
        shop.cutting.reopen_break(1, by="ines", key="b", why=" ")
    cut = shop.cutting.reopen_break(1, by="ines", key="c", why="shin forgotten")
    assert (cut.is_open, cut.left) == (True, lb("1.8"))
    with pytest.raises(WrongState, match="open already"):
        shop.cutting.reopen_break(1, by="ines", key="d", why="again")
    shop.cutting.weigh_part(1, parts_of(cut)["Trim"], lb("0.8"), by="ines", key="e")
    assert shop.cutting.close_break(1, by="ines", key="f").loss == lb("1.0")


def test_an_empty_break_is_not_closed(monday, cut):
    """Put the first part on the scale."""
    with pytest.raises(WrongState, match="Nothing of B-41F is weighed yet"):
        monday.cutting.close_break(cut.number, by="marek", key="x", why="because")


def test_start_weighs_the_piece_and_asks_for_a_style_that_cuts_it(monday):
    """What the scale says less than the rail is shrink, not loss at the block."""
    with pytest.raises(BadValue, match="choose another style"):
        monday.cutting.start_break("B-41F", "lamb", by="marek", key="a")
    with pytest.raises(NotFound, match="no cutting style"):
        monday.cutting.start_break("B-41F", "none", by="marek", key="b")
    cut = monday.cutting.start_break("B-41F", "fore", by="marek", key="c", weight=lb("166.2"))
    assert cut.start == lb("166.2")
    with pytest.raises(WrongState, match="does not hang"):
        monday.cutting.start_break("B-41F", "fore", by="marek", key="d")
    assert [one.number for one in monday.cutting.open_breaks()] == [cut.number]
    with pytest.raises(NotFound, match="no break 99"):
        monday.cutting.break_(99)


def test_nothing_and_parts_of_other_styles_are_not_weighed(monday, cut):
    """A tile of another style, the loss, and no weight at all are refused."""
    other = monday.cutting.style("hind").parts[0].id
    loss = parts_of(cut)["Loss"]
    for part in (other, loss):
        with pytest.raises(NotFound, match="no such part"):
            monday.cutting.weigh_part(cut.number, part, lb("1"), by="marek", key=f"p{part}")
    with pytest.raises(BadValue, match="weighs nothing"):
        monday.cutting.weigh_part(cut.number, parts_of(cut)["Trim"], lb("0"), by="marek", key="z")


def test_same_key_weighs_once(monday, cut):
    """A touch that is sent twice is one weighing."""
    trim = parts_of(cut)["Trim"]
    for _ in range(2):
        cut = monday.cutting.weigh_part(cut.number, trim, lb("5"), by="marek", key="same")
    assert len(cut.parts) == 1


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ([], "needs parts"),
        ([NewPart("x", "cut", "block", Fraction(1))], "from 2 to 100"),
        ([NewPart("x", "cut", "block", Fraction("0.9")), LOSS], "add up to 0.9100, not 1"),
        ([NewPart("x", "meat", "block", Fraction(1)), LOSS], "none of cut"),
        ([NewPart("x", "trim", "case", Fraction(1)), LOSS], "goes to trim"),
        ([NewPart("x", "cut", "rail", Fraction(1)), LOSS], "goes to case or block"),
        ([NewPart("x", "cut", "case", Fraction(1)), LOSS], "names its case line"),
        ([NewPart("x", "cut", "case", 1 - LOSS.share, "C99"), LOSS], "no case line C99"),
        ([NewPart("x", "cut", "case", 1 - LOSS.share, "C01"), LOSS], "is lamb, not beef"),
        ([NewPart(" ", "cut", "block", Fraction(1)), LOSS], "needs a name"),
        ([NewPart("x" * 121, "cut", "block", Fraction(1)), LOSS], "up to 120 letters"),
        ([NewPart("x", "cut", "block", Fraction(1), None, 731), LOSS], "from 0 to 730"),
        ([NewPart("x", "cut", "block", Fraction(-1)), LOSS], "zero or more"),
        ([NewPart("x", "cut", "block", Fraction(1, 2))] * 2, "one name"),
    ],
)
def test_a_style_that_does_not_close_is_refused(shop, parts, words):
    """The shares of a style add up to 1 with the loss, and each kind has its place."""
    with pytest.raises(BadValue, match=words):
        shop.cutting.add_style(
            NewStyle("mine", "beef", "beef side", "Mine", parts), by="ines", key="k"
        )
    rest = NewPart("x", "trim", "trim", 1 - LOSS.share)
    ok = NewStyle("mine", "beef", "beef side", "Mine", [rest, LOSS])
    assert shop.cutting.add_style(ok, by="ines", key="k2").saleable_share == rest.share
    with pytest.raises(BadValue, match="already"):
        shop.cutting.add_style(ok, by="ines", key="k3")


def take_in(shop, tag, species, what, piece, weight):
    shop.cutting.receive(
        NewDelivery(tag, species, "a farm", [NewPiece(tag, what, piece, lb(weight))], lb(weight),
                    papers=("inspection mark", "invoice"), not_measured_because="demo"),
        by="ines", key=f"door {tag}",
    )  # fmt: skip


def test_birds_are_weighed_one_by_one(shop):
    """A case line sold by the piece takes each piece's own weight."""
    take_in(shop, "K-1", "chicken", "crate of two", "whole chicken", "8.3")
    box = NewStyle("birds", "chicken", "whole chicken", "Whole", [
        NewPart("Bird", "cut", "case", 1 - LOSS.share, "C23", 4), LOSS
    ])  # fmt: skip
    shop.cutting.add_style(box, by="ines", key="s")
    cut = shop.cutting.start_break("K-1", "birds", by="ines", key="a")
    part = cut.style.parts[0].id
    with pytest.raises(BadValue, match="whole piece"):
        shop.cutting.weigh_part(cut.number, part, lb("8.2"), by="ines", key="b")
    with pytest.raises(BadValue, match="do not add up"):
        shop.cutting.weigh_part(cut.number, part, lb("8.2"), by="ines", key="c", pieces=[lb("4")])
    before = len(case_line(shop, "C23").piece_lb)
    shop.cutting.weigh_part(
        cut.number, part, lb("8.2"), by="ines", key="d", pieces=[lb("4.0"), lb("4.2")]
    )
    assert len(case_line(shop, "C23").piece_lb) == before + 2
    # one named bird is binned, no other
    shop.cutting.bin("K-1.01", "case", by="ines", key="e", why="dropped", weight=lb("4.2"))
    with pytest.raises(NotEnoughFree, match=r"in pieces of 4\.00 lb"):
        shop.cutting.bin("K-1.01", "case", by="ines", key="f", why="dropped", weight=lb("1"))


def test_a_goat_is_not_cut_by_a_beef_style(shop):
    """Species and piece must both be those of the style."""
    take_in(shop, "G-9", "goat", "side", "beef side", "20")
    with pytest.raises(BadValue, match="choose another style"):
        shop.cutting.start_break("G-9", "side", by="ines", key="a")


def test_trim_is_put_in_the_case_and_keeps_its_animal(shop):
    """10 lb of the forequarter's trim become mince: a new lot that traces to the farm."""
    lot = shop.cutting.put_in_case("B-41F.07", "trim", "C11", by="marek", key="p",
                                   weight=lb("10"), keeps_days=1)  # fmt: skip
    assert at(shop, "trim") == lb("28.6").count
    assert shop.cutting.trace(lot).origins[0].tag == "B-41"
    assert case_line(shop, "C11").on_hand == lb("42")
    for args, error in [
        (("B-41F.07", "trim", "C02"), BadValue),
        (("B-41F.07", "fat", "C11"), BadValue),
        (("B-41F.07", "trim", "C99"), NotFound),
        (("B-41F.07", "trim", "C34"), BadValue),
        (("B-41F.07", "trim", "C30"), BadValue),
        (("B-41F.08", "trim", "C11"), BadValue),
    ]:
        with pytest.raises(error):
            shop.cutting.put_in_case(*args, by="marek", key=str(args))
    with pytest.raises(NotEnoughFree, match="is free at trim"):
        shop.cutting.put_in_case("B-41F.07", "trim", "C11", by="m" "arek", key="q",
                                 weight=lb("30"))  # fmt: skip


def test_what_waited_too_long_is_not_put_in_the_case(shop, clock):
    """Its days count from the knife, and a lot past its own day is refused."""
    clock.put(clock.now().replace(day=13))
    with pytest.raises(WrongState, match="was cut on 08 Jun and Beef mince, 20 % fat keeps 1 days"):
        shop.cutting.put_in_case("B-41F.07", "trim", "C11", by="marek", key="p")
    clock.put(clock.now().replace(day=15))
    with pytest.raises(WrongState, match="was to be used by 2026-06-14: bin it"):
        shop.cutting.put_in_case("B-41F.06", "block", "C07", by="marek", key="q")
    clock.put(clock.now().replace(day=12))
    lot = shop.cutting.put_in_case("B-41F.06", "block", "C07", by="marek", key="r", keeps_days=6)
    assert {one.lot_id: one.use_by.day for one in shop.cutting.stock() if one.use_by}[lot] == 14


def test_what_is_binned_leaves_and_what_is_promised_stays(shop):
    """Bone goes out with a reason; booked weight cannot be binned."""
    shop.cutting.bin("B-41F.09", "bone", by="kofi", key="b", why="collected")
    assert at(shop, "bone") == 0
    with pytest.raises(BadValue, match="Say why"):
        shop.cutting.bin("B-41F.07", "trim", by="kofi", key="c", why="")
    with pytest.raises(BadValue, match="from booked"):
        shop.cutting.bin("B-41F.01", "booked", by="kofi", key="d", why="x")
    with pytest.raises(BadValue, match=r"nothing of B-41F\.01"):
        shop.cutting.bin("B-41F.01", "case", by="kofi", key="e", why="all promised")
    shop.cutting.bin("B-41F.07", "trim", by="kofi", key="f", why="dropped", weight=lb("0.6"))
    assert at(shop, "trim") == lb("38").count


def test_a_count_writes_the_gap(shop):
    """Less is drip, more is found, and what is promised is never counted away."""
    less = shop.cutting.count_case("C13", lb("10.8"), by="dot", key="a")
    assert (less.expected, less.gap) == (lb("11"), lb("-0.2"))
    assert free_lb(shop, "C13") == "6.80"
    with pytest.raises(BadValue, match="count again"):
        shop.cutting.count_case("C13", lb("100"), by="dot", key="z")
    more = shop.cutting.count_case("C13", lb("10.9"), by="dot", key="b")
    assert (more.gap, free_lb(shop, "C13")) == (lb("0.1"), "6.90")
    same = shop.cutting.count_case("C13", lb("10.9"), by="dot", key="c")
    assert same.gap == Weight.zero()
    with pytest.raises(NotEnoughFree, match="is promised"):
        shop.cutting.count_case("C13", lb("3"), by="dot", key="d", sure=True)
    with pytest.raises(WrongState, match="whole piece"):
        shop.cutting.count_case("C23", lb("60"), by="dot", key="e")
    with pytest.raises(NotFound, match="no case line"):
        shop.cutting.count_case("C99", lb("3"), by="dot", key="f")
    with pytest.raises(BadValue, match="zero or more"):
        shop.cutting.count_case("C13", lb("-3"), by="dot", key="g")


def test_a_bin_of_trim_is_counted_too(shop):
    """A lot outside the case is counted at its place."""
    found = shop.cutting.count_lot("B-41F.07", "trim", lb("38.4"), by="dot", key="a")
    assert (found.gap, at(shop, "trim")) == (lb("-0.2"), lb("38.4").count)
    more = shop.cutting.count_lot("B-41F.07", "trim", lb("38.5"), by="dot", key="b")
    assert more.gap == lb("0.1")
    with pytest.raises(BadValue, match="by its case line"):
        shop.cutting.count_lot("B-41F.01", "case", lb("1"), by="dot", key="c")
    with pytest.raises(BadValue, match="zero or more"):
        shop.cutting.count_lot("B-41F.07", "trim", lb("-1"), by="dot", key="d")
    with pytest.raises(WrongState, match=r"Nothing of B-41F\.07 is at rail"):
        shop.cutting.count_lot("B-41F.07", "rail", lb("1"), by="dot", key="e")
