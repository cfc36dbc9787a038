"""A number is proved by the code that comes to it, and by nothing else; then text and chat are one
talk. Numbers are of the range that Australia's regulator reserves for fiction."""

from __future__ import annotations

import re

from sqlalchemy import select, update

from bot.messages import PersonWrote
from bot.service import tables
from bot.service.desk import Desk
from bot.service.number_door import MOST_FROM_ADDRESS, MOST_IN_ALL, MOST_TO_NUMBER, MOST_TRIES
from tests.web.office import HUNTER, MATE, RICH, post, token_of

TYPED = "0491 570 006"
OUT = tables.TextOut


def ask(client, number=TYPED):
    return post(client, "/chat/number", "/chat/number", number=number)


def give(client, code):
    return post(client, "/chat", "/chat/code", code=code)


def texts_to(office, number=HUNTER) -> list[str]:
    with office.database.read() as connection:
        query = select(OUT.body).where(OUT.number == number, OUT.gateway != "chat")
        return list(connection.scalars(query.order_by(OUT.id)))


def code_to(office, number=HUNTER) -> str:
    return re.search(r"\b\d{6}\b", texts_to(office, number)[-1]).group()


def write(client, words):
    page = client.get("/chat")
    entry = re.search(r'name="entry" value="([^"]+)"', page.get_data(as_text=True)).group(1)
    form = {"csrf_token": token_of(page), "entry": entry, "text": words}
    assert client.post("/chat", data=form).status_code == 303


def shown(client) -> str:
    return client.get("/chat").get_data(as_text=True)


def proved(office, client=None):
    client = client or office.client("")
    assert ask(client).status_code == 303
    assert give(client, code_to(office)).status_code == 303
    return client


def test_a_find_begun_by_text_goes_on_in_the_chat(office):
    code = office.text("Boar, lump under the jaw with pus")
    client = proved(office)
    assert "lump under the jaw" in shown(client)
    write(client, "2 km N of Brindle Hut, yesterday")
    card = Desk(office.database).find_card(code)
    assert "kill_place" in card.conversation.answers
    assert (card.number, card.conversation.channel) == (HUNTER, "chat")


def test_a_find_begun_in_the_chat_goes_on_by_text(office):
    client = office.client("")
    write(client, "Boar, lump under the jaw with pus")
    proved(office, client)
    office.text("2 km N of Brindle Hut, yesterday")
    (row,) = Desk(office.database).finds()
    card = Desk(office.database).find_card(row.code)
    assert "kill_place" in card.conversation.answers
    assert card.conversation.answers["contact"].value.words == HUNTER
    assert "2 km N of Brindle Hut" in shown(client)  # And the browser has all of it.


def test_what_nobody_just_asked_for_goes_to_the_number(office):
    client = office.client("")
    write(client, "Boar, lump under the jaw with pus")
    proved(office, client)
    write(client, RICH)
    before = len(texts_to(office))
    (row,) = Desk(office.database).finds()
    office.intake.tell(
        row.code, PersonWrote(office.clock.at, "ines", "I will ring"), office.clock.at
    )
    assert texts_to(office)[before:] == ["I will ring"]
    assert "I will ring" in shown(client)


def test_a_number_that_was_only_typed_opens_nothing(office):
    office.text("Boar, a secret gully")
    client = office.client("")
    ask(client)
    assert "secret gully" not in shown(client)
    write(client, f"my number is {TYPED}")
    assert "secret gully" not in shown(client)


def test_a_code_is_good_once_and_for_the_browser_that_asked(office):
    office.text("Boar, a secret gully")
    mine, other = office.client(""), office.client("")
    ask(mine)
    code = code_to(office)
    ask(other, MATE)
    assert give(other, code).status_code == 403
    assert give(mine, code).status_code == 303
    again = office.client("")
    ask(again, "0491 570 157")
    assert give(again, code).status_code == 403
    assert give(mine, code).status_code == 403
    assert "secret gully" in shown(mine)
    assert "secret gully" not in shown(other) + shown(again)


def test_a_code_lasts_ten_minutes(office):
    client = office.client("")
    ask(client)
    code = code_to(office)
    office.clock.wait(601)
    assert give(client, code).status_code == 403


def test_only_the_latest_code_counts(office):
    client = office.client("")
    ask(client)
    first = code_to(office)
    ask(client)
    second = code_to(office)
    assert first == second or give(client, first).status_code == 403
    assert give(client, second).status_code == 303


def test_after_so_many_tries_even_the_right_code_is_refused(office):
    client = office.client("")
    ask(client)
    code = code_to(office)
    wrong = f"{(int(code) + 1) % 10**6:06d}"
    assert {give(client, wrong).status_code for _ in range(MOST_TRIES)} == {403}
    assert give(client, code).status_code == 403


def test_what_is_no_code_is_refused(office):
    client = office.client("")
    assert give(client, "123456").status_code == 403  # None was asked for.
    ask(client)
    for typed in ("", "abc", "١٢٣٤٥٦", "1" * 40):
        assert give(client, typed).status_code == 403, typed
    code = code_to(office)
    assert give(client, f" {code[:3]} {code[3:]} ").status_code == 303


def test_a_number_and_an_address_get_so_many_codes_an_hour(office):
    client = office.client("")
    assert [ask(client).status_code for _ in range(MOST_TO_NUMBER + 1)] == [303] * 3 + [429]
    assert len(texts_to(office)) == MOST_TO_NUMBER
    office.clock.wait(3601)
    assert ask(client).status_code == 303


def test_the_programme_pays_for_so_many_codes_an_hour(office):
    row = {"session": "s", "code_hash": "", "tries": 0, "made_at": office.clock.at}
    with office.database.write() as connection:
        rows = [row | {"number": f"n{n}", "asked_from": f"a{n}"} for n in range(MOST_IN_ALL)]
        connection.execute(tables.ChatCode.__table__.insert(), rows)
    assert ask(office.client("")).status_code == 429
    assert MOST_FROM_ADDRESS < MOST_IN_ALL


def test_who_wants_no_texts_gets_no_code_and_nobody_is_told_so(office):
    office.text("STOP")
    sent = len(texts_to(office))
    client = office.client("")
    assert ask(client).status_code == 303
    known = client.get("/chat/number").get_data(as_text=True)
    assert len(texts_to(office)) == sent
    stranger = office.client("")
    ask(stranger, MATE)
    same = stranger.get("/chat/number").get_data(as_text=True).replace(MATE, HUNTER)
    csrf = re.compile(r'value="[^"]+"')
    assert csrf.sub("", known) == csrf.sub("", same)


def test_what_is_no_number_gets_no_code(office):
    client = office.client("")
    for typed in ("", "12", "hello", "<script>", "+999999999999999999999"):
        answer = ask(client, typed)
        assert answer.status_code == 400, typed
        assert "<script>" not in answer.get_data(as_text=True)


def test_only_keyed_hashes_of_a_code_are_kept(office):
    client = office.client("")
    ask(client)
    with office.database.read() as connection:
        (row,) = connection.execute(select(tables.ChatCode.__table__)).all()
    assert code_to(office) not in str(tuple(row))
    assert len(row.code_hash) == 64  # HMAC-SHA-256 in hexadecimal (RFC 2104, FIPS 180-4).


def test_an_old_copy_of_the_cookie_does_not_see_what_was_proved(office):
    office.text("Boar, a secret gully")
    client = office.client("")
    client.get("/chat")
    stolen = client.get_cookie("bushpost").value
    proved(office, client)
    thief = office.client("")
    thief.set_cookie("bushpost", stolen)
    assert "secret gully" in shown(client)
    assert "secret gully" not in shown(thief)


def test_a_text_that_is_sent_again_after_the_proof_is_still_one(office):
    client = office.client("")
    page = client.get("/chat")
    form = {"csrf_token": token_of(page), "entry": "one-and-the-same", "text": "lump, jaw"}
    client.post("/chat", data=form)
    proved(office, client)
    client.post("/chat", data=form)
    with office.database.read() as connection:
        assert list(connection.scalars(select(tables.TextIn.body))) == ["lump, jaw"]


def test_the_end_of_a_find_is_the_end_for_its_proof_too(office):
    client = office.client("")
    write(client, "Boar, lump under the jaw with pus")
    with office.database.write() as connection:
        connection.execute(update(tables.Conversation).values(stage="closed"))
    proved(office, client)
    assert "lump under the jaw" in shown(client)


def test_forgotten_on_the_telephone_it_is_nobodys(office):
    client = office.client("")
    write(client, "lump, jaw")
    answer = post(client, "/chat/leave", "/chat/leave")
    assert (answer.status_code, answer.headers["Clear-Site-Data"]) == (303, '"cache", "storage"')
    assert "lump, jaw" not in shown(client)
