"""Photos and backups under a key: what opens them, what does not, and what was there before.

Key derivation is done again by hand with the standard library's HMAC as RFC 5869 section 2 has
it (its test case 1 first), and the pieces are opened one by one from what the format says.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
from io import BytesIO

import pytest
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import insert, select, update

from bot.__main__ import main
from bot.service import tables as t
from bot.service.photos import Shelf
from bot.service.resealing import Resealed, reseal
from bot.service.sealing import HEAD, PIECE, PLAIN, TAG_BYTES, Sealer, SealError, is_sealed
from tests.service.fakes import NOON

OLD, NEW, OTHER = (bytes([n]) * 32 for n in (1, 2, 3))
SEALER = Sealer((NEW, OLD))
LONG = bytes(range(256)) * 1024
ANYWHERE = st.integers(0, len(LONG) + HEAD + 5 * TAG_BYTES - 1)


def hkdf(key, salt, info, length):
    """RFC 5869 sections 2.2 and 2.3, for one block of SHA-256."""
    pseudo = hmac.new(salt or bytes(32), key, hashlib.sha256).digest()
    return hmac.new(pseudo, info + b"\x01", hashlib.sha256).digest()[:length]


def test_the_derivation_by_hand_is_rfc_5869s():
    """Appendix A.1, the first 32 of its 42 bytes."""
    key, salt = b"\x0b" * 22, bytes(range(13))
    given = hkdf(key, salt, bytes(range(0xF0, 0xFA)), 32).hex()
    assert given == "3cb25f25faacd57a90434f64d0362f2a2d2d0a90cf1a5a4c5db02d56ecc4c5bf"


@pytest.mark.parametrize("size", [0, 1, PIECE - 1, PIECE, PIECE + 1, 2 * PIECE, 3 * PIECE + 5])
def test_any_size_comes_back_and_says_what_the_format_says(size):
    plain = LONG[:size]
    sealed = SEALER.seal(plain, "backup")
    assert SEALER.open(sealed, "backup") == plain
    head, body = sealed[:HEAD], sealed[HEAD:]
    assert head[:16] == b"bushpost sealed1"
    assert head[16:24] == hkdf(NEW, b"", b"which key", 8)
    cipher = AESGCM(hkdf(NEW, head[24:], b"sealed backup", 32))
    step = PIECE + TAG_BYTES
    pieces = [body[at : at + step] for at in range(0, max(1, len(body)), step)]
    last = len(pieces) - 1
    opened = [
        cipher.decrypt(n.to_bytes(11, "big") + bytes([n == last]), piece, head)
        for n, piece in enumerate(pieces)
    ]
    assert b"".join(opened) == plain


def test_the_same_is_never_sealed_alike():
    assert SEALER.seal(b"boar", "photo a") != SEALER.seal(b"boar", "photo a")


def test_without_a_key_all_passes_as_it_is():
    assert PLAIN.seal(LONG, "backup") == LONG
    assert SEALER.open(LONG, "backup") == LONG
    assert (PLAIN.on, SEALER.on) == (False, True)


@given(ANYWHERE, st.integers(1, 255))
def test_a_byte_that_was_changed_opens_nothing(at, change):
    """In the first bytes it is no sealed thing any more, and passes: it shows no picture."""
    sealed = bytearray(SEALED_LONG)
    sealed[at] ^= change
    if at < 16:
        assert SEALER.open(bytes(sealed), "backup") == bytes(sealed)
    else:
        with pytest.raises(SealError):
            SEALER.open(bytes(sealed), "backup")


@given(st.integers(16, len(LONG) + HEAD + 4 * TAG_BYTES - 1))
def test_what_was_cut_off_opens_nothing(at):
    with pytest.raises(SealError):
        SEALER.open(SEALED_LONG[:at], "backup")


SEALED_LONG = SEALER.seal(LONG + b"x", "backup")
STEP = PIECE + TAG_BYTES


@pytest.mark.parametrize(
    "order", [(0, 2, 1, 3, 4), (0, 1, 2, 4), (1, 2, 3, 4), (0, 1, 1, 2, 3, 4), (4,)]
)
def test_pieces_in_another_order_open_nothing(order):
    body = SEALED_LONG[HEAD:]
    pieces = [body[at : at + STEP] for at in range(0, len(body), STEP)]
    assert len(pieces) == 5
    with pytest.raises(SealError, match="changed or cut off"):
        SEALER.open(SEALED_LONG[:HEAD] + b"".join(pieces[n] for n in order), "backup")


@pytest.mark.parametrize(
    ("sealer", "words"),
    [(PLAIN, "no key is set"), (Sealer((OTHER,)), "another key than those that are set")],
)
def test_the_wrong_key_is_told(sealer, words):
    with pytest.raises(SealError, match=words):
        sealer.open(SEALED_LONG, "backup")


def test_each_key_of_a_rotation_opens_and_the_first_seals():
    sealed = Sealer((OLD,)).seal(b"boar", "photo a")
    assert SEALER.open(sealed, "photo a") == b"boar"
    assert (SEALER.is_newest(sealed), Sealer((OLD,)).is_newest(sealed)) == (False, True)


def test_one_thing_does_not_open_as_another():
    with pytest.raises(SealError):
        SEALER.open(SEALER.seal(b"boar", "photo a"), "photo b")


def test_a_file_is_written_piece_by_piece():
    sealed, plain = BytesIO(), BytesIO()
    SEALER.seal_file(BytesIO(LONG), sealed, "backup")
    sealed.seek(0)
    SEALER.open_file(sealed, plain, "backup")
    assert plain.getvalue() == LONG


# ------------------------------------------------------------------------------------- photos


def kept_bytes(database, key):
    with database.read() as connection:
        return bytes(connection.scalar(select(t.Photo.data).where(t.Photo.key == key)))


def keep(database, sealer, data=b"a boar's jaw"):
    return Shelf(database, sealer).keep(data, "image/jpeg", None, None, NOON)


def test_a_photo_is_sealed_and_one_from_before_stays_readable(database):
    before, after = keep(database, PLAIN), keep(database, SEALER)
    assert b"jaw" in kept_bytes(database, before)
    assert b"jaw" not in kept_bytes(database, after)
    for key in (before, after):
        assert Shelf(database, SEALER).fetch(key) == ("image/jpeg", b"a boar's jaw")


def test_a_photo_cannot_stand_in_for_another(database):
    one, other = keep(database, SEALER), keep(database, SEALER)
    with database.write() as connection:
        swapped = update(t.Photo).where(t.Photo.key == one)
        connection.execute(swapped.values(data=kept_bytes(database, other)))
    with pytest.raises(SealError):
        Shelf(database, SEALER).fetch(one)


def test_photos_are_sealed_anew_with_the_first_key(database):
    keys = [keep(database, s) for s in (PLAIN, Sealer((OLD,)), SEALER, Sealer((OTHER,)))]
    assert reseal(database, SEALER) == Resealed(now=2, already=1, shut=1)
    for key in keys[:3]:
        assert Shelf(database, Sealer((NEW,))).fetch(key) == ("image/jpeg", b"a boar's jaw")
    assert Shelf(database, Sealer((OTHER,))).fetch(keys[3]) == ("image/jpeg", b"a boar's jaw")
    assert reseal(database, SEALER) == Resealed(already=3, shut=1)


# ------------------------------------------------------------------------------------ commands


def text_of(*keys):
    return " ".join(base64.b64encode(key).decode() for key in keys)


@pytest.fixture
def address(sqlite):
    row = {"key": "k", "type": "image/jpeg", "data": b"a boar's jaw", "kept_at": NOON}
    with sqlite.write() as connection:
        connection.execute(insert(t.Photo).values(row))
    return sqlite.engine.url.render_as_string()


def test_a_backup_under_a_key_comes_back_by_that_key_alone(address, tmp_path, monkeypatch, capsys):
    file, target = tmp_path / "backup", f"sqlite:///{tmp_path / 'new.sqlite3'}"
    monkeypatch.setenv("BUSHPOST_ENCRYPTION_KEY", text_of(NEW))
    assert main(["backup", str(file), "--database", address]) == 0
    assert "keep that elsewhere" in capsys.readouterr().out
    assert is_sealed(file.read_bytes())
    assert b"jaw" not in file.read_bytes()
    assert file.stat().st_mode & 0o077 == 0
    for keys, words in (
        ((), "is encrypted: set BUSHPOST_ENCRYPTION_KEY"),
        ((OTHER,), "encrypted with another key than those that are set"),
    ):
        monkeypatch.setenv("BUSHPOST_ENCRYPTION_KEY", text_of(*keys))
        assert main(["restore", str(file), "--database", target]) == 2
        assert words in capsys.readouterr().err
    monkeypatch.setenv("BUSHPOST_ENCRYPTION_KEY", text_of(OTHER, NEW))
    assert main(["restore", str(file), "--database", target]) == 0


def test_at_a_terminal_the_key_is_asked_for(address, tmp_path, monkeypatch, capsys):
    file, target = tmp_path / "backup", f"sqlite:///{tmp_path / 'new.sqlite3'}"
    monkeypatch.setenv("BUSHPOST_ENCRYPTION_KEY", text_of(NEW))
    assert main(["backup", str(file), "--database", address]) == 0
    monkeypatch.delenv("BUSHPOST_ENCRYPTION_KEY")
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    typed = ["no key", text_of(NEW)]
    monkeypatch.setattr("getpass.getpass", lambda prompt: typed.pop(0))
    assert main(["restore", str(file), "--database", target]) == 2
    assert "key 1 is not the base64 of 32 bytes" in capsys.readouterr().err
    assert main(["restore", str(file), "--database", target]) == 0


def test_the_command_seals_what_is_stored(address, sqlite, monkeypatch, capsys):
    monkeypatch.delenv("BUSHPOST_ENCRYPTION_KEY", raising=False)
    assert main(["seal", "--database", address]) == 2
    assert "BUSHPOST_ENCRYPTION_KEY is not set" in capsys.readouterr().err
    monkeypatch.setenv("BUSHPOST_ENCRYPTION_KEY", text_of(NEW, OLD))
    assert main(["seal", "--database", address]) == 0
    assert "1 photos and second factors encrypted, 0 photos were" in capsys.readouterr().out
    assert is_sealed(kept_bytes(sqlite, "k"))
    monkeypatch.setenv("BUSHPOST_ENCRYPTION_KEY", text_of(OTHER))
    assert main(["seal", "--database", address]) == 1
    assert "1 open with none" in capsys.readouterr().out
