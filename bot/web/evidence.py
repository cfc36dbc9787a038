"""/desk/evidence: what all finds say about each zone, in words, then drawn, then in figures.

Everything is reckoned from what is kept, each time it is asked for. Where more animals would say
most is shown to coordinators only, and stands in no download and no letter.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, time, timedelta
from functools import partial
from typing import Any

from flask import Blueprint, Response, current_app, jsonify, render_template, request
from werkzeug.exceptions import BadRequest, NotFound

from bot.evidence.ageing import load_teeth
from bot.evidence.columns import Kind
from bot.evidence.lesions import PAIRS, Looked, se_of_look
from bot.evidence.letter import Season, Standing, Written, write_letter
from bot.evidence.programme_account import Survey, ZoneAccount, looks_in, survey_of
from bot.evidence.sentences import Book, load_sentences, percent
from bot.evidence.unseen import Unseen, unseen_of
from bot.evidence.window import LAG_MONTHS
from bot.evidence.zones import MOVED, Assumptions, ZoneResult, halved_and_doubled
from bot.reading.describe import describe_place
from bot.scenes import frame_of
from bot.service.evidence_shelf import Gathered, gather
from bot.web import access, stored, wired
from bot.web.words import moment
from bot.web.zone_drawing import axis_of, freedom_of, months_of
from bot.web.zone_files import months_csv, seen_at, zone_geojson
from bot.web.zone_map import ZoneMap, map_of
from bot.web.zone_pdf import Drawings, zone_pdf

blueprint = Blueprint("evidence", __name__, url_prefix="/desk/evidence")
access.keep(blueprint)
SEASON = timedelta(days=365)
GROUND = "bushpost_ground"
"""Under this name the app keeps what its last survey was reckoned from, for the next one."""
WILD_PIG_KM = 6.0
"""The radius for which the unseen parts are reckoned: a pig's, in dialogs/evidence.toml."""


@blueprint.get("/")
def page() -> str:
    """Every zone with its first sentence."""
    until, _, survey = _surveyed()
    return render_template(
        "desk/evidence.html", accounts=survey.accounts, until=until, book=_book()
    )


@blueprint.get("/<zone>")
def zone(zone: str) -> str:
    """One zone's page."""
    until, gathered, survey = _surveyed()
    account = _account(survey, zone)
    exact = access.may("coordinator")
    unseen = _unseen(survey, account) if exact else ()
    return render_template(
        "desk/zone.html",
        account=account,
        book=_book(),
        until=until,
        percent=partial(percent, say=_book().say),
        rests=_rests(account.result),
        drawing=_map(survey, account, unseen, exact=exact),
        axis=axis_of(account.positives, until),
        freedom=freedom_of(account),
        months=months_of(account),
        moved=_moved(account.result),
        unseen=[_named(place) for place in unseen],
        exact=exact,
        left_out=len(account.left_out) + len(gathered.unplaced),
        lag=f"{LAG_MONTHS:g}",
    )


@blueprint.get("/<zone>/months.csv")
def months_file(zone: str) -> Response:
    """The months as CSV."""
    _, _, survey = _surveyed()
    text = months_csv(_account(survey, zone))
    return _file(Response("\ufeff" + text, mimetype="text/csv"), zone, "csv")


@blueprint.get("/<zone>/zone.geojson")
def places_file(zone: str) -> Response:
    """The zone, its clean animals and its positives as GeoJSON."""
    _, _, survey = _surveyed()
    account = _account(survey, zone)
    found = zone_geojson(survey, account, wired().programme, exact=access.may("coordinator"))
    response = jsonify(found)
    response.mimetype = "application/geo+json"
    return _file(response, zone, "geojson")


@blueprint.get("/<zone>/zone.pdf")
def paper(zone: str) -> Response:
    """Words, drawings and figures as a PDF."""
    until, _, survey = _surveyed()
    account, say = _account(survey, zone), _book().say
    drawings = _drawings(survey, account, until)
    band = account.result.band
    rows = [
        [name, *(percent(f, say) for f in (month.sse, month.prior, month.pfree, *band[n]))]
        for n, (name, month) in enumerate(
            zip(months_of(account), account.result.months, strict=True)
        )
    ]
    positives = [f"{p.code}: {' '.join(p.sentences)}" for p in account.positives]
    paragraphs = [*account.sentences, *positives, _rests(account.result)]
    pstar = percent(account.result.assumptions.pstar, say)
    made = zone_pdf(
        zone, paragraphs, drawings, pstar, reversed(rows), f"As known on {moment(until)}."
    )
    return _file(Response(made, mimetype="application/pdf"), zone, "pdf")


@blueprint.get("/letter")
def letter() -> str:
    """The season letter to hunters, to print, and the same as one text to copy."""
    until, gathered, survey = _surveyed()
    languages = [code for code in wired().programme.head.languages if code in _book().letter]
    language = request.args.get("language", languages[0] if languages else "en")
    if language not in _book().letter:
        raise BadRequest("There is no letter in that language.")
    since = _day("since") or until - SEASON
    return render_template(
        "desk/letter.html",
        letter=_letter(language, since, until, gathered, survey),
        language=language,
        languages=tuple(_book().letter),
        since=since,
        until=until - timedelta(minutes=1),
    )


# ---------------------------------------------------------------------------------- gathering


def _surveyed() -> tuple[datetime, Gathered, Survey]:
    """All finds until a day that the address names, or until now."""
    wiring, given = wired(), _day("until")
    until = given + timedelta(days=1) if given else wiring.now().astimezone(wiring.programme.zone)
    own = wiring.programme.head.evidence
    teeth = load_teeth(wiring.dialog.files["teeth.toml"])
    gathered = gather(stored(), until, teeth, own.teeth_region)
    survey = survey_of(
        wiring.programme,
        _book(),
        gathered.kept,
        until,
        ages=gathered.ages,
        assumptions=Assumptions(
            pstar=own.pstar, catch=own.catch, prior=own.prior, p_intro=own.p_intro
        ),
        cell_km=own.cell_km,
        before=current_app.extensions.get(GROUND),
    )
    current_app.extensions[GROUND] = survey.ground
    return until, gathered, survey


def _day(name: str) -> datetime | None:
    written = request.args.get(name, "").strip()
    if not written:
        return None
    try:
        day = datetime.strptime(written[:40], "%Y-%m-%d").date()
    except ValueError:
        raise BadRequest("A day is written like 2026-11-25.") from None
    return datetime.combine(day, time(), wired().programme.zone)


def _account(survey: Survey, zone: str) -> ZoneAccount:
    found = next((a for a in survey.accounts if a.result.zone == zone), None)
    if found is None:
        raise NotFound
    return found


def _book() -> Book:
    return load_sentences(wired().dialog.files["evidence.toml"])


# ------------------------------------------------------------------------------------- telling


def _map(
    survey: Survey, account: ZoneAccount, unseen: tuple[Unseen, ...], *, exact: bool
) -> ZoneMap:
    programme, name = wired().programme, account.result.zone
    names = survey.coverage.zones.names
    shape = next(z.shape for z in programme.zones if z.name == name)
    known = survey.known
    rows = known.looks[looks_in(programme, known, name)]
    inside = zip(known.finds.lat[rows].tolist(), known.finds.lon[rows].tolist(), strict=True)
    found = {f.code: f for f in survey.known.positives}
    return map_of(
        survey.coverage,
        names.index(name),
        shape,
        [seen_at(*at, exact=exact) for at in inside],
        [
            (seen_at(found[p.code].lat, found[p.code].lon, exact=exact), p)
            for p in account.positives
        ],
        [(place.lat, place.lon) for place in unseen],
    )


def _drawings(survey: Survey, account: ZoneAccount, until: datetime) -> Drawings:
    """What the PDF draws: where more animals would say most stands on the page alone."""
    exact, words = access.may("coordinator"), _book().page
    axis, freedom = axis_of(account.positives, until), freedom_of(account)
    pstar = percent(account.result.assumptions.pstar, _book().say)
    return Drawings(
        map=(_map(survey, account, (), exact=exact), words.map),
        axis=(axis, words.windows.format(lag=f"{LAG_MONTHS:g}")) if axis else None,
        freedom=(freedom, words.freedom.format(pstar=pstar)) if freedom else None,
    )


def _unseen(survey: Survey, account: ZoneAccount) -> tuple[Unseen, ...]:
    """The least seen places of a zone, for a head that is well looked at."""
    six = se_of_look("pig", Looked(dict.fromkeys(PAIRS, 2)))
    zone = survey.coverage.zones.names.index(account.result.zone)
    return unseen_of(survey.coverage, zone, six * account.result.assumptions.catch, WILD_PIG_KM)


def _named(place: Unseen) -> str:
    marks = frame_of(wired().programme, wired().dialog.words).landmarks
    return describe_place(place.lat, place.lon, marks, "en")


def _rests(result: ZoneResult) -> str:
    own, say = result.assumptions, _book().say
    names = ("pstar", "catch", "prior", "p_intro")
    return _book().page.rests.format(**{n: percent(getattr(own, n), say) for n in names})


def _moved(result: ZoneResult) -> list[tuple[str, tuple[float, float, float], tuple[Any, Any]]]:
    """Each assumption: its name, its value as it is, halved and doubled, and the two answers."""
    rows = []
    for name in MOVED:
        low, high = halved_and_doubled(result.assumptions, name)
        values = tuple(float(getattr(a, name)) for a in (result.assumptions, low, high))
        rows.append((_book().say.names[name], values, result.moves.get(name, (None, None))))
    return rows  # type: ignore[return-value]


def _file(response: Response, zone: str, ending: str) -> Response:
    plain = "".join(c if c.isascii() and c.isalnum() else "-" for c in zone).lower()
    response.headers["Content-Disposition"] = f'attachment; filename="{plain}.{ending}"'
    return response


def _letter(
    language: str, since: datetime, until: datetime, gathered: Gathered, survey: Survey
) -> Written:
    """A season's letter: of the finds opened in it; how each zone stands, at its end."""
    head, words = wired().programme.head, wired().dialog.list(language, "dates.months")
    kept = gathered.kept.only(gathered.kept.opened >= since.timestamp())

    def tally(which: Callable[[Kind], bool], animals: bool = False) -> int:
        those = kept.of_kind(map(which, kept.kinds)).astype(bool)
        return int(kept.animals[those].sum() if animals else those.sum())

    count = {
        state: tally(lambda k, state=state: k.state == state, animals=True)  # type: ignore[misc]
        for state in ("clean", "suspect", "found_dead")
    }
    outcome = {
        o: tally(lambda k, o=o: k.outcome == o)  # type: ignore[misc]
        for o in ("positive", "negative")
    }
    first, last = (
        f"{at.day} {words[at.month - 1]} {at.year}"
        for at in (since.astimezone(until.tzinfo), until - timedelta(minutes=1))
    )
    season = Season(
        programme=head.name,
        keeper=head.privacy.keeper,
        first=first,
        last=last,
        clean=count["clean"],
        suspect=count["suspect"],
        dead=count["found_dead"],
        waiting=tally(lambda k: k.state == "suspect" and k.outcome in ("", "not_testable")),
        zones=tuple(
            (a.result.zone, _standing(a.result), a.result.animals) for a in survey.accounts
        ),
        **outcome,
    )
    return write_letter(_book().letter[language], season)


def _standing(result: ZoneResult) -> Standing:
    if result.confirmed:
        return "positive"
    if result.pending:
        return "pending"
    return "clean" if result.animals else "nothing"
