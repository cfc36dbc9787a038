"""/desk/find/<code>/age: two or three plain questions about the teeth, or the laboratory's figure.

Field staff and laboratories answer them, never a hunter. Each answer is added to what was said;
nothing is written over. The find's card shows what it comes to, and for a positive the window.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.exceptions import BadRequest, NotFound
from werkzeug.wrappers import Response

from bot.evidence.ageing import CANT_TELL, Age, NoAge, Species, Teeth, age_by_teeth, load_teeth
from bot.evidence.columns import find_of
from bot.evidence.programme_account import positive_of
from bot.evidence.sentences import load_sentences
from bot.evidence.told_age import AgeTold, age_told
from bot.reading.values import Animal
from bot.service.ages import ages_of, keep_age
from bot.service.finds import KeptFind, one_kept_find
from bot.web import access, stored, wired

blueprint = Blueprint("ages", __name__, url_prefix="/desk/find/<code>/age")
access.keep(blueprint, reads="coordinator")
OLDEST_MONTHS = 480
LONGEST = 80


@dataclass(frozen=True, slots=True)
class Aged:
    """What a card says of age: in words, by whom, and for a positive the window with caveats."""

    words: str
    by: str
    sentences: tuple[str, ...]


@blueprint.get("")
def page(code: str) -> str:
    """The questions for the animal's species, and all that was said so far."""
    return _page(code)


@blueprint.post("")
def tell(code: str) -> Response | tuple[str, int]:
    """Add one saying, then show the card; an age that the answers do not give is said, not kept."""
    saying = _saying()
    if saying.how == "teeth":
        age = age_by_teeth(_teeth(), saying.species, saying.answers, _region())
        if isinstance(age, NoAge):
            return _page(code, fault=_teeth().why[age.why], given=saying.answers), 400
    with stored().write() as connection:
        try:
            keep_age(connection, code, saying)
        except LookupError:
            raise NotFound from None
    return redirect(url_for("desk.find", code=code, _anchor="age"), 303)


@blueprint.app_context_processor
def for_cards() -> dict[str, Any]:
    """What the card's template calls: `aged(code)`, None where the pages stand on no database."""
    return {"aged": aged}


def aged(code: str) -> Aged | None:
    """What stands of one find's age, for its card; None where there is nothing to age."""
    if wired().database is None:
        return None
    kept, told = _read(code)
    if kept is None:
        return None
    age = age_told(_teeth(), told, _region())
    return Aged(in_words(age), told[-1].by if told else "", _window(kept, age))


def in_words(age: Age | NoAge | None) -> str:
    """ "10 to 18 months, by teeth", "from 26 months on", or why there is none."""
    if age is None:
        return "not known"
    if isinstance(age, NoAge):
        return _teeth().why[age.why]
    how = "by teeth" if age.basis == "teeth" else f"by the laboratory ({', '.join(age.sources)})"
    if age.upper is None:
        return f"from {age.lower:g} months on, {how}"
    return f"{age.lower:g} to {age.upper:g} months, {how}"


def _window(kept: KeptFind, age: Age | NoAge | None) -> tuple[str, ...]:
    """The sentence on a positive animal's infection, then its caveats; nothing for others."""
    find = find_of(kept.code, kept.state, kept.outcome, kept.conversation)
    if kept.outcome != "positive" or find is None:
        return ()
    book = load_sentences(wired().dialog.files["evidence.toml"])
    known = age if isinstance(age, Age) else None
    return positive_of(
        wired().programme, book, find, {} if known is None else {kept.code: known}
    ).sentences


def _page(code: str, fault: str = "", given: dict[str, str] | None = None) -> str:
    kept, told = _read(code)
    if kept is None:
        raise NotFound
    species, choices, table = _species(kept)
    return render_template(
        "desk/age.html",
        code=code,
        species=species,
        choices=choices,
        table=table,
        names={key: one.name for key, one in _teeth().species.items()},
        told=told,
        standing=in_words(age_told(_teeth(), told, _region())),
        said=_said,
        cant_tell=CANT_TELL,
        fault=fault,
        given=given or {},
    )


def _species(kept: KeptFind) -> tuple[str, tuple[str, ...], Species | None]:
    """(species, what else it may be, its table): a word for several kinds is asked about."""
    teeth, answer = _teeth(), kept.conversation.answers.get("species")
    heard = answer.value.species if answer and isinstance(answer.value, Animal) else ""
    choices = tuple(teeth.several.get(heard, ()))
    wanted = request.values.get("species", heard)
    if wanted not in (heard, *choices):
        raise BadRequest("This animal was never called that.")
    return wanted, choices, teeth.species.get(wanted)


def _saying() -> AgeTold:
    """The form as a value; BadRequest says what is wrong with it."""
    form, how = request.form, request.form.get("how", "")
    told = AgeTold(wired().now(), access.name(), "withdrawn", form.get("species", "")[:40])
    if how == "withdrawn":
        return told
    if how == "teeth":
        answers = {
            key.removeprefix("q-"): value[:LONGEST]
            for key, value in form.items()
            if key.startswith("q-") and value != CANT_TELL
        }
        return AgeTold(told.at, told.by, "teeth", told.species, answers)
    if how == "laboratory":
        lower, upper = _months("lower"), _months("upper")
        if lower is None or (upper is not None and upper < lower):
            raise BadRequest(
                "Two ages in months, the younger first; leave the older one empty if it is open."
            )
        method = form.get("method", "").strip()[:LONGEST]
        return AgeTold(told.at, told.by, "laboratory", told.species, {}, lower, upper, method)
    raise BadRequest("Say whether it is by teeth or by the laboratory.")


def _months(field: str) -> float | None:
    written = request.form.get(field, "").strip().replace(",", ".")
    if not written:
        return None
    try:
        months = float(written)
    except ValueError:
        raise BadRequest(f"{written[:20]!r} is no number of months.") from None
    if not 0 <= months <= OLDEST_MONTHS:
        raise BadRequest(f"An age lies between 0 and {OLDEST_MONTHS} months.")
    return months


def _said(saying: AgeTold) -> str:
    """One saying in words, for the list of all that was said."""
    if saying.how == "withdrawn":
        return "taken back what was said before"
    return in_words(age_told(_teeth(), [saying], _region()))


def _read(code: str) -> tuple[KeptFind | None, tuple[AgeTold, ...]]:
    with stored().read() as connection:
        return one_kept_find(connection, code), ages_of(connection, code)


def _teeth() -> Teeth:
    return load_teeth(wired().dialog.files["teeth.toml"])


def _region() -> str:
    return wired().programme.head.evidence.teeth_region
