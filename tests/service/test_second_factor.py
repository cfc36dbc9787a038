"""A second factor is proposed, confirmed, asked for, and each of its codes is good once."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from sqlalchemy import select

from bot.service import tables as t
from bot.service import totp
from bot.service.accounts import AccountError
from bot.service.resealing import reseal
from bot.service.sealing import Sealer, SealError
from bot.service.second_factor import PAPER_CODES, SEALED, Factors
from tests.service.fakes import NOON

STEP = timedelta(seconds=totp.PERIOD_S)
WHO = "ines"
KEYED = Sealer((bytes(32),))


@pytest.fixture
def factors(database):
    return Factors(database)


def code(secret, at):
    return totp.code_at(secret, totp.step_of(at))


def set_up(factors, at=NOON):
    secret = factors.propose(WHO, at)
    return secret, factors.confirm(WHO, code(secret, at), at)


def kept(database):
    with database.read() as connection:
        return connection.scalar(select(t.SecondFactor.secret))


def test_it_is_asked_for_only_after_its_first_code(factors):
    secret = factors.propose(WHO, NOON)
    assert (factors.since(WHO), factors.proposed(WHO)) == (None, secret)
    assert factors.confirm(WHO, "000000", NOON) == ()
    assert not factors.check(WHO, code(secret, NOON), NOON)
    assert len(factors.confirm(WHO, code(secret, NOON), NOON)) == PAPER_CODES
    assert (factors.since(WHO), factors.proposed(WHO)) == (NOON, None)
    with pytest.raises(AccountError, match="already"):
        factors.propose(WHO, NOON)


def test_who_begins_anew_before_confirming_has_the_newer_secret(factors):
    old, new = factors.propose(WHO, NOON), factors.propose(WHO, NOON)
    assert factors.confirm(WHO, code(old, NOON), NOON) == ()
    assert factors.confirm(WHO, code(new, NOON), NOON)


def test_a_code_is_good_once_within_its_time_too(factors):
    secret, _ = set_up(factors)
    assert not factors.check(WHO, code(secret, NOON), NOON)
    later = NOON + STEP
    typed = f" {code(secret, later)[:3]} {code(secret, later)[3:]} "
    assert [factors.check(WHO, typed, later) for _ in range(2)] == [True, False]
    assert not factors.check(WHO, typed, later + STEP)


def test_two_processes_take_one_code_once(factors, database):
    secret, paper = set_up(factors)
    later = NOON + STEP
    doors = [Factors(database) for _ in range(4)]
    for typed in (code(secret, later), paper[0]):
        with ThreadPoolExecutor(4) as pool:
            taken = list(pool.map(lambda d, typed=typed: d.check(WHO, typed, later), doors))
        assert sorted(taken) == [False, False, False, True]


def test_each_code_on_paper_is_good_once_however_it_is_typed(factors):
    _, paper = set_up(factors)
    assert len(set(paper)) == PAPER_CODES
    # 24 letters of base32 are 120 bits: OWASP ASVS 5.0, 6.5.2 wants 112 for a fast hash.
    assert {len(c.replace("-", "")) for c in paper} == {24}
    assert factors.check(WHO, paper[0].upper().replace("-", " "), NOON)
    assert not factors.check(WHO, paper[0], NOON)
    assert factors.paper_left(WHO) == PAPER_CODES - 1
    assert not factors.check("vera", paper[1], NOON)
    factors.renew_paper(WHO, NOON)
    assert not factors.check(WHO, paper[1], NOON)
    assert factors.paper_left(WHO) == PAPER_CODES


def test_neither_paper_nor_secret_can_be_read_back(database):
    factors = Factors(database, KEYED)
    secret, paper = set_up(factors)
    with database.read() as connection:
        tables = (select(t.SecondFactor), select(t.RecoveryCode))
        written = str([connection.execute(each).all() for each in tables]).upper()
    assert totp.as_text(secret) not in written
    assert not any(c.upper().replace("-", "") in written.replace("-", "") for c in paper)
    assert factors.check(WHO, code(secret, NOON + STEP), NOON + STEP)
    with pytest.raises(SealError):
        Factors(database).check(WHO, "123456", NOON)


def test_a_secret_from_before_the_key_is_sealed_with_the_photos(factors, database):
    secret, _ = set_up(factors)
    assert kept(database) == totp.as_text(secret)
    assert reseal(database, KEYED).now == 1
    assert kept(database).startswith(SEALED)
    assert Factors(database, KEYED).check(WHO, code(secret, NOON + STEP), NOON + STEP)


def test_taken_away_nothing_of_it_is_left(factors, database):
    _, paper = set_up(factors)
    factors.remove(WHO)
    assert (factors.since(WHO), factors.paper_left(WHO), kept(database)) == (None, 0, None)
    assert not factors.check(WHO, paper[0], NOON)
