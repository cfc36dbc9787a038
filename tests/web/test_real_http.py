"""The webhook over real HTTP on the real service: what is stored, and what is not."""

from __future__ import annotations

import json
import time
from concurrent.futures import ThreadPoolExecutor

import httpx
import pytest

from tests.gateways.asking import OLD_SECRET
from tests.web.running import Service, running_service

TOO_MUCH = 2 * 1024 * 1024 + 1


@pytest.fixture(scope="module")
def service(tmp_path_factory):
    with running_service(tmp_path_factory.mktemp("service")) as service:
        yield service


def text(**changes) -> bytes:
    whole = {"id": "r1", "from": "+61491570006", "text": "x", "at": "2026-11-25T00:00:00Z"}
    return json.dumps({**whole, **changes}).encode()


def chunks():
    yield from (b"x" * 65536 for _ in range(40))


@pytest.mark.parametrize(
    ("send", "status"),
    [
        (lambda s: s.post(text(), "r1", OLD_SECRET), 403),
        (lambda s: httpx.post(f"{s.url}/hear/paddock", content=text()), 403),
        (lambda s: httpx.post(f"{s.url}/hear/chat", content=text()), 403),
        (lambda s: s.post(b"[]", "r1"), 400),
        (lambda s: s.post(text(at="now"), "r1"), 400),
        (lambda s: s.post(text(position={"lat": 1}), "r1"), 400),
        (lambda s: s.post(text(text="x" * TOO_MUCH), "r1"), 413),
        (lambda s: httpx.post(f"{s.url}/hear/paddock", content=chunks()), 413),
        (lambda s: httpx.post(f"{s.url}/hear/paddock", content=b"x" * 5_000_000), 413),
        (lambda s: httpx.get(f"{s.url}/hear/paddock"), 405),
        (lambda s: httpx.delete(f"{s.url}/hear/paddock"), 405),
        (lambda s: httpx.post(f"{s.url}/hear/nowhere", content=text()), 404),
    ],
)
def test_what_is_refused_stores_nothing(service: Service, send, status):
    before = service.stored()
    assert send(service).status_code == status
    assert service.stored() == before


def test_eight_at_once_are_one_text(service: Service):
    before = service.stored()
    with ThreadPoolExecutor(8) as many:
        answers = list(many.map(lambda _: service.post(text(id="r8"), "r8"), range(8)))
    assert [answer.status_code for answer in answers] == [200] * 8
    assert {answer.content for answer in answers} == {b""}
    assert service.stored() == before + 1


def test_eight_first_texts_at_once_are_all_kept(service: Service):
    before = service.stored()
    words = [f"r9-{number}" for number in range(8)]
    with ThreadPoolExecutor(8) as many:
        answers = list(many.map(lambda id: service.text_in("+61491570110", id, id), words))
    assert [answer.status_code for answer in answers] == [200] * 8
    assert service.stored() == before + 8


def test_a_text_is_answered_by_the_gateway_it_came_from(service: Service):
    paper = service.opened.gateways["paddock"]
    words = "Boar, lump under the jaw with pus, 2 km N of Brindle Hut, yesterday"
    assert service.text_in("0491 570 159", words, "r10").status_code == 200
    for _ in range(100):
        mine = [note for note in paper.sent if note.address.number == "+61491570159"]
        if mine:
            break
        time.sleep(0.1)
    assert mine
    assert len({note.key for note in paper.sent}) == len(paper.sent)
