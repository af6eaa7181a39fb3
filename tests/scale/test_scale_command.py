"""The command: what it prints, what it sends, and how it ends."""

from __future__ import annotations

import json
import threading
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from urllib.parse import parse_qsl

import pytest
from click.testing import CliRunner

from collop.cli.scale import Poster, scale
from collop.errors import BadValue
from collop.scale import Port, read_report

RECORDINGS = Path(__file__).parent / "recordings"
STILL = read_report(bytes.fromhex("03 04 0c fe e2 03"))
OTHER = read_report(bytes.fromhex("03 04 0c fe e5 01"))
MOVING = read_report(bytes.fromhex("03 03 0c fe e2 03"))
MOVING_ON = read_report(bytes.fromhex("03 03 0c fe e5 01"))


def run(name, *options):
    return CliRunner().invoke(scale, [str(RECORDINGS / f"{name}.txt"), *options])


@pytest.fixture
def shop_page():
    """Return a page server on a free port that notes each form and answers as told."""

    class Page(BaseHTTPRequestHandler):
        def do_POST(self):
            length = int(self.headers["Content-Length"])
            self.server.forms.append(dict(parse_qsl(self.rfile.read(length).decode())))
            self.server.asked.append((self.path, "origin" in self.headers))
            self.send_response(self.server.answer)
            self.send_header("Location", "/elsewhere")
            self.end_headers()

        def log_message(self, *_):
            """Say nothing."""

    with HTTPServer(("127.0.0.1", 0), Page) as server:
        server.forms, server.asked, server.answer = [], [], 204
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        server.address = f"http://127.0.0.1:{server.server_port}"
        yield server
        server.shutdown()
        thread.join()


def test_each_stable_reading_is_printed_once():
    """The same weight sent thrice is one line; put on again after zero it is another."""
    done = run("pounds")
    assert done.exit_code == 0
    assert done.stdout.splitlines() == ["0.00 lb", "9.94 lb", "0.00 lb", "9.94 lb"]
    assert done.stderr == ""


def test_json_lines_hold_weight_unit_and_state():
    """One object a line, the weight as a text in the unit of the scale."""
    lines = [json.loads(line) for line in run("kilograms", "--json").stdout.splitlines()]
    assert lines == [
        {"weight": "4.505", "unit": "kg", "state": "stable"},
        {"weight": "4505", "unit": "g", "state": "stable"},
        {"weight": "158.9", "unit": "oz", "state": "stable"},
    ]


def test_troubles_are_told_aside_and_reading_goes_on():
    """Sentences go to standard error; the good weight after them is printed."""
    done = run("troubles")
    assert done.exit_code == 0
    assert done.stdout.splitlines() == ["9.94 lb"]
    told = done.stderr.splitlines()
    assert len(told) == 9
    assert all(sentence.endswith(".") for sentence in told)


def test_a_scale_pulled_out_ends_with_one_sentence_and_exit_1():
    """What was read before stands printed."""
    done = run("pulled_out")
    assert done.exit_code == 1
    assert done.stdout.splitlines() == ["4.85 lb"]
    assert done.stderr.splitlines() == [
        "The scale is no longer there; check its cable, or type the weight."
    ]


def test_a_scale_that_is_not_there_is_one_sentence():
    """A missing device exits 1 with its name and no traceback, also as JSON."""
    done = CliRunner().invoke(scale, ["/dev/no-such-scale"])
    assert done.exit_code == 1
    assert len(done.stderr.splitlines()) == 1
    assert "/dev/no-such-scale" in done.stderr
    error = json.loads(CliRunner().invoke(scale, ["/dev/no-such-scale", "--json"]).stdout)
    assert error["error"]["kind"] == "bad-value"


def test_ctrl_c_ends_quietly(monkeypatch):
    """The reading before it is printed; nothing is said and the exit is 0."""
    coming = iter([bytes.fromhex("03 04 0c fe e2 03")])

    def pressed():
        report = next(coming, None)
        if report is None:
            raise KeyboardInterrupt
        return report

    monkeypatch.setattr("collop.scale.open_port", lambda _: Port(pressed))
    done = CliRunner().invoke(scale, ["/dev/scale"])
    assert (done.exit_code, done.stdout, done.stderr) == (0, "9.94 lb\n", "")


def test_the_last_reading_reaches_the_pages(shop_page):
    """The form holds weight, unit and state, and goes to /scale as no browser would send it."""
    assert run("pounds", "--post", shop_page.address).exit_code == 0
    assert shop_page.forms[-1] == {"weight": "9.94", "unit": "lb", "state": "stable"}
    assert set(shop_page.asked) == {("/scale", False)}


def test_the_pages_hear_of_a_scale_that_was_pulled_out(shop_page):
    """A state without a weight is sent without one."""
    assert run("pulled_out", "--post", shop_page.address + "/").exit_code == 1
    assert shop_page.forms[-1] == {"state": "unplugged"}


def test_readings_are_not_sent_faster_than_the_page_looks(shop_page):
    """What changes is sent at once; the same, or moving on, only after a fifth of a second."""
    now = [100.0]
    poster = Poster(shop_page.address, clock=lambda: now[0])
    for tick, reading in [(0, STILL), (0.125, STILL), (0.125, STILL), (0, MOVING),
                          (0.125, MOVING_ON), (0, STILL), (0, OTHER)]:  # fmt: skip
        now[0] += tick
        poster.offer(reading)
    sent = [(form["state"], form["weight"]) for form in shop_page.forms]
    assert sent == [("stable", "9.94"), ("stable", "9.94"), ("moving", "9.94"),
                    ("stable", "9.94"), ("stable", "4.85")]  # fmt: skip


def test_pages_that_do_not_answer_are_told_once_and_weights_still_printed():
    """The scale reads on without them, and the exit is 1 at the end."""
    done = run("pounds", "--post", "http://127.0.0.1:1")
    assert done.exit_code == 1
    assert done.stdout.splitlines() == ["0.00 lb", "9.94 lb", "0.00 lb", "9.94 lb"]
    assert "does not answer" in done.stderr
    assert "Traceback" not in done.output


@pytest.mark.parametrize("answer", [302, 403, 422, 500])
def test_a_reading_that_is_not_taken_is_told(shop_page, answer):
    """Any refusal is one sentence with its number, and no redirect is followed."""
    shop_page.answer = answer
    poster = Poster(shop_page.address)
    poster.send(STILL)
    assert f"answer {answer}" in poster.trouble
    assert [path for path, _ in shop_page.asked] == ["/scale"]


def test_pages_that_come_back_clear_the_trouble(shop_page):
    """After a refusal and a reading taken, all is well."""
    poster = Poster(shop_page.address)
    shop_page.answer = 500
    poster.send(STILL)
    shop_page.answer = 204
    poster.send(STILL)
    assert poster.trouble == ""


@pytest.mark.parametrize(
    "address",
    ["ftp://127.0.0.1", "file:///etc/hosts", "127.0.0.1:8000", "http://", "http://[::1",
     "http://127.0.0.1:99999", "http://127.0.0.1:8000/hook", "http://a:b@127.0.0.1", "", "http://é"],
)  # fmt: skip
def test_only_a_page_server_is_posted_to(address):
    """Other schemes, paths, ports and names with a password in them are refused."""
    with pytest.raises(BadValue, match="is no page server"):
        Poster(address)


def test_a_bad_address_is_refused_before_the_scale_is_opened(monkeypatch):
    """Nothing is read when the readings could not be sent."""
    opened = []
    monkeypatch.setattr("collop.scale.open_port", opened.append)
    done = CliRunner().invoke(scale, ["/dev/scale", "--post", "ftp://127.0.0.1"])
    assert (done.exit_code, opened) == (1, [])
