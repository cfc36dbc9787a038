"""What machines may ask, as it is published, and what the service really answers: schemathesis
draws requests from the description (OpenAPI 3.1.0) and holds each answer to it. No answer is a
fault of ours, whatever is asked."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, replace

import pytest
import schemathesis.openapi
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

import bot
from bot.gateways.fields import open_fields
from bot.gateways.protocol import Request
from bot.gateways.signed import Signed, open_signed
from bot.programme import GatewayRow
from bot.service.links import Links
from bot.settings import Limits
from bot.web.app import create_app
from tests.browser.furnished import NO_PAGES
from tests.gateways.asking import ENV
from tests.web.office import open_office, token_of
from tests.web.test_accounts import log_in
from tests.web.wires import HILL, client_of, make_wiring

MACHINES = {"JSON", "CSV", "GeoJSON", "GPX and GeoJSON", "plain text", "an empty answer"}
OF_A_PAGE = {"chat.news", "chat.token", "chat_kept.manifest"}
"""JSON that the hunter's own page fetches, and that changes with it."""
POSTS = {"people.give_export"}
"""What answers a POST with a file."""
TOKEN = "a token for a watchdog of tests"
FIND = "Boar, lump under the jaw with pus, 2 km N of Brindle Hut, yesterday"
QUICK = settings(
    max_examples=12,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=list(HealthCheck),
)
HELD_TO = [
    *(not_a_server_error, status_code_conformance),
    *(content_type_conformance, response_schema_conformance),
]


def described():
    return json.loads(client_of(make_wiring()).get("/openapi.json").data)


DESCRIBED = described()
OPERATIONS = [(path, method) for path, item in DESCRIBED["paths"].items() for method in item]


def test_it_is_sound_and_of_this_version():
    schema = schemathesis.openapi.from_dict(DESCRIBED)
    schema.validate()
    assert DESCRIBED["openapi"].startswith("3.1.")
    assert DESCRIBED["info"]["version"] == bot.__version__
    names = [op["operationId"] for item in DESCRIBED["paths"].values() for op in item.values()]
    assert len(set(names)) == len(names)


def takes_anything(path: str, method: str) -> bool:
    """Whether an operation takes anything that could be against its description."""
    operation = DESCRIBED["paths"][path][method]
    return "parameters" in operation or "requestBody" in operation


def plain(rule: str) -> str:
    """A route as the description writes its path."""
    for written, path in (
        ("/hear/<name>", "/hear/{gateway}"),
        ("<any('round.gpx', 'round.geojson'):name>", "{name}"),
    ):
        rule = rule.replace(written, path)
    return rule.replace("<", "{").replace(">", "}")


def test_every_machines_route_is_in_it_and_nothing_else():
    asked = {end for end, what in NO_PAGES.items() if what in MACHINES} - OF_A_PAGE | POSTS
    rules = client_of(make_wiring()).application.url_map.iter_rules()
    routes = {
        (plain(rule.rule), method.lower())
        for rule in rules
        if rule.endpoint in asked
        for method in rule.methods - {"HEAD", "OPTIONS"}
    }
    assert routes == set(OPERATIONS)


@dataclass(frozen=True)
class Trusting(Signed):
    """Our own gateway without its proof: a random signature would let nothing past it."""

    def verify(self, request: Request, now: object) -> None:
        pass


@dataclass(frozen=True)
class Asking:
    """An app, the cookie of who asks it, and what is known in it."""

    app: object
    cookie: str
    known: dict[str, str]
    form: dict[str, str]


@pytest.fixture(scope="module")
def asking(tmp_path_factory) -> Iterator[Asking]:
    """The app of a service with something in it, its limits off, and somebody who may see all."""
    with open_office(tmp_path_factory.mktemp("openapi")) as office:
        wiring = office.app.extensions["bushpost"]
        row = GatewayRow("signed", ("NEW_KEY",), options={"reports": "yes"})
        inner = open_signed("paddock", row, ENV)
        gateways = {
            "paddock": Trusting("paddock", inner.keys, report_methods=inner.report_methods),
            "hill": open_fields("hill", HILL, {"TOKEN": "hut-on-the-hill"}),
        }
        open_to_all = replace(wiring.settings, limits=Limits(0, 0, 0, 0), metrics_token=TOKEN)
        links = Links("a secret for tests only, and long enough", "https://b.example")
        intake = replace(office.intake, links=links)
        app = create_app(replace(wiring, gateways=gateways, settings=open_to_all, intake=intake))
        code, client = office.text(FIND), app.test_client()
        assert log_in(client, "ada", "brindle hut at dusk").status_code == 302
        form = {"csrf_token": token_of(client.get("/desk/people/")), "hunter": code}
        link = links.round("f1", office.clock.at)
        known = {
            "code": code,
            "zone": wiring.programme.zones[0].name,
            "token": link.rpartition("/")[2],
        }
        yield Asking(app, client.get_cookie("bushpost").value, known, form)


def drawn(asking: Asking, path: str, method: str, mode: GenerationMode):
    """Requests of one operation, by its description or against it; those by it lead somewhere."""
    schema = schemathesis.openapi.from_dict(DESCRIBED)
    schema.app = asking.app
    kept = {**asking.known, "gateway": "hill" if method == "get" else "paddock"}

    def led(case):
        for name in kept.keys() & case.path_parameters.keys():
            case.path_parameters[name] = kept[name]
        if path == "/desk/people/export":
            case.body = asking.form
        if kept["gateway"] == "hill" and path.startswith("/hear/"):
            fields = {"from": "0491570006", "id": str(case.query), "text": "boar", "key": "1"}
            case.query = {**fields, "state": "1", "token": "hut-on-the-hill"}
        return case

    strategy = schema[path][method].as_strategy(generation_mode=mode)
    return strategy.map(led) if mode is GenerationMode.POSITIVE else strategy


BY_IT, AGAINST_IT = GenerationMode.POSITIVE, GenerationMode.NEGATIVE


@pytest.mark.parametrize(("path", "method"), OPERATIONS)
def test_no_answer_is_a_fault_or_undescribed(asking, path, method):
    by_it, statuses = drawn(asking, path, method, BY_IT), set()
    against_it = drawn(asking, path, method, AGAINST_IT) if takes_anything(path, method) else by_it

    @QUICK
    @given(case=st.one_of(by_it, against_it))
    def ask(case):
        answer = case.call(
            headers={"Authorization": f"Bearer {TOKEN}"}, cookies={"bushpost": asking.cookie}
        )
        statuses.add(answer.status_code)
        case.validate_response(answer, checks=HELD_TO)

    ask()
    assert 200 in statuses
