"""Any talk whatever: nothing raises, nothing is too long, and no turn asks two things."""

from __future__ import annotations

from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from bot.messages import AskCoordinator, OpenPickup, SendText, Silence, Text
from bot.programme import Programme
from bot.talk.advice import may_open
from bot.talk.conversation import step
from bot.talk.dialog import Dialog
from bot.talk.segments import MOST_SEGMENTS, segments_of
from bot.talk.state import Conversation, dump, load
from tests.talk.conftest import START

PHRASES = [
    "boar with pus in the jaw gland", "lumps in the lungs", "sow", "deer, blisters on its mouth",
    "found dead", "3 km NW of Brindle Hut", "-36.87, 147.15", "147.15 -36.87", "sandy creek",
    "head's in the freezer at Kerrin Flat", "yesterday arvo", "Sat 6pm", "no, it was Sunday",
    "frozen, two bags", "no bags", "dog ran off with the head", "cut my finger", "I'm lost", "stop",
    "start", "help", "person please", "yes", "no", "1", "2", "skip", "dunno", "rather not say",
    "state forest", "name's Dave", "thanks", "another one", "all six clear", "start again", "stag",
    "forget the pickup", "any news?", "fed it to the dogs", "ring 0491 570 110", "boiled the jaw",
]  # fmt: skip
SAYING = st.lists(st.sampled_from(PHRASES) | st.text(max_size=40), min_size=1, max_size=4)
TURN = st.tuples(SAYING.map(", ".join), st.integers(-90, 90), st.booleans())


@settings(max_examples=120)
@given(turns=st.lists(TURN, min_size=1, max_size=7))
def test_any_talk_keeps_the_law(
    real_dialog: Dialog, programme: Programme, turns: list[tuple[str, int, bool]]
) -> None:
    now, at, opened = Conversation("K7R-4TX", START), START, 0
    asks = {q.ask for q in real_dialog.questions} | {q.again for q in real_dialog.questions}
    for body, late, silent in turns:
        at += timedelta(minutes=40)
        sent = min(at, at + timedelta(minutes=late))
        event = Silence(at, now.silence_mark) if silent else Text(body, sent, at)
        now, effects = step(now, event, real_dialog, programme)
        texts = [e.body for e in effects if isinstance(e, SendText)]
        assert all(segments_of(t) <= MOST_SEGMENTS for t in texts), texts
        assert sum(ask in t for t in texts for ask in asks) <= 1, texts
        for effect in effects:
            if isinstance(effect, OpenPickup):
                opened += 1
                assert may_open(now.kind, real_dialog, programme)
            if isinstance(effect, AskCoordinator):
                assert effect.reason in now.reviews
        assert load(dump(now)) == now
    assert opened <= 1
