"""A proved number on either database: the chat's finds become the number's, and go with it when
the hunter is erased. Numbers are of the range that Australia's regulator reserves for fiction."""

from __future__ import annotations

import re

from sqlalchemy import select

from bot.messages import Heard
from bot.service import tables as t
from bot.service.desk import Desk
from bot.service.erasing import erase
from bot.service.intake import Intake
from bot.service.number_door import CodeOrder
from tests.service.fakes import HOUR, HUNTER, NOON, column, heard, rows

KEY = "a key for tests only"
ORDER = CodeOrder("browser", HUNTER, "203.0.113.7", "{} es su código".format)  # RFC 5737.


def prove(intake: Intake, session: str = "browser", fresh: str = "fresh") -> str:
    assert intake.ask_code(ORDER, KEY, NOON)
    code = re.search(r"\d{6}", column(intake.database, t.TextOut.body, order=t.TextOut.id)[-1])
    assert code
    return intake.prove_number(session, code.group(), fresh, KEY, NOON)


def chat(id: str, body: str, session: str = "browser") -> Heard:
    return Heard(id, "chat", session, body, NOON)


def said(intake: Intake, session: str) -> list[str]:
    return [line.body for line in Desk(intake.database).chat_talk(session).entries if line.inward]


def test_both_talks_are_the_numbers_and_the_browser_has_both(intake: Intake) -> None:
    intake.hear(heard("by text", "1"), NOON)
    intake.hear(chat("2", "in the chat"), NOON)
    assert prove(intake) == HUNTER
    owners = column(intake.database, t.Conversation.hunter_id)
    assert len(set(owners)) == 1
    assert said(intake, "fresh") == ["by text", "in the chat"]
    assert said(intake, "browser") == []
    assert Desk(intake.database).chat_talk("fresh").number == HUNTER
    kinds = column(intake.database, t.Event.kind, order=t.Event.id)
    assert kinds == ["text", "text", "number_proved"]


def test_a_text_says_which_way_it_came_once_the_talk_goes_another_way(intake: Intake) -> None:
    intake.hear(heard("by text", "1"), NOON)
    prove(intake)
    intake.hear(chat("2", "in the chat", "fresh"), NOON + HOUR)
    bodies = column(intake.database, t.Event.body, order=t.Event.id)
    assert '"channel":"chat"' in bodies[-1]
    assert '"channel":""' in bodies[0]
    (hunter,) = rows(intake.database, t.Hunter.number, t.Hunter.gateway)
    assert hunter == (HUNTER, "chat")


def test_a_guess_is_counted_before_it_is_weighed(intake: Intake) -> None:
    intake.ask_code(ORDER, KEY, NOON)
    assert intake.prove_number("browser", "not it", "fresh", KEY, NOON) == ""
    assert column(intake.database, t.ChatCode.tries) == [1]


def test_a_code_is_spelled_for_texts_and_kept_no_longer_than_it_counts(intake: Intake) -> None:
    intake.ask_code(ORDER, KEY, NOON)
    # 3GPP TS 23.038: o with an acute accent is not in the default alphabet.
    assert column(intake.database, t.TextOut.body)[0].endswith(" es su codigo")
    intake.ask_code(replace_session(ORDER, "another"), KEY, NOON + 2 * HOUR)
    assert column(intake.database, t.ChatCode.session) == ["another"]


def test_nothing_of_a_proof_outlives_the_hunter(intake: Intake) -> None:
    intake.hear(chat("2", "in the chat"), NOON)
    prove(intake)
    intake.ask_code(replace_session(ORDER, "another"), KEY, NOON)
    database = intake.database
    with database.read() as connection:
        hunter = connection.scalar(select(t.Hunter.id).where(t.Hunter.number == HUNTER))
    erase(database, (hunter,), NOON)
    assert column(database, t.ChatLink.session) == []
    assert column(database, t.ChatCode.number) == []
    assert HUNTER not in str(rows(database, t.TextOut.number, t.TextOut.body))
    assert HUNTER not in str(column(database, t.Event.body))
    assert set(column(database, t.TextOut.state)) == {"withdrawn"}
    assert said(intake, "fresh") == []


def replace_session(order: CodeOrder, session: str) -> CodeOrder:
    return CodeOrder(session, order.number, order.asked_from, order.wording)
