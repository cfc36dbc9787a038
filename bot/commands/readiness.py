"""What is unsafe or missing before a programme goes live: findings, each with what to do.

Law: nothing is changed, and no secret, name or number is repeated. What cannot be looked at is
itself a finding.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from pathlib import Path

from msgspec import Struct
from sqlalchemy import Connection, func, select, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import SQLAlchemyError

from bot.commands.secret_checks import KEY_NAME, secret_faults
from bot.fieldwork.dispatch import Roster
from bot.gateways.protocol import BadSettings, Gateway
from bot.gateways.registry import open_gateways
from bot.programme import GatewayRow, Programme
from bot.reading.area import kilometres_outside
from bot.reading.values import Place
from bot.service import tables
from bot.service.accounts import Accounts
from bot.service.database import Database, open_database
from bot.service.migrate import newest, revision
from bot.service.roster import roster
from bot.settings import Settings

MOST_SKEW = timedelta(seconds=5)
"""Between the database's clock and this machine's: logs and links would not agree."""
SYNC = {"fsync": {"on"}, "full_page_writes": {"on"}, "synchronous_commit": {"on", "remote_apply"}}
"""PostgreSQL's settings by which an acknowledged text survives a power cut (its manual, 28)."""
UNSENT = {"signed", "fields"}
"""Kinds of gateway that send nothing without an address to send to."""


class Lack(Struct, frozen=True):
    """One thing that is not right: where, and what to do about it."""

    where: str
    what: str


def lacks(
    programme: Programme, settings: Settings, env: Mapping[str, str], address: str, now: datetime
) -> tuple[Lack, ...]:
    """Everything that is unsafe or missing; empty where the service may go live."""
    return (
        *_secrets(programme, env),
        *_transport(settings),
        *_contacts(programme),
        *_gateways(programme, env),
        *_stored(programme, address, now),
    )


def _secrets(programme: Programme, env: Mapping[str, str]) -> Iterator[Lack]:
    named = {KEY_NAME, *(n for row in programme.head.gateways.values() for n in row.secrets)}
    for name, why in secret_faults(env, named):
        yield Lack("secrets", f"{name} {why}")


def _transport(settings: Settings) -> Iterator[Lack]:
    if not settings.public_url:
        yield Lack("address", "BUSHPOST_PUBLIC_URL is not set: texts to staff carry no links")
    elif settings.public_url.startswith("http://"):
        yield Lack("address", "BUSHPOST_PUBLIC_URL is http: links and log-ins travel in clear")
    if not settings.behind_proxy:
        words = "the service itself speaks plain http: put a web server with a certificate in front"
        yield Lack("address", f"{words}, and set BUSHPOST_BEHIND_PROXY=yes")


def _contacts(programme: Programme) -> Iterator[Lack]:
    contacts = programme.head.contacts
    if programme.head.invented:
        yield Lack("programme", "it is an invented one: name your own with BUSHPOST_PROGRAMME")
    for name in ("emergency", "animal_emergency", "coordinator"):
        if not any(c.isdigit() for c in getattr(contacts, name)):
            yield Lack("contacts", f"{name} in programme.toml holds no number to ring")


def _gateways(programme: Programme, env: Mapping[str, str]) -> Iterator[Lack]:
    rows = programme.head.gateways
    if all(row.kind == "chat" for row in rows.values()):
        yield Lack("gateways", "none brings texts: hunters can use the chat page only")
    for name, row in rows.items():
        if row.kind == "paper":
            yield Lack(
                "gateways", f"{name} is of kind paper, which sends nothing: it is for trials"
            )
        if row.kind in UNSENT and not row.send_url:
            yield Lack("gateways", f"{name} has no send_url: no text ever leaves")
        if row.send_url.startswith("http://"):
            yield Lack("gateways", f"{name} sends over http: numbers and words travel in clear")
        if row.kind != "chat" and not row.secrets:
            yield Lack("gateways", f"{name} names no secret: anybody may say that he is it")
        if why := _fault(name, row, env):
            yield Lack("gateways", why)


def _fault(name: str, row: GatewayRow, env: Mapping[str, str]) -> str:
    if not all(env.get(secret, "").strip() for secret in row.secrets):
        return ""  # Told among the secrets.
    try:
        opened: Mapping[str, Gateway] = open_gateways({name: row}, env)
    except BadSettings as fault:
        return str(fault)
    return "" if opened else f"{name} cannot be opened"


# ----------------------------------------------------------------------------------- database


def _stored(programme: Programme, address: str, now: datetime) -> Iterator[Lack]:
    url = make_url(address)
    if url.get_backend_name() == "sqlite" and not Path(url.database or "").is_file():
        yield Lack("database", "there is none yet: bushpost add-coordinator NAME makes it")
        return
    database = open_database(address, migrate=False)
    try:
        yield from _database(database, programme, now)
    except SQLAlchemyError as fault:
        yield Lack("database", f"it cannot be read: {type(fault).__name__}")
    finally:
        database.close()


def _database(database: Database, programme: Programme, now: datetime) -> Iterator[Lack]:
    with database.read() as connection:
        yield from sync_lacks(connection)
        held = revision(connection)
        if held != newest():
            words = f"its schema is {held or 'empty'}, this program's {newest()}"
            yield Lack("database", f"{words}: start serve or deliver once")
            return
        staff = roster(connection)
        yield from _clock(connection, now)
    yield from _clocks_apart(database, now)
    yield from staff_lacks(staff, programme)
    if not Accounts(database).any():
        yield Lack("people", "nobody can log in: bushpost add-coordinator NAME")


def sync_lacks(connection: Connection) -> Iterator[Lack]:
    """Settings of the database by which a power cut could lose what was acknowledged."""
    if connection.dialect.name == "sqlite":
        if connection.execute(text("PRAGMA journal_mode")).scalar_one() != "wal":
            yield Lack("database", "SQLite's journal_mode is not wal")
        if int(connection.execute(text("PRAGMA synchronous")).scalar_one()) < 2:
            yield Lack("database", "SQLite's synchronous is less than FULL")
        return
    for name, good in SYNC.items():
        value = str(connection.execute(select(func.current_setting(name))).scalar_one())
        if value not in good:
            yield Lack("database", f"PostgreSQL's {name} is {value}: a power cut loses texts")


def _clock(connection: Connection, now: datetime) -> Iterator[Lack]:
    newest_text = connection.scalar(select(func.max(tables.TextIn.arrived_at)))
    if newest_text is not None and newest_text > now + MOST_SKEW:
        yield Lack("clock", "texts are stored that arrived later than this machine's now")


def _clocks_apart(database: Database, now: datetime) -> Iterator[Lack]:
    if not database.is_sqlite and abs(database.now() - now) > MOST_SKEW:
        apart = abs(database.now() - now).total_seconds()
        yield Lack("clock", f"the database's clock and this machine's are {apart:.0f} s apart")


def staff_lacks(staff: Roster, programme: Programme) -> Iterator[Lack]:
    """Whether anybody fetches, and who lives so far from every zone that he reaches none."""
    fetchers = [member for member in staff.members if member.role == "field"]
    if not fetchers:
        yield Lack("people", "nobody on the roster fetches heads")
    for member in fetchers:
        base = Place(member.lat, member.lon, 0, "degrees")
        away = kilometres_outside(base, programme.area)
        if away > member.reach_km:
            words = f"{member.id} lives {away:.0f} km outside every zone and reaches"
            yield Lack("people", f"{words} {member.reach_km:.0f} km")
