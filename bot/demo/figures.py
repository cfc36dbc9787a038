"""PURE. What the transcripts cost: texts and segments, for each find that was completed."""

from __future__ import annotations

from collections.abc import Iterable
from statistics import median

from msgspec import Struct

from bot.demo.transcript import Transcript
from bot.talk.segments import segments_of


class Cost(Struct, frozen=True):
    """One talk: texts and segments to the people in it who report, and to staff; the longest."""

    title: str
    texts: int
    segments: int
    first_texts: int
    staff_texts: int
    staff_segments: int
    longest: int


def cost(transcript: Transcript) -> Cost:
    """What the bot's lines of one transcript cost. `first_texts` answer the very first text."""
    staff = _staff(transcript)
    own = [x for x in transcript.lines if x.by_bot and x.to not in staff]
    theirs = [x for x in transcript.lines if x.by_bot and x.to in staff]
    script = transcript.script
    until = script[1].at if len(script) > 1 else None
    first = [x for x in own if until is None or x.at < until]
    return Cost(
        title=transcript.title,
        texts=len(own),
        segments=sum(segments_of(x.body) for x in own),
        first_texts=len(first),
        staff_texts=len(theirs),
        staff_segments=sum(segments_of(x.body) for x in theirs),
        longest=max((segments_of(x.body) for x in (*own, *theirs)), default=0),
    )


def _staff(transcript: Transcript) -> frozenset[str]:
    people = {p.key for p in transcript.people}
    named = {x.who for x in transcript.script} | {x.to for x in transcript.lines}
    reporting = {x.who for x in transcript.script[:1]}
    return frozenset(named - people - reporting - {"", "bot"})


def is_completed(transcript: Transcript) -> bool:
    """Whether the talk ends with a find kept and nothing left to ask: a pickup that somebody
    took, or a clean find."""
    facts = dict(transcript.facts)
    taken = facts.get("pickup", "").startswith(("taken", "collected", "handed in"))
    return taken or facts.get("find") == "clean"


def figures(transcripts: Iterable[Transcript]) -> str:
    """A table with a row a talk, and the medians over those that were completed."""
    talks = tuple(transcripts)
    rows = [f"{'texts':>6}{'segments':>9}{'first':>6}{'to staff':>9}{'longest':>8}  talk"]
    costs = [cost(t) for t in talks]
    rows += [
        f"{c.texts:>6}{c.segments:>9}{c.first_texts:>6}{c.staff_texts:>9}{c.longest:>8}  {c.title}"
        for c in costs
    ]
    done = [c for c, t in zip(costs, talks, strict=True) if is_completed(t)]
    if done:
        rows.append(
            f"median over {len(done)} completed finds: {median(c.texts for c in done):g} texts, "
            f"{median(c.segments for c in done):g} segments to the reporter; "
            f"{median(c.staff_texts for c in done):g} texts to staff"
        )
    rows.append(f"most segments in one text: {max((c.longest for c in costs), default=0)}")
    return "\n".join(rows)
