"""What is wrong with the dialogs or with a programme's folder, found before a hunter finds it.

Pure: loaded values in, findings out. An error must be mended before the programme serves
anybody; a warning is for a person to look at.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime, timedelta
from itertools import combinations
from typing import Literal

from msgspec import Struct
from pyproj import Geod
from shapely.geometry import Point

from bot.fieldwork.staff_dialog import PLACEHOLDERS, StaffDialog
from bot.fieldwork.staff_texts import fitted
from bot.fieldwork.travel import cut_off, is_known, network_of, spots_of
from bot.programme import Landmark, Member, Programme
from bot.reading.reasons import REASONS
from bot.reading.values import Animal, Place, Sign, When
from bot.talk.bringing import LONGEST_ADDRESS, LONGEST_DEPOT
from bot.talk.dialog import Dialog, DialogError, placeholders
from bot.talk.page_words import page_words
from bot.talk.pickup_talk import VIEWS
from bot.talk.segments import MOST_SEGMENTS, clip, outside_gsm7, segments_of, spell_for_sms
from bot.talk.state import Conversation
from bot.talk.wording import Speaker

CODE = "WWWW-WWWW"
"""Longer than any code that is drawn while codes are plenty."""
FACTS = ("kind", "channel", "species", "jaw_return", "pickup", "at_home")
"""What `ask_when` may look at; bot/talk/planning.py gives them their values."""
SAME_SPOT_M = 200
"""Two landmarks of one name as near as this are one place that is listed twice."""
_GEOD = Geod(ellps="WGS84")
_GRID = 12
_NIGHT = datetime(2026, 9, 30, 18, tzinfo=UTC)


class Finding(Struct, frozen=True):
    """One thing that is wrong, and where: a file with a key, or a file with a row."""

    weight: Literal["error", "warning"]
    where: str
    what: str


class Row(Struct, frozen=True):
    """One sentence of one language, filled with the longest values, and its price."""

    key: str
    language: str
    text: str
    segments: int


def error(where: str, what: str) -> Finding:
    """Something to mend."""
    return Finding("error", where, what)


def warning(where: str, what: str) -> Finding:
    """Something to look at."""
    return Finding("warning", where, what)


def check(dialog: Dialog, staff: StaffDialog, programme: Programme) -> tuple[Finding, ...]:
    """Every finding about a dialog with its staff dialog, as this programme uses them."""
    return (
        *check_questions(dialog),
        *check_translations(dialog, programme.head.languages),
        *check_pages(dialog, programme.head.languages),
        *check_rows(sentence_rows(dialog, programme)),
        *check_rows(staff_rows(staff, programme)),
        *check_placeholders(dialog, programme),
        *check_reasons(dialog),
        *check_people(programme),
        *check_landmarks(programme.landmarks),
        *check_tracks(programme),
    )


# ---------------------------------------------------------------------------------- questions


def check_questions(dialog: Dialog) -> Iterator[Finding]:
    """Questions that stand twice, or that no state of a conversation can lead to."""
    allowed: Mapping[str, set[str]] = {
        "kind": {*dialog.advice.kind, "head_detained", "clean", ""},
        "channel": {"sms", "chat"},
        "species": {*dialog.words.species, ""},
        "jaw_return": {"yes", "no"},
        "pickup": {*VIEWS, "none"},
        "at_home": {"yes", "no"},
    }
    keys = Counter(q.key for q in dialog.questions)
    for key, count in keys.items():
        if count > 1:
            yield error(f"report.toml: question {key}", f"stands {count} times")
    for question in dialog.questions:
        where = f"report.toml: question {question.key}"
        for fact, values in question.ask_when.items():
            if fact not in allowed:
                yield error(where, f"ask_when: there is no fact {fact!r}")
            elif not set(values) & allowed[fact]:
                yield error(where, f"never asked: {fact} is never {' or '.join(values)}")
            elif strange := sorted(set(values) - allowed[fact]):
                yield warning(where, f"ask_when: {fact} is never {', '.join(strange)}")
        if question.tries < 1:
            yield error(where, "never asked: tries is below 1")


def check_tracks(programme: Programme) -> Iterator[Finding]:
    """Lines that lead nowhere else, and bases from which nobody could drive."""
    network = network_of(programme.tracks) if programme.tracks else None
    if network is None:
        return
    if lines := cut_off(network):
        yield warning("tracks.geojson", f"{lines} stretches are cut off from the rest")
    people = tuple(m for m in programme.roster if m.role == "field")
    known = is_known(network, spots_of(network, tuple((m.lat, m.lon) for m in people)))
    for member in (m for m, near in zip(people, known, strict=True) if not near):
        yield warning("staff.csv", f"{member.id}: the base is far from every line of the tracks")


def check_reasons(dialog: Dialog) -> Iterator[Finding]:
    """Reason codes of the readers that no sentence explains."""
    for code in REASONS:
        if f"why.{code}" not in dialog.sentences["en"]:
            yield error(f"report.toml: say.why.{code}", "a reader gives this code; no sentence")


# ------------------------------------------------------------------------------- translations


def check_translations(dialog: Dialog, languages: Iterable[str]) -> Iterator[Finding]:
    """Sentences that a language of the programme lacks, has in excess, or fills otherwise."""
    english = dialog.sentences["en"]
    for language in languages:
        where = f"languages/{language}.toml"
        if language not in dialog.sentences:
            yield error(where, "missing, though the programme speaks it")
            continue
        own = dialog.sentences[language]
        for key in sorted(english.keys() - own.keys()):
            yield error(f"{where}: say.{key}", "not translated")
        for key in sorted(own.keys() - english.keys()):
            yield error(f"{where}: say.{key}", "there is no such sentence in English")
        for key in sorted(english.keys() & own.keys()):
            yield from _differs(f"{where}: say.{key}", english[key], own[key])
        for key in sorted(dialog.lists["en"].keys() - dialog.lists[language].keys()):
            yield error(f"{where}: say.{key}", "not translated")


def check_pages(dialog: Dialog, languages: Iterable[str]) -> Iterator[Finding]:
    """The same of the sentences on the hunter's pages, which each language has whole."""
    try:
        tables = page_words(dialog.files)
    except DialogError as fault:
        yield error("chat/", f"the web chat cannot be shown: {fault}")
        return
    english = tables["en"]
    for language in (code for code in languages if code != "en"):
        where = f"chat/{language}.toml"
        if language not in tables:
            yield warning(where, "missing: the web chat is not offered in this language")
            continue
        own = tables[language]
        for key in sorted(english.keys() ^ own.keys()):
            yield error(f"{where}: {key}", "not in both this language and English")
        for key in sorted(english.keys() & own.keys()):
            yield from _differs(f"{where}: {key}", english[key], own[key])


def _differs(where: str, english: str, own: str) -> Iterator[Finding]:
    missing = placeholders(english) - placeholders(own)
    strange = placeholders(own) - placeholders(english)
    if missing:
        yield error(where, f"leaves out {_braced(missing)}")
    if strange:
        yield error(where, f"names {_braced(strange)}, which English does not")


def _braced(names: Iterable[str]) -> str:
    return ", ".join(f"{{{name}}}" for name in sorted(names))


# ------------------------------------------------------------------------------------- prices


def check_placeholders(dialog: Dialog, programme: Programme) -> Iterator[Finding]:
    """Placeholders that nothing fills."""
    known = longest_values(dialog, programme, "en").keys()
    for key, sentence in dialog.sentences["en"].items():
        if strange := placeholders(sentence) - known:
            yield error(f"say.{key}", f"nothing fills {_braced(strange)}")


def check_rows(rows: Iterable[Row]) -> Iterator[Finding]:
    """Sentences that may cost too much, or that no GSM-7 spelling can carry."""
    for row in rows:
        where = f"{row.key} ({row.language})"
        if row.segments > MOST_SEGMENTS:
            yield error(where, f"{row.segments} segments when filled with the longest values")
        if strange := outside_gsm7(spell_for_sms(row.text)):
            yield error(where, f"outside GSM-7, at more than twice the price: {strange}")


def sentence_rows(dialog: Dialog, programme: Programme) -> tuple[Row, ...]:
    """Every sentence of the hunter's dialog in every language of the programme."""
    rows = []
    for language in programme.head.languages:
        if language not in dialog.sentences:
            continue
        values = _Marked(longest_values(dialog, programme, language))
        for key, sentence in dialog.sentences[language].items():
            text = sentence.format_map(values)
            rows.append(Row(key, language, text, segments_of(spell_for_sms(text))))
    return tuple(rows)


def staff_rows(staff: StaffDialog, programme: Programme) -> tuple[Row, ...]:
    """Every text to staff, shortened as it is when it is sent."""
    area = longest_values_of_place(programme)
    values = {
        "code": CODE,
        "place": area,
        "what": "W" * 90,
        "contact": "+000000000000000",
        "words": "W" * 40,
        "name": _longest(m.name for m in programme.roster),
        "coordinator": programme.head.contacts.coordinator,
        "codes": ", ".join([CODE] * 3),
        "lat": "-00.00000",
        "lon": "-000.00000",
        "km": "000",
        "minutes": "000",
        "until": "00:00",
    }
    rows = []
    for language, texts in staff.texts.items():
        for key, template in texts.items():
            wanted = PLACEHOLDERS[key.removesuffix("_visit")]
            # Each may be as long as a line of a form, where nothing closer is known of it.
            text = fitted(template, {key: values.get(key, "W" * 24) for key in wanted})
            rows.append(Row(f"staff.{key}", language, text, segments_of(text)))
    return tuple(rows)


class _Marked(dict[str, str]):
    """Values by name; a name that has none stands for itself, since another check names it."""

    def __missing__(self, key: str) -> str:
        return f"{{{key}}}"


def longest_values(dialog: Dialog, programme: Programme, language: str) -> dict[str, str]:
    """For every placeholder the longest value that this programme can put there."""
    speaker = Speaker(
        Conversation(code=CODE, started_at=_NIGHT, language=language), dialog, programme
    )
    place = longest_values_of_place(programme, speaker)
    day = max((speaker.day(_NIGHT + timedelta(days=n)) for n in range(0, 366, 5)), key=len)
    name = clip(_longest(m.name for m in programme.roster), 30)
    words = clip("wwww " * 20, 40)
    return {
        **speaker.always,
        "place": place,
        "head": place,
        "what": place,
        "animal": _longest_animal(speaker, dialog),
        "when": speaker.when(When(_NIGHT, _NIGHT + timedelta(hours=12))),
        "choices": f"1) {place}; 2) {place}",
        "choice": place,
        "today": day,
        "count": "12",
        "step": "12",
        "clear": _all_sites(speaker, dialog),
        "missed": _all_sites(speaker, dialog),
        "staff": name,
        "number": "+000000000000000",
        "words": words,
        "depot": clip(_longest(d.name for d in programme.depots), LONGEST_DEPOT),
        "address": clip(_longest(d.words for d in programme.depots), LONGEST_ADDRESS),
        "said": speaker.say("news_taken_words", words=words),
        "weekday": "Wed",
        "day": "30",
        "month": "Sep",
        "from": "18:00",
        "to": "06:00",
    }


def longest_values_of_place(programme: Programme, speaker: Speaker | None = None) -> str:
    """The longest way in which a place of the area is named, over a grid of points."""
    if speaker is None:
        return _longest(m.name for m in programme.landmarks) + ", 00.0 km NW"
    west, south, east, north = programme.area.bounds
    steps = [n / _GRID for n in range(_GRID + 1)]
    points = ((south + (north - south) * y, west + (east - west) * x) for x in steps for y in steps)
    figures = [Place(lat, lon, 100.0, "degrees") for lat, lon in points]
    named = [Place(m.lat, m.lon, 100.0, "landmark", landmark=m.name) for m in programme.landmarks]
    return _longest(speaker.place(place) for place in (*figures, *named))


def _all_sites(speaker: Speaker, dialog: Dialog) -> str:
    """Every place of the guided look, as its last text lists them."""
    both = {step.site: "both" if step.side else "" for step in dialog.check_steps}
    return ", ".join(speaker.sign(Sign(site, side)) for site, side in both.items())  # type: ignore[arg-type]


def _longest_animal(speaker: Speaker, dialog: Dialog) -> str:
    return _longest(
        speaker.animal(Animal(species, sort, count=12))
        for species, block in dialog.words.species.items()
        for sort in ("", *block.sorts)
    )


def _longest(words: Iterable[str]) -> str:
    return max(words, key=len, default="")


# ------------------------------------------------------------------------------ the programme


def check_people(programme: Programme) -> Iterator[Finding]:
    """Staff who can reach nothing, who share a number, or who are not there at all."""
    field = [m for m in programme.roster if m.role == "field"]
    if not field:
        yield error("staff.csv", "nobody with the role field")
    if not any(m.role == "coordinator" for m in programme.roster):
        yield warning("staff.csv", "nobody with the role coordinator")
    for member in field:
        yield from _out_of_place(member, programme)
    for one, other in combinations(programme.roster, 2):
        if one.number == other.number:
            yield error("staff.csv", f"{one.id} and {other.id} have the same number")


def _out_of_place(member: Member, programme: Programme) -> Iterator[Finding]:
    if programme.zone_of(member.lat, member.lon):
        return
    where = f"staff.csv: {member.id}"
    lat, lon = _nearest_point(member, programme)
    km = _GEOD.inv(member.lon, member.lat, lon, lat)[2] / 1000
    if km > member.reach_km:
        yield error(where, f"out of every zone by {km:.0f} km, with a reach of {member.reach_km:g}")
    else:
        yield warning(where, f"out of every zone by {km:.0f} km")


def _nearest_point(member: Member, programme: Programme) -> tuple[float, float]:
    edge = programme.area.boundary
    nearest = edge.interpolate(edge.project(Point(member.lon, member.lat)))
    return nearest.y, nearest.x


def check_landmarks(landmarks: tuple[Landmark, ...]) -> Iterator[Finding]:
    """One name twice: an error at one spot; at two it is a warning, since it will be asked."""
    named: dict[str, list[Landmark]] = {}
    for landmark in landmarks:
        for name in {landmark.name.casefold(), *(a.casefold() for a in landmark.also)}:
            named.setdefault(name, []).append(landmark)
    for name, places in sorted(named.items()):
        for one, other in combinations(places, 2):
            km = _GEOD.inv(one.lon, one.lat, other.lon, other.lat)[2] / 1000
            if km * 1000 <= SAME_SPOT_M:
                yield error("landmarks.csv", f"{name!r} is listed twice for one spot")
            else:
                yield warning(
                    "landmarks.csv",
                    f"{name!r} names two places, {km:.0f} km apart: hunters are asked",
                )
