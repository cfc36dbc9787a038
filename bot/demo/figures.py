"""PURE. What the transcripts cost: texts and segments, for each find that was completed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from statistics import median

from msgspec import Struct

from bot.demo.transcript import Line, Transcript
from bot.talk.segments import segments_of


class Cost(Struct, frozen=True):
    """One talk. `texts` and `segments` go to whoever reports, `staff_texts` to staff.

    `first` are the texts that answer the very first text. `full` says whether a pickup was
    offered on that text alone; `known` are then the texts until the hunter knows who comes, his
    own later texts left out.
    """

    title: str
    texts: int
    segments: int
    first: int
    staff_texts: int
    longest: int
    full: bool
    known: int


def cost(talk: Transcript) -> Cost:
    """What the bot's lines of one transcript cost."""
    staff = _staff(talk)
    said = [line for line in talk.lines if line.by_bot]
    own = [line for line in said if line.to not in staff]
    answers = list(_answers(talk))
    first = [line for line in answers[0][1] if line.to not in staff] if answers else []
    news = (
        [line for line in found if line.to not in staff]
        for asked, found in answers
        if asked.who in staff
    )
    return Cost(
        title=talk.title,
        texts=len(own),
        segments=sum(segments_of(line.body) for line in own),
        first=len(first),
        staff_texts=len(said) - len(own),
        longest=max((segments_of(line.body) for line in said), default=0),
        full=bool(answers) and any(line.to in staff for line in answers[0][1]),
        known=len(first) + len(next(filter(None, news), [])),
    )


def _answers(talk: Transcript) -> Iterator[tuple[Line, list[Line]]]:
    """Each line of the script with what the bot said to it in the same minute."""
    asked: Line | None = None
    said: list[Line] = []
    for line in talk.lines:
        if line.by_bot and asked is not None and line.at == asked.at:
            said.append(line)
        elif not line.by_bot:
            if asked is not None:
                yield asked, said
            asked, said = line, []
    if asked is not None:
        yield asked, said


def _staff(talk: Transcript) -> frozenset[str]:
    """Who takes part without being in the header, but for a member of staff who reports."""
    named = {line.who for line in talk.script} | {line.to for line in talk.lines}
    return frozenset(named - {p.key for p in talk.people} - {talk.script[0].who, "", "bot"})


def is_completed(talk: Transcript) -> bool:
    """Whether the talk ends with nothing left to ask: somebody has the head, or it was clean."""
    facts = dict(talk.facts)
    taken = facts.get("pickup", "").startswith(("taken", "collected", "handed in"))
    return taken or facts.get("find") == "clean"


def figures(transcripts: Iterable[Transcript]) -> Iterator[str]:
    """A table with a row a talk, then the medians over those that were completed."""
    talks = tuple(transcripts)
    costs = [cost(talk) for talk in talks]
    yield f"{'texts':>6}{'segments':>9}{'first':>6}{'to staff':>9}{'longest':>8}  talk"
    for c in costs:
        yield f"{c.texts:>6}{c.segments:>9}{c.first:>6}{c.staff_texts:>9}{c.longest:>8}  {c.title}"
    yield from summary(talks, costs)


def summary(talks: Iterable[Transcript], costs: Iterable[Cost]) -> Iterator[str]:
    """The medians: to the reporter, to staff, and for a first text that says it all."""
    pairs = tuple(zip(talks, costs, strict=True))
    done = [c for talk, c in pairs if is_completed(talk)]
    if done:
        yield (
            f"median over {len(done)} completed finds: {median(c.texts for c in done):g} texts, "
            f"{median(c.segments for c in done):g} segments to the reporter, "
            f"{median(c.staff_texts for c in done):g} texts to staff"
        )
    full = [c.known for _, c in pairs if c.full]
    if full:
        yield (
            f"median over {len(full)} full first texts: {median(full):g} texts till the hunter "
            f"knows who comes, {max(full)} at most"
        )
    yield f"most segments in one text: {max((c.longest for _, c in pairs), default=0)}"
