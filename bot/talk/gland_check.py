"""PURE: the guided look at the glands: one short step a text, answered by a word.

Law: it runs only where the programme has switched it on and nothing odd was told; the first sign
ends it, and is then an answer like any other (advice, pickup, person); what is not found is an
answer too; it ends with what was looked at and judges no meat. Words that nobody can read are
asked about once, then they are a person's, since they may tell of a sign.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec.structs import replace

from bot.reading.values import Checked, Found, Side, Sign
from bot.talk.dialog import CheckStep
from bot.talk.filling import Spoken
from bot.talk.state import Asked, Conversation, Seen
from bot.talk.turn import Turn

QUESTION = "gland_check"
READY = "ready"
"""What the first text, gloves and a clean knife, waits for."""

LOOSE = frozenset({"", "gland", "head", "head_nodes", "animal", "mouth"})
"""Sites that a short answer names for the place that was asked about."""

LOOKS = {"lumps": "lumps", "odd": "suspected"}
"""How a sign looked that one word tells of. Doubt counts as a sign."""

_STATES = ("clear", "not_found", "not_looked")
ALLOWED = frozenset({"", "clean"})
"""What a find may be taken for while its glands are looked at."""


def is_on(turn: Turn) -> bool:
    """Whether this programme guides a look at all."""
    return turn.programme.head.guided_check and bool(turn.dialog.check_steps)


def start(turn: Turn) -> None:
    """Gloves and a clean knife first; nothing where a sign was told already."""
    if turn.now.with_person:
        return
    if turn.now.kind not in ALLOWED:
        turn.say("advice", "gland_check.not_now")
        return
    _open(turn, READY)
    turn.say("question", "gland_check.begin")


def offer(turn: Turn) -> None:
    """Say once that there is such a check, to whoever found nothing and did not look at all six."""
    wanted = is_on(turn) and turn.now.kind == "clean" and not turn.now.checking
    if wanted and _nodes_missed(turn):
        turn.say_once("notice", "gland_check.offer")


def located(spoken: Spoken, conversation: Conversation, steps: Iterable[CheckStep]) -> Spoken:
    """What was said, with the place that was asked about put to a sign or a state without one."""
    step = next((s for s in steps if s.key == conversation.checking), None)
    if step is None or spoken.answering != QUESTION:
        return spoken
    reading = spoken.reading
    told = tuple(_sign(found, step) for found in reading.signs)
    for word in spoken.words("check"):
        place = (word.heard, word.start, word.end)
        if word.key in LOOKS:
            told = (*told, Found(Sign(step.site, step.side, LOOKS[word.key]), *place))
    checked = () if told else tuple(_checked(spoken, step))
    return replace(spoken, reading=replace(reading, signs=told, checked=checked))


def guide(turn: Turn, spoken: Spoken) -> bool:
    """Go on with a check that is under way; whether this text was taken by it."""
    now = turn.now
    if not now.checking or spoken.answering != QUESTION:
        return False
    if now.kind not in ALLOWED:  # The first sign: advice has been said, and the find goes on.
        _close(turn)
        return False
    keys = spoken.keys("check")
    if "leave" in keys or spoken.keys("wish"):
        _leave(turn)
    elif now.checking == READY:
        _begun(turn, spoken)
    elif spoken.reading.checked:
        _go_on(turn)
    else:
        _unread(turn, spoken)
    return bool(turn.now.checking)


def lapse(turn: Turn) -> None:
    """Nobody answered a step: the check ends there, and what was looked at is kept."""
    _close(turn)
    turn.say("notice", "gland_check.left")


def _begun(turn: Turn, spoken: Spoken) -> None:
    said_so = {"go", "clear"} & set(spoken.keys("check")) or "yes" in spoken.keys("yes_no")
    if said_so:
        _ask(turn, turn.dialog.check_steps[0])
    elif "no" in spoken.keys("yes_no"):
        _leave(turn)
    elif not turn.now.misses.get(QUESTION):
        _miss(turn)
        turn.say("question", "gland_check.begin")
    else:
        _leave(turn)


def _go_on(turn: Turn) -> None:
    """The next step whose place is not known yet, or the end."""
    keys = [step.key for step in turn.dialog.check_steps]
    at = keys.index(turn.now.checking)
    turn.change(misses={**turn.now.misses, QUESTION: 0})
    if at + 1 < len(keys):
        _ask(turn, turn.dialog.check_steps[at + 1])
        return
    _close(turn)
    turn.say("notice", "gland_check.done", clear=_told(turn, clear=True))
    turn.say("notice", "gland_check.missed", missed=_told(turn, clear=False))


def _unread(turn: Turn, spoken: Spoken) -> None:
    """Once it is asked again; the second time a person looks, and nobody looks further."""
    if turn.now.misses.get(QUESTION):
        turn.ask_coordinator("unread_seen", spoken.reading.text)
        turn.say("notice", "unread")
        _leave(turn)
        return
    _miss(turn)
    turn.say("question", "gland_check.again")


def _miss(turn: Turn) -> None:
    turn.change(misses={**turn.now.misses, QUESTION: turn.now.misses.get(QUESTION, 0) + 1})


def _ask(turn: Turn, step: CheckStep) -> None:
    steps = turn.dialog.check_steps
    _open(turn, step.key)
    turn.say("question", f"gland_check.{step.key}", step=steps.index(step) + 1, count=len(steps))


def _open(turn: Turn, key: str) -> None:
    turn.change(checking=key, asked=Asked(QUESTION, turn.at))
    turn.wait(turn.programme.head.patience.reminder)


def _leave(turn: Turn) -> None:
    _close(turn)
    turn.say("notice", "gland_check.left")


def _close(turn: Turn) -> None:
    misses = {k: n for k, n in turn.now.misses.items() if k != QUESTION}
    turn.change(checking="", asked=None, misses=misses, silence_mark=-1)


def _sign(found: Found[Sign], step: CheckStep) -> Found[Sign]:
    sign = found.value
    if sign.site not in LOOSE:
        return found
    return replace(found, value=replace(sign, site=step.site, side=sign.side or step.side))


def _checked(spoken: Spoken, step: CheckStep) -> Iterator[Found[Checked]]:
    """How the place asked about was, and anything else that the text names outright."""
    for word in spoken.words("check"):
        if word.key in _STATES:
            value = Checked(step.site, step.side, word.key)  # type: ignore[arg-type]
            yield Found(value, word.heard, word.start, word.end)
    for found in spoken.reading.checked:
        here = found.value.site in LOOSE
        site = step.site if here else found.value.site
        side = found.value.side or (step.side if site == step.site else "")
        yield replace(found, value=Checked(site, side, found.value.state))


def _seen(turn: Turn) -> tuple[Checked, ...]:
    answer = turn.now.answers.get("seen")
    return answer.value.checked if answer and isinstance(answer.value, Seen) else ()


def _nodes_missed(turn: Turn) -> bool:
    """Whether a pair of nodes was not seen clear on both sides yet; "all six clear" is all."""
    clear = {(c.site, c.side) for c in _seen(turn) if c.state == "clear"}
    if {("head_nodes", ""), ("head_nodes", "both")} & clear:
        return False
    pairs = [(step.site, step.side) for step in turn.dialog.check_steps if step.side]
    return any(pair not in clear and (pair[0], "both") not in clear for pair in pairs)


def _told(turn: Turn, *, clear: bool) -> str:
    """The sites that were seen clear, or those that were not, each with its sides, in words."""
    seen = {(c.site, c.side) for c in _seen(turn) if c.state == "clear"}
    sides: dict[str, list[Side]] = {}
    for step in turn.dialog.check_steps:
        if ((step.site, step.side) in seen) == clear:
            sides.setdefault(step.site, []).append(step.side)
    names = [
        turn.speaker.sign(Sign(site, "both" if len(told) > 1 else told[0]))
        for site, told in sides.items()
    ]
    return ", ".join(names) or turn.speaker.say("gland_check.nothing")
