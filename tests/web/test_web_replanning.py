"""Planning again in the background, the strip that tells of it, and worths at the counter."""

from __future__ import annotations

import doctest
import re
import shutil
import threading
import time
from datetime import date, timedelta
from decimal import Decimal
from html import unescape
from types import SimpleNamespace
from urllib.parse import parse_qs, urlsplit

import fake_kernel
import hand_plan
import pytest
from starlette.testclient import TestClient

from collop.errors import BadValue, StorageTrouble
from collop.measures import UnitPrice, Weight, WeightUnit
from collop.shop import StillClock, open_shop
from collop.shop.bench_model import PlanInWork
from collop.web import app as web_app
from collop.web import bench_worths, create_app, replanning
from collop.web.bench_state import Standing
from collop.web.bench_worths import LineWorth, plan_worths
from collop.web.rendering import Shown
from collop.web.replanning import Replanner, Replanning
from ending import that_ends

DEADLINE_S = 90
NOW = StillClock().now()
ASK = "/ask?heads=20&money=180&day=2026-06-12&time=18:30&aim=helps-the-animal"


def until(true, what):
    """Wait until something is so, or fail with what was waited for."""
    end = time.monotonic() + DEADLINE_S
    while not (found := true()):
        assert time.monotonic() < end, f"waited for {what}"
        time.sleep(0.01)
    return found


class FakeBench:
    """A bench whose version is moved by hand, and which notes what is asked of it."""

    def __init__(self):
        self.moves = 0
        self.asked = 0
        self.kept = None
        self.trouble = None
        self.hold = None
        self.steps = []

    def version(self):
        """Return the count of moves."""
        self.asked += 1
        return (self.moves,)

    def newest(self):
        """Return the plan of the last refresh."""
        return None if self.kept is None else SimpleNamespace(is_current=self.kept == self.moves)

    def refresh(self, *, step):
        """Plan: fail if there is trouble, wait if held."""
        for name in ("reading", "planning", "keeping"):
            step(name)
            self.steps.append(name)
            if name == "planning" and self.hold:
                self.hold.wait(DEADLINE_S)
            if name == "planning" and self.trouble:
                raise self.trouble
        self.kept = self.moves


@pytest.fixture
def bench():
    return FakeBench()


@pytest.fixture
def running(bench):
    """Run a replanner over the fake bench."""
    made = Replanner(SimpleNamespace(bench=bench, now=lambda: NOW), wait=0.01, poll=0.01)
    made.start()
    yield made
    if bench.hold:
        bench.hold.set()
    made.stop()


# the thread


def test_it_plans_once_and_then_only_after_a_move(bench, running):
    """A move brings one plan; looks without a move bring none."""
    until(lambda: running.state.what == "done", "the first plan")
    asked = bench.asked
    until(lambda: bench.asked > asked + 5, "further looks")
    assert bench.steps == ["reading", "planning", "keeping"]
    bench.moves = 1
    until(lambda: bench.kept == 1, "the second plan")
    assert len(bench.steps) == 6


def test_it_waits_until_the_shop_is_still_but_not_for_ever(bench):
    """Each look finds another move: it goes on waiting, six looks in all, and plans then."""
    seen = []

    def version():
        seen.append(len(bench.steps))
        return (len(seen),)

    bench.version = version
    made = Replanner(SimpleNamespace(bench=bench, now=lambda: NOW), wait=0.001, poll=60)
    made.start()
    until(lambda: bench.steps == ["reading", "planning", "keeping"], "the plan")
    made.stop()
    assert seen == [0] * 6


def test_what_it_does_is_told_step_by_step(bench, running):
    """While the kernel works the state says so, with hour and step; then it is done."""
    until(lambda: running.state.what == "done", "the first plan")
    bench.hold = threading.Event()
    bench.moves = 1
    until(lambda: running.state.step == "planning", "the kernel")
    assert running.state == Replanning("working", NOW, "planning")
    bench.hold.set()
    until(lambda: running.state == Replanning("done", NOW), "the end")


def test_what_cannot_be_planned_is_tried_again_after_a_change_only(bench, running):
    """The sentence stands; looks alone try nothing; the next move does."""
    bench.trouble = BadValue("The rail cannot be read.")
    bench.moves = 1
    until(lambda: running.state.what == "failed", "the refusal")
    assert running.state.trouble == "The rail cannot be read."
    tried, asked = len(bench.steps), bench.asked
    until(lambda: bench.asked > asked + 5, "further looks")
    assert len(bench.steps) == tried
    bench.trouble = None
    bench.moves = 2
    until(lambda: running.state.what == "done", "the next plan")
    assert bench.kept == 2


def test_a_database_that_does_not_answer_is_asked_again(bench, running):
    """No move is needed: nothing is wrong with the plan."""
    bench.trouble = StorageTrouble("The database is busy.")
    bench.moves = 1
    until(lambda: running.state.what == "failed", "the trouble")
    bench.trouble = None
    until(lambda: running.state.what == "done", "the plan")
    assert bench.kept == 1


def test_an_unforeseen_fault_ends_in_a_sentence_not_in_a_dead_thread(bench, running, caplog):
    """What no code expected is logged; the screen has a sentence, and the next move is planned."""
    bench.trouble = ZeroDivisionError("x")
    bench.moves = 1
    until(lambda: running.state.what == "failed", "the fault")
    assert "could not be worked out" in running.state.trouble
    assert "planning again" in caplog.text
    bench.trouble = None
    bench.moves = 2
    until(lambda: bench.kept == 2, "the next plan")


def test_stopped_in_the_middle_it_keeps_nothing(bench, running):
    """The plan in work is let go of before it is kept, and stopping does not wait for it."""
    until(lambda: bench.kept == 0, "the first plan")
    bench.hold = threading.Event()
    bench.moves = 1
    until(lambda: running.state.step == "planning", "the kernel")
    thread = next(one for one in threading.enumerate() if one.name == "replanning")
    with that_ends():
        running.stop()
    assert thread.is_alive()
    bench.hold.set()
    thread.join(DEADLINE_S)
    assert not thread.is_alive()
    assert bench.kept == 0


def test_after_a_plan_it_rests_as_long_as_that_took(bench, monkeypatch):
    """A plan of 7 s is followed by a wait of 7 s; looks without a plan by the usual one."""
    made = Replanner(SimpleNamespace(bench=bench, now=lambda: NOW), wait=0.001, poll=3.0)
    hours, waits = iter([100.0, 107.0]), []
    monkeypatch.setattr(replanning, "time", SimpleNamespace(monotonic=lambda: next(hours)))

    def wait(seconds):
        waits.append(seconds)
        if len(waits) == 4:
            made._ending.set()
        return made._ending.is_set()

    monkeypatch.setattr(made, "_ending", threading.Event())
    monkeypatch.setattr(made._ending, "wait", wait)
    made._run()
    assert waits == [0.001, 7.0, 3.0, 3.0]


def test_a_plan_somebody_else_makes_is_waited_for(bench, running):
    """Told, and tried again without a move."""
    bench.trouble = PlanInWork("A plan is being made.")
    bench.moves = 1
    until(lambda: running.state.what == "failed", "the refusal")
    bench.trouble = None
    until(lambda: bench.kept == 1, "the plan")


def test_what_is_being_written_is_waited_for(bench, monkeypatch):
    """Stopped while it keeps a plan, it ends after that, so that no closed store is written."""
    monkeypatch.setattr(replanning, "_ENDS_WITHIN_S", 0.01)
    at_it, go_on = threading.Event(), threading.Event()

    def refresh(*, step):
        step("keeping")
        at_it.set()
        go_on.wait(DEADLINE_S)
        bench.kept = bench.moves

    bench.refresh = refresh
    made = Replanner(SimpleNamespace(bench=bench, now=lambda: NOW), wait=0.001, poll=0.01)
    made.start()
    assert at_it.wait(DEADLINE_S)
    threading.Timer(0.2, go_on.set).start()
    made.stop()
    assert bench.kept == 0


# over the real shop


@pytest.fixture
def quick(monkeypatch):
    """Let the server's own thread look without delay."""
    monkeypatch.setattr(web_app, "Replanner", lambda shop: Replanner(shop, wait=0.02, poll=0.02))


def book(client, read_page):
    """Book a spread through the pages as the counter does."""
    answer = client.get("/ask?heads=34&money=310&day=2026-06-12&time=18:30")
    held = client.post("/ask/quote", data=read_page(answer.text).form("/ask/quote"))
    place = held.headers["location"]
    form = read_page(client.get(place).text).form(place)
    form |= {"name": "Rowing club", "phone": "4471", "day": "2026-06-12", "time": "16:30",
             "by": "dot"}  # fmt: skip
    assert "done=booked" in client.post(place, data=form).headers["location"]


def test_after_a_booking_the_plan_is_a_new_one_by_itself(shop, quick, read_page):
    """Nobody asks for it: plan 1 when the shop opens, another after the booking, and it is told."""
    app = create_app(shop, answer=fake_kernel.answer, replan=True)
    with TestClient(app, follow_redirects=False) as client:

        def number_of_current():
            plan = client.get("/bench/state.json").json()["plan"]
            return plan["number"] if plan and plan["is_current"] else 0

        first = until(number_of_current, "the first plan")
        book(client, read_page)
        assert number_of_current() in {0, first + 1}
        second = until(number_of_current, "the plan after the booking")
        assert second > first
        until(lambda: client.get("/bench/state.json").json()["what"] == "done", "the end")
        assert f"Plan {second}, 08:00" in client.get("/bench/state").text
    assert app.state.replanner.state.what == "done"
    booked = {one["id"] for one in shop.bench.latest().plan["bookings"]}
    assert shop.find("Rowing club")[0].id in booked


def test_a_server_that_was_not_asked_to_stays_still(shop):
    """Without the switch, and with it but without a server's life, no thread runs."""
    with TestClient(create_app(shop)) as client:
        assert client.get("/bench/state.json").json() == {
            "what": "idle", "since": None, "step": "", "trouble": "", "plan": None,
        }  # fmt: skip
    client = TestClient(create_app(shop, replan=True))
    assert client.get("/case").status_code == 200
    assert all(one.name != "replanning" for one in threading.enumerate())
    assert shop.bench.latest() is None


# the strip


def standing(changes=(), doing=None, *, now=NOW, shown=0, current=True, number=14):
    """Return what the strip would say of a plan kept at 08:00 on Tuesday."""
    kept = SimpleNamespace(number=number, at=NOW, changes=changes, is_current=current)
    return Standing(kept, doing or Replanning(), now, shown)


@pytest.mark.parametrize(
    ("state", "words"),
    [
        (standing(), "Plan 14, 08:00"),
        (standing(now=NOW + timedelta(days=1)), "Plan 14, Tue 08:00"),
        (standing(current=False), "Plan 14, 08:00; the shop has moved since"),
        (standing(doing=Replanning("working", NOW + timedelta(minutes=3), "planning"),
                  current=False), "Plan 14, 08:00; planning again since 08:03 (planning)"),
        (standing(doing=Replanning("failed", NOW, trouble="The rail cannot be read.")),
         "Plan 14, 08:00; no newer one: The rail cannot be read."),
        (Standing(None, Replanning("working", NOW), NOW), "No plan; planning again since 08:00"),
    ],
)  # fmt: skip
def test_the_strip_says_which_plan_stands(state, words):
    """Number and hour, the day if it is another; what is in work, or why there is none newer."""
    assert state.words == words
    assert state.is_there


def test_without_a_plan_and_nothing_in_work_there_is_no_strip():
    """A new shop's pages say nothing of plans."""
    assert not Standing(None, Replanning(), NOW).is_there
    assert Standing(None, Replanning(), NOW).news == ()


def test_only_what_changed_is_told_three_of_it_and_for_ten_minutes():
    """The rest is counted; an older plan, or one whose changes the page shows, is no news."""
    changes = tuple(f"Change {number}." for number in range(5))
    told = standing(changes, now=NOW + timedelta(minutes=10))
    assert told.told == changes[:3]
    assert told.more == 2
    assert standing(changes, now=NOW + timedelta(minutes=11)).told == ()
    assert standing(changes, shown=14).told == ()
    assert standing(changes, shown=13).told == changes[:3]


@pytest.fixture
def kept(shop):
    """Put a plan written by hand into the shop."""
    shop.bench = hand_plan.HandBench()
    shop.bench.kept.changes = tuple(f"B-4{number} is broken Thu." for number in range(5))
    return shop.bench.kept


def test_the_fragment_announces_in_a_polite_region(client, kept, words):
    """One strip with a status region, the differences in it, and a link to the rest."""
    answer = client.get("/bench/state")
    assert answer.status_code == 200
    assert answer.text.count('role="status"') == 1
    text = words(answer.text)
    assert "Plan 1, 08:00" in text
    assert (
        "New in plan 1: B-40 is broken Thu. B-41 is broken Thu. B-42 is broken Thu. and 2 more"
        in text
    )
    assert "B-43" not in text
    assert '<a href="/bench/plan">and 2 more</a>' in answer.text


@pytest.mark.parametrize("shown", ["", "x", "-1", "1" * 400, "\u0662", "0"])
def test_a_number_that_is_none_is_no_number(client, kept, shown):
    """Whatever stands in the address, the strip comes."""
    answer = client.get("/bench/state", params={"shown": shown})
    assert answer.status_code == 200
    assert "New in plan 1" in answer.text


def test_the_page_of_the_plan_does_not_tell_its_changes_twice(client, kept, words):
    """There they stand in full; the strip tells when a newer plan is there."""
    page = client.get("/bench/plan").text
    assert words(page).count("B-40 is broken Thu.") == 1
    assert 'data-state="/bench/state?shown=1"' in page
    assert words(client.get("/bench/state?shown=1").text).strip() == "Plan 1, 08:00"
    kept.number, kept.changes = 2, ()
    assert "Plan 2 is there. Show it" in words(client.get("/bench/state?shown=1").text)


def test_the_strip_is_on_the_staff_s_pages_alone(client, planned_shop):
    """Bench, Plan, Case and Chalk have it; the ask, paper and what customers see have not."""
    with TestClient(create_app(planned_shop, answer=fake_kernel.answer)) as staff:
        for path in ("/bench", "/bench/plan", "/case", "/chalk", "/chalk/line/C01", "/chalk/costs"):
            assert 'id="plan-state"' in staff.get(path).text, path
        for path in (ASK, "/hook", "/bench/paper", "/board", ASK.replace("?", "/customer?")):
            assert 'id="plan-state"' not in staff.get(path).text, path


# worths at the counter


@pytest.fixture(scope="session")
def planned_file(demo_file, tmp_path_factory):
    path = tmp_path_factory.mktemp("planned") / "shop.db"
    shutil.copy(demo_file, path)
    with open_shop(f"sqlite:///{path}", StillClock()) as shop:
        shop.cutting.count_case("C01", Weight.of("90.0", WeightUnit.LB), by="ines", key="legs",
                                why="legs came in", sure=True)  # fmt: skip
        shop.bench.refresh()
    return path


@pytest.fixture
def planned_shop(planned_file, tmp_path):
    """Return the demo shop with far too much leg, and a plan that knows."""
    path = tmp_path / "planned.db"
    shutil.copy(planned_file, path)
    with open_shop(f"sqlite:///{path}", StillClock()) as opened:
        yield opened


@pytest.fixture
def counter(planned_shop):
    with TestClient(create_app(planned_shop), follow_redirects=False) as made:
        yield made


def leg_line(html):
    """Return the part of the page that is the line of leg."""
    return next(part for part in html.split('<li class="line">')[1:] if "Lamb leg" in part[:900])


def test_the_ask_marks_what_the_bench_has_over_and_says_why(counter, planned_shop, words):
    """The line of leg has the filled square, and both figures: elsewhere and on the board."""
    html = counter.get(ASK).text
    line = leg_line(html)
    assert 'class="slow"' in line
    found = plan_worths(planned_shop, NOW.date() + timedelta(days=3)).line("C01")
    worth = found.elsewhere.shown_per(WeightUnit.LB)
    assert worth < Decimal("11.20") / 2 or found.off
    said = re.search(
        r"([\d.]+) lb of lamb leg more than sells at the board by Mon: it is worth ([\d.]+) /lb"
        r" elsewhere, the board asks 11\.20 /lb\.", words(line),
    )  # fmt: skip
    assert Decimal(said[1]) == found.over.decimal(WeightUnit.LB)
    assert Decimal(said[2]) == worth
    assert "What each is worth elsewhere: by plan 1 of Tue 08:00." in words(html)


def test_the_customer_side_shows_neither_worth_nor_mark(counter, words):
    """Cuts, weights and money only, on the same spread the staff see."""
    link = unescape(re.search(r'href="(/ask/customer\?[^"]*)"', counter.get(ASK).text)[1])
    assert parse_qs(urlsplit(link).query)["plan"] == ["1"]
    html = counter.get(link).text
    assert "Lamb leg" in html
    for word in ("slow", "elsewhere", "bench", "over", "worth", "plan 1"):
        assert word not in words(html).casefold(), word
    assert 'class="slow"' not in html


def test_without_a_plan_the_ask_says_nothing_of_worths(client, words):
    """No mark beyond the slow sellers, no figure, no note."""
    text = words(client.get(ASK).text)
    assert "elsewhere" not in text
    assert "(over on the bench)" not in text


def test_a_plan_made_meanwhile_does_not_change_what_was_agreed(counter, planned_shop, read_page):
    """The form and the customer's side keep to the plan they were shown by: it books at once."""
    html = counter.get(ASK).text
    form = read_page(html).form("/ask/quote")
    assert form["plan"] == ["1"]
    shown = re.findall(r'<b class="line-name">([^<]*?)\s*<', html)
    planned_shop.release("H1", by="ines", key="off", why="called off")
    assert planned_shop.bench.refresh().number == 2
    answer = counter.post("/ask/quote", data=form)
    assert answer.status_code == 303, answer.text
    side = counter.get(ASK.replace("?", "/customer?") + "&plan=1").text
    assert re.findall(r'<th scope="row">([^<]*)</th><td>', side)[: len(shown)] == shown


def test_chalk_tells_what_one_more_is_worth(counter, planned_shop, words):
    """On the line and on the animal, with the plan's number; a hint where much is over."""
    at = plan_worths(planned_shop, NOW.date()).line("C02")
    text = words(counter.get("/chalk/line/C02").text)
    worth = f"{at.worth.shown_per(WeightUnit.LB):.2f}"
    assert f"One more lb is worth {worth} on Tue ( plan 1 )." in text
    animal = words(counter.get("/chalk/L-207").text)
    assert f"One more lb is worth {worth} on Tue ( plan 1 )." in animal
    hints = [one for one in plan_worths(planned_shop, NOW.date()).lines.items()
             if "a lower price may move it" in hint_of(planned_shop, *one)]  # fmt: skip
    assert hints
    for case_id, _ in hints[:2]:
        assert "a lower price may move it" in words(counter.get(f"/chalk/line/{case_id}").text)


def hint_of(shop, case_id, found):
    price = next(one.price for one in shop.case() if one.id == case_id)
    return found.hint(price, Shown())


def price(text):
    return UnitPrice.of(text, WeightUnit.LB)


def worth(elsewhere, off="0", left="0"):
    return LineWorth(NOW.date(), price(elsewhere), price(elsewhere),
                     Weight.of(off, WeightUnit.LB), Weight.of(left, WeightUnit.LB), "lamb leg",
                     date(2026, 6, 15))  # fmt: skip


OVER = (
    "9.00 lb of lamb leg more than sells at the board by Mon: it is worth {} /lb elsewhere, the"
    " board asks 11.20 /lb."
)
HINT = (
    "9.00 lb of lamb leg is over what sells at 11.20 /lb by Mon, and it is worth 4.10 /lb"
    " elsewhere: a lower price may move it."
)


@pytest.mark.parametrize(
    ("found", "why", "hint"),
    [
        (worth("5.60"), "", ""),
        (worth("5.59"), "It is worth 5.59 /lb elsewhere, the board asks 11.20 /lb.", ""),
        (worth("5.60", off="0.49"), "", ""),
        (worth("5.60", off="0.50", left="8.50"),
         OVER.format("5.60"), ""),
        (worth("5.60", left="9"), "", ""),
        (worth("11.20", off="9"), "", ""),
        (worth("4.10", left="9"),
         OVER.format("4.10"), HINT),
    ],
)  # fmt: skip
def test_where_the_line_is_drawn(found, why, hint):
    """Under half the price helps much; so does half a pound sold off under it."""
    assert found.why(price("11.20"), Shown()) == why
    assert found.hint(price("11.20"), Shown()) == hint


def test_a_pound_and_a_kilogram_are_told_apart():
    """10 a kg is 4.54 a lb, under half of 9.08 a lb by a hair: exact, whatever the unit."""
    a_kg = UnitPrice.of("10", WeightUnit.KG)
    found = LineWorth(NOW.date(), a_kg, a_kg, Weight.zero(), Weight.zero(), "leg", NOW.date())
    assert found.is_low(price("9.0718475"))
    assert not found.is_low(price("9.0718474"))


def test_the_examples_hold():
    """What the docstrings say of names is so."""
    result = doctest.testmod(bench_worths)
    assert (result.attempted > 0, result.failed) == (True, 0)


def test_what_a_lower_price_sells_more_is_over_the_rest_is_not(shop, monkeypatch):
    """12.0 lb sell at the board; at 0.9 of it 12.0 / 0.9^1.5 = 14.055 do: 2.055 lb are over.

    Worked by hand: 0.9^1.5 = 0.853815, 14.055 x (1 - 0.853815) = 2.0546.
    """
    plan = {
        "days": ["2026-06-09"], "unit": "lb", "currency": "USD",
        "cuts": [{"id": "a", "name": "Beef shin", "worth": ["-1"], "parting": ["-2"],
                  "ground": "1.5", "spoilt": "0.25", "left": "3",
                  "days": [{"booked": "0", "sold": "14.055", "ground": "1.5", "spoilt": "0.25",
                            "on_hand": "3", "at": [{"step": "0.9", "weight": "14.055"}]}]}],
    }  # fmt: skip
    asked = {"cuts": [{"id": "a", "elasticity": 1.5, "species": "beef"}]}
    kept = SimpleNamespace(number=3, at=NOW, plan=plan, problem=asked)
    monkeypatch.setattr(shop.bench, "latest", lambda _number=None: kept)
    found = plan_worths(shop, NOW.date()).line("a")
    assert (found.name, found.last) == ("beef shin", NOW.date())
    assert found.off == Weight.of("3.805", WeightUnit.LB)
    assert found.over == Weight.of("6.805", WeightUnit.LB)
    # what is in the way is worth nothing, not less
    assert found.worth.amount == found.elsewhere.amount == 0
