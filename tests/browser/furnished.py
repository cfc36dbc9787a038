"""A real service with something on every page, and where each page of the service is looked at.

Law: `PAGES` names every endpoint that gives a page, `NO_PAGES` every other that answers a GET; a
test holds both to the url map, so that no page can be forgotten by whoever adds one.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from urllib.parse import quote

from bot.fieldwork.custody import HUNTER, HandedOver, LabSaid
from bot.messages import Assigned, Heard
from bot.programme import Programme, load_programme
from bot.service.accounts import add_account
from bot.service.links import Links
from bot.service.sessions import Doors
from tests.web.running import NAME, PASSWORD, Service, now, running_service
from tests.web.wires import PROGRAMME

ADMIN = "ada"
SPITE = "<img src=x onerror=window.hurt=1><script>window.hurt=1</script>"
RICH = (
    "Boar, lump under the jaw with pus, 2 km N of Brindle Hut, yesterday, "
    f"head is at Brindle Hut in the freezer, double bagged, my name is {SPITE}"
)
TEXTS = (
    ("+61491570006", RICH),
    ("+61491570110", "Boar, lump under the jaw, Sandy Creek, yesterday"),
    ("+61491570158", f"Sow with lumps in the lungs at -36.87 147.15 yesterday {SPITE}"),
    ("+61491570159", "deer with blisters on its mouth near Tallow Saddle"),
    (
        "+61491571804",
        "Sow shot this morning, pus in the jaw gland, at -36.80 147.20. Head is with me at "
        "-36.80 147.20 in the freezer, 2 bags. State forest. Name's Jo, no jaw",
    ),
)
DAYS = "first=2026-01-01&last=2030-01-01"

PAGES: dict[str, tuple[str, ...]] = {
    "pages.front": ("/",),
    "chat.talk": ("/chat?lang=en",),
    "chat_kept.glands": ("/chat/glands?lang=es",),
    "chat_kept.leaving": ("/chat/leave?lang=en",),
    "chat_number.page": ("/chat/number?lang=fr",),
    "accounts.log_in": ("/log-in",),
    "own.page": ("/desk/own/",),
    "guests.form": ("/invited/{invited}",),
    "manual.contents": ("/manual/",),
    "manual.page": ("/manual/gateways",),
    "job.job": ("/job/{taken}", "/job/{lost}"),
    "job.specimen": ("/specimen/{label}",),
    "rounds.page": ("/round/{round}",),
    "desk.review": ("/desk/",),
    "desk.find": ("/desk/find/{a}", "/desk/find/{b}"),
    "entering.form": ("/desk/enter",),
    "entering.codes": ("/desk/codes",),
    "searching.page": ("/desk/search/?for=boar",),
    "people.page": ("/desk/people/",),
    "people.audit": ("/desk/people/audit",),
    "maps.page": (f"/desk/map/?{DAYS}",),
    "season.page": (f"/desk/season/?{DAYS}",),
    "trying.page": ("/desk/try/",),
    "custody.page": ("/desk/find/{e}/custody",),
    "laboratory.page": ("/desk/laboratory",),
    "roster.page": ("/desk/roster/",),
    "roster.member": ("/desk/roster/f1",),
    "roster.day": ("/desk/roster/f1/round",),
    "ages.page": ("/desk/find/{e}/age",),
    "evidence.page": ("/desk/evidence/",),
    "evidence.zone": (f"/desk/evidence/{quote(PROGRAMME.zones[0].name)}",),
    "evidence.letter": ("/desk/evidence/letter",),
}
"""Endpoint -> the addresses at which it is looked at; names in braces are `Furnished.names`."""

NO_PAGES = {
    "static": "files",
    "chat.news": "JSON",
    "chat.token": "JSON",
    "chat_kept.icon": "a picture",
    "chat_kept.manifest": "JSON",
    "chat_kept.worker": "a script",
    "desk.by_code": "leads on to a find",
    "desk.photo": "a picture",
    "desk.review_part": "the list alone, which the list's page loads anew",
    "evidence.months_file": "CSV",
    "evidence.places_file": "GeoJSON",
    "evidence.paper": "PDF",
    "custody.labels": "PDF",
    "laboratory.manifest_csv": "CSV",
    "laboratory.manifest_pdf": "PDF",
    "maps.one": "JSON",
    "maps.finds": "JSON",
    "maps.ground": "JSON",
    "maps.library": "scripts",
    "roster.csv": "CSV",
    "season.finds_csv": "CSV",
    "season.finds_json": "GeoJSON",
    "second_step.ask": "leads on to the log-in before a password; test_own_log_in.py looks at it",
    "metrics.metrics": "plain text",
    "pages.description": "JSON",
    "pages.alive": "plain text",
    "pages.ready": "plain text",
    "rounds.file": "GPX and GeoJSON",
    "webhook.hear": "an empty answer",
    "webhook.report": "an empty answer",
}
"""Endpoints that answer a GET with something else than a page, and with what."""

REFUSALS: tuple[tuple[str, int], ...] = (
    ("/nowhere", 404),
    ("/job/nobodys", 404),
    ("/job/{old_job}", 410),
    ("/round/{old_round}", 410),
    ("/specimen/{old_label}", 410),
    ("/invited/used", 404),
    ("/desk/find/NOB-ODY", 404),
)
"""What opens nothing, and with which status it says so."""


@dataclass(frozen=True)
class Furnished:
    """A running service and the names of what stands on its pages."""

    service: Service
    names: dict[str, str]

    def paths(self, endpoint: str) -> list[str]:
        """The addresses of an endpoint's page."""
        return [path.format(**self.names) for path in PAGES[endpoint]]


def spoken_programme() -> Programme:
    """The demo's programme with three languages, the guided look, and a landmark with a spiteful
    name."""
    files = dict(PROGRAMME.files)
    spoken = 'languages = ["en", "es", "fr"]'
    head = re.sub(r"languages = .*", spoken, files["programme.toml"])
    files["programme.toml"] = f"guided_check = true\n{head}"
    spite = SPITE.replace("window.hurt=1", "hurt=1")
    files["landmarks.csv"] = files["landmarks.csv"].replace("Settlers Road", f"{spite} Road")
    assert spite in files["landmarks.csv"]
    return load_programme(files)


@contextmanager
def furnished_service(folder: Path) -> Iterator[Furnished]:
    """The service with finds, pickups, a head on its road, a result, an age and an invitation."""
    links = Links("a secret for tests only, and long enough", "https://post.example")
    with running_service(folder, spoken_programme(), links) as service:
        yield Furnished(service, _furnish(service, links))


def _furnish(service: Service, links: Links) -> dict[str, str]:
    intake, at = service.opened.intake, now()
    add_account(intake.database, ADMIN, PASSWORD, at, "administrator")
    codes = [
        intake.hear(Heard(f"in{n}", "paddock", number, words, at), at).code
        for n, (number, words) in enumerate(TEXTS)
    ]
    a, *_, e = codes
    for code in (a, e):
        intake.tell_pickup(code, Assigned(at, NAME, "f1"), at)
    intake.tell_custody([HandedOver(at, "f1", e, HUNTER, "f1")], at)
    intake.tell_custody([LabSaid(at, "lab", e, "final", outcome="positive")], at)
    long_ago = at - timedelta(days=400)
    return {
        **dict(zip("abcde", codes, strict=True)),
        "invited": Doors(intake.database).invite("coordinator", ADMIN, at),
        "taken": _token(links.job(a, "f1", at)),
        "lost": _token(links.job(a, "f2", at)),
        "label": _token(links.specimen(e, at)),
        "round": _token(links.round("f1", at)),
        "old_job": _token(links.job(a, "f1", long_ago)),
        "old_round": _token(links.round("f1", long_ago)),
        "old_label": _token(links.specimen(e, long_ago)),
    }


def _token(link: str) -> str:
    return link.rpartition("/")[2]
