"""Age from teeth: what was seen in a jaw -> an interval in months, never one number.

Law: the interval holds every age that the answers allow in any published table; an upper end that
no table gives stays open (None). What cannot be aged says why. The tables, their sources and the
questions stand in dialogs/teeth.toml.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, get_args

import msgspec
from msgspec import Struct

CANT_TELL = "cant_tell"
"""An answer to any question; it narrows nothing."""

Why = Literal["unknown_species", "which_species", "unknown_answer", "nothing_seen", "contradiction"]


class TeethError(ValueError):
    """teeth.toml is at fault; the message names the key."""


class Question(Struct, frozen=True, forbid_unknown_fields=True):
    """One plain question; its answers by key, with the words that a person reads.

    `about` are the words in a text that name its teeth, `listen` those for each answer; where
    `latest`, answers build on one another and the last of those that are named counts.
    """

    key: str
    ask: str
    answers: dict[str, str]
    about: list[str] = []
    listen: dict[str, list[str]] = {}
    latest: bool = False


class State(Struct, frozen=True, forbid_unknown_fields=True):
    """One state of the teeth. `tables`: [earliest, latest] or [earliest], in months, by source."""

    key: str
    words: str
    tables: dict[str, list[float]]
    when: list[dict[str, list[str]]]

    def fits(self, answers: Mapping[str, str]) -> bool:
        """Whether some set of this state's answers agrees with all that was answered."""
        return any(all(a in fit[q] for q, a in answers.items()) for fit in self.when)


class Region(Struct, frozen=True, forbid_unknown_fields=True):
    """Where teeth come earlier: by how many months, and who says so."""

    earlier_months: float
    source: str


class Species(Struct, frozen=True, forbid_unknown_fields=True):
    """One species' questions and states, the youngest first."""

    name: str
    questions: list[Question]
    states: list[State]
    note: str = ""
    no_evidence: list[str] = []
    regions: dict[str, Region] = {}
    called: list[str] = []
    """The words for it in a text about age."""
    like: str = ""
    """An answer as it could be texted."""


class Texts(Struct, frozen=True, forbid_unknown_fields=True):
    """What a member of staff is told who texts an age, and the words around what he saw."""

    asked: list[str] = []
    noted: str = ""
    interval: str = ""
    interval_open: str = ""
    unread: str = ""
    no_age: str = ""
    no_table: str = ""
    no_code: str = ""
    filler: list[str] = []
    denial: list[str] = []


class Teeth(Struct, frozen=True, forbid_unknown_fields=True):
    """teeth.toml as a whole. `why` has a sentence for every reason of a NoAge; `several` names
    words that stand for more than one species."""

    version: int
    why: dict[str, str]
    sources: dict[str, str]
    species: dict[str, Species]
    several: dict[str, list[str]] = {}
    texts: Texts = Texts()


class Age(Struct, frozen=True, tag="age"):
    """Months since birth at death: lower <= age <= upper; `upper` None is open.

    `states` are those that the answers leave possible; `sources` are full references.
    """

    species: str
    lower: float
    upper: float | None
    basis: Literal["teeth", "laboratory"]
    sources: tuple[str, ...]
    states: tuple[str, ...] = ()
    region: str = ""
    note: str = ""


class NoAge(Struct, frozen=True, tag="no_age"):
    """No age can be given, why, and what could be answered instead."""

    why: Why
    choices: tuple[str, ...] = ()


def load_teeth(text: str) -> Teeth:
    """teeth.toml, checked whole: every source, question and answer that a state names exists."""
    try:
        teeth = msgspec.toml.decode(text, type=Teeth)
    except (msgspec.DecodeError, ValueError) as fault:
        raise TeethError(f"teeth.toml: {fault}") from fault
    if set(teeth.why) != set(get_args(Why)):
        raise TeethError(f"teeth.toml: why: needs a sentence each for {', '.join(get_args(Why))}")
    for key, species in teeth.species.items():
        for question in species.questions:
            if set(question.listen) - set(question.answers):
                raise TeethError(
                    f"teeth.toml: species.{key}: {question.key}: listen: no such answer"
                )
        for state in species.states:
            _check(f"teeth.toml: species.{key}: {state.key}", teeth, species, state)
    return teeth


def age_by_teeth(
    teeth: Teeth, species: str, answers: Mapping[str, str], region: str = ""
) -> Age | NoAge:
    """The interval that answers (question key -> answer key) allow.

    A question that is left out or answered `cant_tell` narrows nothing, nor does a tooth that
    the species' table calls no evidence. `region` is a key of the species' regions, or "".
    """
    if species in teeth.several:
        return NoAge("which_species", tuple(teeth.several[species]))
    if species not in teeth.species:
        return NoAge("unknown_species", tuple(teeth.species))
    table = teeth.species[species]
    given = {q: a for q, a in answers.items() if a != CANT_TELL and q not in table.no_evidence}
    wrong = _unknown(table, given)
    if wrong:
        return NoAge("unknown_answer", wrong)
    if not given:
        return NoAge("nothing_seen", tuple(q.key for q in table.questions))
    states = [s for s in table.states if s.fits(given)]
    if not states:
        return NoAge("contradiction", tuple(given))
    return _age(teeth, species, states, region)


def age_in_laboratory(
    species: str, lower: float, upper: float | None, method: str = "cementum"
) -> Age:
    """A laboratory's own interval in months, by cementum layers unless another method is named."""
    if lower < 0 or (upper is not None and upper < lower):
        raise ValueError(f"age: {lower:g} to {upper} months is no interval")
    return Age(species, lower, upper, "laboratory", (method,))


def best_age(by_teeth: Age | NoAge, by_laboratory: Age | None) -> Age | NoAge:
    """The laboratory's age wherever there is one, with its own interval."""
    return by_laboratory or by_teeth


def state_interval(state: State) -> tuple[float, float | None]:
    """The union of a state's tables; open where none of them gives an upper end."""
    ends = [row[1] for row in state.tables.values() if len(row) > 1]
    return min(row[0] for row in state.tables.values()), max(ends, default=None)


def _age(teeth: Teeth, key: str, states: list[State], region: str) -> Age:
    species = teeth.species[key]
    intervals = [state_interval(s) for s in states]
    lower = min(low for low, _ in intervals)
    ends = [high for _, high in intervals]
    upper = None if None in ends else max(high for high in ends if high is not None)
    used = dict.fromkeys(source for s in states for source in s.tables)
    shift = species.regions.get(region)
    if shift:
        lower = max(0.0, lower - shift.earlier_months)
        used[shift.source] = None
    return Age(
        species=key,
        lower=lower,
        upper=upper,
        basis="teeth",
        sources=tuple(teeth.sources[s] for s in used),
        states=tuple(s.key for s in states),
        region=region if shift else "",
        note=species.note,
    )


def _unknown(table: Species, given: Mapping[str, str]) -> tuple[str, ...]:
    """What could have been answered, where a question or its answer is none of the table's."""
    questions = {q.key: q for q in table.questions}
    for question, answer in given.items():
        if question not in questions:
            return tuple(questions)
        if answer not in questions[question].answers:
            return tuple(questions[question].answers)
    return ()


def _check(where: str, teeth: Teeth, species: Species, state: State) -> None:
    sources = [*state.tables, *(r.source for r in species.regions.values())]
    for source in sources:
        if source not in teeth.sources:
            raise TeethError(f"{where}: no source {source!r}")
    for row in state.tables.values():
        if not row or len(row) > 2 or row != sorted(row) or row[0] < 0:
            raise TeethError(f"{where}: {row} is not [earliest, latest] in months")
    questions = {q.key: q.answers for q in species.questions}
    for fit in state.when:
        if set(fit) != set(questions):
            raise TeethError(f"{where}: when must name {', '.join(questions)}")
        for question, answers in fit.items():
            for answer in answers:
                if answer not in questions[question]:
                    raise TeethError(f"{where}: {question} has no answer {answer!r}")
