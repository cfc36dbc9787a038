"""One bound SMPP 3.4 link, over smpplib: bind, submit and wait, read what comes, ask for life.

Whatever breaks a link is LineDown; the caller opens a new one. The peer's requests are answered
by the handler's status only after the handler is done, and so after its commit.
"""

from __future__ import annotations

import select
import ssl
import struct
from collections.abc import Callable
from dataclasses import dataclass
from time import monotonic
from typing import Any, Literal

import smpplib.client
import smpplib.consts
import smpplib.exceptions
import smpplib.smpp

from bot.gateways.protocol import LineDown

Role = Literal["transceiver", "transmitter", "receiver"]
ANSWER_S = 8.0
"""How long the peer has for an answer; two of them within what one hand-over may take."""


class _Tls:
    """What smpplib wraps its socket with: the machine's own trust, and the peer's name checked."""

    def __init__(self, host: str) -> None:
        self._host = host

    def wrap_socket(self, raw: Any) -> ssl.SSLSocket:
        return ssl.create_default_context().wrap_socket(raw, server_hostname=self._host)


@dataclass(frozen=True, slots=True)
class Peer:
    """Where the carrier answers, and as whom to bind."""

    host: str
    port: int
    tls: bool
    system_id: str
    password: str
    system_type: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """What the peer said to a text: a status of SMPP 3.4, 5.1.3 (0 is a yes), and its id."""

    status: int
    id: str


class _Client(smpplib.client.Client):  # type: ignore[misc]
    """smpplib's client, which tells what it read last: it takes leave of nobody by itself."""

    last = ""

    def read_pdu(self) -> Any:
        """As the library does."""
        pdu = super().read_pdu()
        self.last = pdu.command
        return pdu


class Link:
    """A link in one role. `on_message` gets each deliver_sm and gives the status to answer."""

    def __init__(self, peer: Peer, role: Role, on_message: Callable[[Any], int]) -> None:
        self._answers: dict[int, Answer] = {}
        self._asked_at: float | None = None
        self._client = _Client(
            peer.host,
            peer.port,
            timeout=ANSWER_S,
            ssl_context=_Tls(peer.host) if peer.tls else None,
            allow_unknown_opt_params=True,
            logger_name="bot.gateways.smpp",
        )
        self._client.set_message_received_handler(lambda pdu: on_message(pdu))
        self._client.set_message_sent_handler(self._answered)
        # A refusal is an answer like any other: it is read where it is waited for.
        self._client.set_error_pdu_handler(lambda pdu: None)
        self._bind(peer, role)
        self.heard_at = monotonic()

    def _bind(self, peer: Peer, role: Role) -> None:
        try:
            self._client.connect()
            bind = getattr(self._client, f"bind_{role}")
            bind(system_id=peer.system_id, password=peer.password, system_type=peer.system_type)
        except smpplib.exceptions.PDUError as refusal:
            self._client.disconnect()
            raise LineDown(f"bind_refused_{_status(refusal)}") from None
        except (smpplib.exceptions.ConnectionError, OSError):
            self.drop()
            raise LineDown("unreachable") from None

    def submit(self, **fields: Any) -> Answer:
        """Send one submit_sm and wait for its answer, doing meanwhile what else comes in."""
        sequence = _guarded(lambda: self._client.send_message(**fields)).sequence
        until = monotonic() + ANSWER_S
        while sequence not in self._answers:
            if monotonic() > until or not self._read(until - monotonic()):
                raise LineDown("timeout")
        return self._answers.pop(sequence)

    def listen(self, wait_s: float) -> None:
        """Do what comes in within a time; return when there is nothing more."""
        while self._read(wait_s):
            wait_s = 0.0

    def keep_alive(self, every_s: float) -> None:
        """Ask the peer for life when it has been silent; LineDown if it stays so."""
        silent = monotonic() - self.heard_at
        if silent > every_s + ANSWER_S and self._asked_at is not None:
            raise LineDown("silent")
        if silent > every_s and self._asked_at is None:
            self._asked_at = monotonic()
            enquiry = smpplib.smpp.make_pdu("enquire_link", client=self._client)
            _guarded(lambda: self._client.send_pdu(enquiry))

    def close(self) -> None:
        """Unbind, as far as the peer still listens."""
        try:
            self._client.unbind()
        except Exception:
            self._client.logger.info("unbind_unanswered")
        self.drop()

    def drop(self) -> None:
        """Let go of the connection."""
        self._client.state = smpplib.consts.SMPP_CLIENT_STATE_OPEN
        self._client.disconnect()

    def _read(self, wait_s: float) -> bool:
        """Do one thing that came in; False if none did in time."""
        if not self._waits(wait_s):
            return False
        try:
            _guarded(lambda: self._client.read_once(auto_send_enquire_link=False))
        except (smpplib.exceptions.PDUError, smpplib.exceptions.UnknownCommandError) as fault:
            # The whole of it was read, so the link is still in step; it is left unanswered.
            self._client.logger.warning("pdu_unread %s", type(fault).__name__)
        self.heard_at, self._asked_at = monotonic(), None
        if self._client.last == "unbind":
            raise LineDown("unbound")
        return True

    def _waits(self, wait_s: float) -> bool:
        socket = self._client._socket
        if socket is None:
            raise LineDown("closed")
        if isinstance(socket, ssl.SSLSocket) and socket.pending():
            return True
        return bool(select.select([socket], [], [], max(wait_s, 0.0))[0])

    def _answered(self, pdu: Any, **_: Any) -> None:
        name = pdu.message_id or b""
        self._answers[pdu.sequence] = Answer(pdu.status, name.decode("latin-1"))


def _guarded(act: Callable[[], Any]) -> Any:
    """Do something with the connection; LineDown where it is gone or out of step."""
    try:
        return act()
    except (smpplib.exceptions.ConnectionError, OSError, struct.error, ValueError):
        raise LineDown("dropped") from None


def _status(refusal: Exception) -> str:
    """The number of a refusal, as smpplib gives it after the words."""
    return str(refusal.args[1]) if len(refusal.args) > 1 else "unknown"
