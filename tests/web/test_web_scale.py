"""The figure on the scale: sent by the command, kept for three seconds, shown to the page."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collop.scale import State
from collop.web.scale import Pan

LEG = {"weight": "9.94", "unit": "lb", "state": "stable"}


class Seconds:
    """A clock that is moved by hand."""

    def __init__(self):
        self.now = 500.0

    def __call__(self):
        """Return the seconds."""
        return self.now


@pytest.fixture
def seconds(client):
    clock = Seconds()
    client.app.state.pan = Pan(clock)
    return clock


def test_before_any_reading_there_is_nothing_to_show(client, seconds):
    """204 and no body."""
    answer = client.get("/scale.json")
    assert (answer.status_code, answer.content) == (204, b"")


def test_a_reading_is_shown_with_its_age(client, seconds):
    """Weight in pounds as text, the scale's unit, whether it is stable, and the age."""
    assert client.post("/scale", data=LEG).status_code == 204
    seconds.now += 0.45
    seen = client.get("/scale.json").json()
    assert seen == {
        "weight_lb": "9.94", "unit": "lb", "stable": True, "age_s": 0.4,
        "state": "stable", "text": "9.94 lb", "sentence": "9.94 lb.",
    }  # fmt: skip


def test_a_reading_is_forgotten_after_three_seconds(client, seconds):
    """At three seconds it is shown, after them it may be of another piece."""
    client.post("/scale", data=LEG)
    seconds.now += 3.0
    assert client.get("/scale.json").status_code == 200
    seconds.now += 0.01
    assert client.get("/scale.json").status_code == 204


def test_a_kilogram_scale_is_shown_in_pounds_and_in_its_own_unit(client, seconds):
    """4.505 kg is 9.932 lb for the eye; the text that fills a field stays as weighed."""
    client.post("/scale", data={"weight": "4.505", "unit": "kg", "state": "stable"})
    seen = client.get("/scale.json").json()
    assert (seen["weight_lb"], seen["unit"], seen["text"]) == ("9.932", "kg", "4.505 kg")


def test_a_moving_weight_is_shown_as_not_stable(client, seconds):
    """The page may show it and must not take it."""
    client.post("/scale", data=LEG | {"state": "moving"})
    seen = client.get("/scale.json").json()
    assert (seen["stable"], seen["state"], seen["weight_lb"]) == (False, "moving", "9.94")


@pytest.mark.parametrize("state", [state for state in State if not state.weighs])
def test_a_trouble_is_shown_without_a_weight(client, seconds, state):
    """Whatever figure comes with it is dropped; the sentence says what to do."""
    assert client.post("/scale", data=LEG | {"state": state}).status_code == 204
    seen = client.get("/scale.json").json()
    assert (seen["weight_lb"], seen["unit"], seen["text"], seen["stable"]) == (
        None,
        None,
        "",
        False,
    )
    assert seen["sentence"].endswith(".")


@pytest.mark.parametrize(
    ("spoilt", "part"),
    [
        ({"state": "happy"}, "State"),
        ({"state": ""}, "State"),
        ({"unit": "ct"}, "Unit"),
        ({"weight": "ham"}, "ham"),
        ({"weight": ""}, "not a weight"),
        ({"weight": "-1"}, "cannot be"),
        ({"weight": "0"}, "cannot be"),
        ({"state": "zero"}, "cannot be"),
        ({"weight": "1e9"}, "2000 kg"),
        ({"weight": "0.00001"}, "finer"),
    ],
)
def test_a_spoilt_reading_is_refused_and_the_last_one_kept(client, seconds, spoilt, part):
    """422 with one sentence in plain text; nothing half kept."""
    client.post("/scale", data=LEG)
    answer = client.post("/scale", data=LEG | {"weight": "5.00"} | spoilt)
    assert answer.status_code == 422
    assert answer.headers["content-type"].startswith("text/plain")
    assert part in answer.text
    assert len(answer.text.strip().splitlines()) == 1
    assert client.get("/scale.json").json()["weight_lb"] == "9.94"


@pytest.mark.parametrize(
    "headers",
    [{"Origin": "http://elsewhere.example"}, {"Origin": "null"}, {"Sec-Fetch-Site": "cross-site"}],
)
def test_another_site_cannot_put_a_weight_on_the_scale(client, seconds, headers):
    """403 and no reading: the command sends neither header, a browser always one."""
    assert client.post("/scale", data=LEG, headers=headers).status_code == 403
    assert client.get("/scale.json").status_code == 204


def test_nothing_is_put_on_the_scale_by_reading(client, seconds):
    """GET with the fields of a reading changes nothing."""
    assert client.get("/scale", params=LEG).status_code in {404, 405}
    assert client.get("/scale.json").status_code == 204


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(
    st.fixed_dictionaries(
        {},
        optional={
            "weight": st.text(max_size=50) | st.decimals(allow_nan=True).map(str),
            "unit": st.sampled_from(["lb", "kg", "oz", "g", "", "ton"]),
            "state": st.sampled_from([*map(str, State), "", "x"]),
        },
    )
)
def test_any_form_is_taken_or_refused(client, seconds, form):
    """No field raises, and what is taken can be shown."""
    answer = client.post("/scale", data=form)
    assert answer.status_code in {204, 422}
    assert client.get("/scale.json").status_code in {200, 204}
