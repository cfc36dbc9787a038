"""/metrics, read by the format's own reference parser (prometheus-client's)."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from prometheus_client.parser import text_string_to_metric_families
from sqlalchemy import text

import bot
from bot.web.app import create_app
from bot.web.metrics import BOUNDS, Counted
from tests.gateways.asking import OLD_SECRET, signed
from tests.web.office import HUNTER, RICH, open_office
from tests.web.test_webhook import BARE, post

TOKEN = "a token for tests and nothing else"


@pytest.fixture
def place(tmp_path):
    with open_office(tmp_path) as office:
        wiring = office.app.extensions["bushpost"]
        settings = replace(wiring.settings, metrics_token=TOKEN)
        office.app = create_app(replace(wiring, settings=settings))
        office.app.testing = False
        yield office


def ask(place, token=TOKEN):
    return place.app.test_client().get("/metrics", headers={"Authorization": f"Bearer {token}"})


def samples(place):
    told = text_string_to_metric_families(ask(place).get_data(as_text=True))
    return {
        (s.name, *sorted(v for k, v in s.labels.items() if k != "process")): s.value
        for family in told
        for s in family.samples
    }


def test_without_the_setting_there_is_no_such_page(tmp_path):
    with open_office(tmp_path) as office:
        assert ask(office).status_code == 404


@pytest.mark.parametrize("token", ["", "another", TOKEN + "x"])
def test_without_the_token_nothing_is_told(place, token):
    answer = ask(place, token)
    assert (answer.status_code, answer.data) == (401, b"")


def test_what_waits_is_counted_and_nobody_is_named(place):
    before = samples(place)
    assert before["bushpost_outbox_waiting",] == before["bushpost_outbox_oldest_seconds",] == 0
    place.text(RICH)
    place.clock.wait(90)
    after = samples(place)
    assert after["bushpost_outbox_waiting",] > 0
    assert after["bushpost_outbox_oldest_seconds",] == 90
    told = ask(place).get_data(as_text=True)
    assert HUNTER.strip("+") not in told
    assert "Brindle" not in told


def test_waits_that_ran_out_and_open_reviews_are_told(place):
    code = place.text(RICH)
    with place.database.write() as connection:
        connection.execute(
            text(
                "INSERT INTO reviews (conversation_id, reason, heard, at_once, opened_at, taken_by)"
                " SELECT id, 'software_fault', '', 0, opened_at, '' FROM conversations"
                " WHERE code = :c"
            ),
            {"c": code},
        )
    place.clock.wait(7 * 24 * 3600)
    told = samples(place)
    assert told["bushpost_timers_overdue",] > 0
    assert told["bushpost_timer_oldest_overdue_seconds",] > 0
    assert told["bushpost_reviews_open", "software_fault"] == 1
    assert told["bushpost_review_oldest_seconds",] == 7 * 24 * 3600


def test_texts_in_are_counted_by_their_answer(place):
    client = place.app.test_client()
    post(client)
    post(client, headers=dict(signed(BARE, OLD_SECRET).headers))
    told = samples(place)
    assert told["bushpost_intake_seconds_count", "200", "webhook"] == 1
    assert told["bushpost_intake_seconds_count", "403", "webhook"] == 1
    assert told["bushpost_faults_total",] == 0


def test_steps_are_cumulative_and_hold_their_upper_end():
    counted = Counted()
    for seconds in (0.001, 0.01, 0.011, 99.0):
        counted.took("chat", 303, seconds)
    lines = [line for line in counted.lines() if "_bucket" in line]
    assert [int(line.split()[-1]) for line in lines] == [2, 3, *[3] * (len(BOUNDS) - 2), 4]
    assert 'le="+Inf"' in lines[-1]


def test_every_figure_is_explained(place):
    place.text(RICH)
    page = (Path(bot.__file__).parent / "manual/metrics.md").read_text(encoding="utf-8")
    told = set(re.findall(r"# TYPE (\w+)", ask(place).get_data(as_text=True)))
    assert [name for name in told if f"`{name}" not in page] == []
    assert len(told) == 10
