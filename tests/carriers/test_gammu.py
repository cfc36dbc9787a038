"""Debian's gammu-smsd with its dummy device, set up as the manual says, and the real service."""

from __future__ import annotations

from pathlib import Path

from tests.carriers.house import block, house, needed, texts_in, texts_out, until

HUNTER = "+61491570006"
PARTS = ("Shot a big boar, pus in gland under the jaw. ", "3km nw of Brindle Hut, Māori gate")


def received(number: int) -> str:
    """One part of a text as the dummy device holds it, in gammu's own backup format."""
    words = PARTS[number - 1].encode("utf-16-be").hex().upper()
    return (
        f'[SMSBackup000]\nNumber = "{HUNTER}"\nState = UnRead\nCoding = Unicode_No_Compression\n'
        f"UDH = 0500032A02{number:02X}\nFolder = 1\nLength = {len(PARTS[number - 1])}\n"
        f"Class = -1\nDateTime = 20261125T06300{number}\nText00 = {words}\n"
    )


def test_a_hunters_text_and_the_replies_through_a_modem(tmp_path: Path) -> None:
    needed("gammu-smsd")
    with house(tmp_path) as home:
        spool = tmp_path / "spool"
        for name in ("inbox", "outbox", "sent", "failed"):
            (spool / name).mkdir(parents=True)
        device = tmp_path / "dummy"
        (device / "sms" / "1").mkdir(parents=True)
        settings = block("smsd", "modem.md").replace("/var/spool/gammu", str(spool))
        settings = settings.replace("/dev/ttyUSB0", str(device)).replace("= at115200", "= none")
        settings = settings.replace("[gammu]", "[gammu]\nmodel = dummy")
        (tmp_path / "smsd.conf").write_text(settings)
        for place, number in enumerate((2, 1), 1):
            (device / "sms" / "1" / str(place)).write_text(received(number))
        home.programme(block("toml", "modem.md").replace("/var/spool/gammu", str(spool)))
        smsd = home.start("gammu-smsd", "-c", "smsd.conf")
        until(lambda: any((spool / "inbox").iterdir()), f"the modem's file: {smsd.said()}")
        home.bushpost("carry", "shed", env={})
        database = home.database()
        until(lambda: texts_in(database), "the text to arrive")
        assert texts_in(database) == [(HUNTER, "".join(PARTS))]
        until(lambda: out_of(database) == {("sent", "accepted")}, "the modem to send the replies")
        assert [list((spool / name).iterdir()) for name in ("inbox", "outbox", "sent")] == [[]] * 3
        assert smsd.said().count("Transmitted OUTC_") >= len(texts_out(database))


def out_of(database) -> set[tuple[str, str]]:
    return {(state, report) for *_, state, report in texts_out(database)}
