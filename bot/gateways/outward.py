"""Sending by a row of settings: an address and a body with placeholders in them.

$to, $text   whom, and what                 $key      our own name for the text
$secret      that of send_secret            $token    the first of `secrets`, for report addresses
$coding      send_plain (0) where GSM 7-bit does, send_wide (2) where it takes UCS-2

send_url         where to; may hold the placeholders, which are percent-encoded there
send_method      POST (default) or GET
send_type        form (default) or json: how placeholders are written inside send_body
send_body        such as "to=$to&text=$text" or {"to": $to, "text": $text}
send_auth        basic, bearer or header:<name>, with the secret of send_secret
send_secret      names an environment variable
send_digits      "yes" leaves the plus of an E.164 number off
accepted         a pattern that the answer must hold besides a 2xx status
later            a pattern by which the answer says that it must be tried again
carrier_id       "json:<path>" or "pattern:<regex with a group>" in the answer
"""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from string import Template
from urllib.parse import quote

import httpx

from bot.gateways import payload, sending
from bot.gateways.protocol import BadBody, BadSettings, NotSent, Sent, Settings
from bot.gateways.userdata import encode_gsm
from bot.messages import Address

_TYPES: dict[str, tuple[str, Callable[[str], str]]] = {
    "form": ("application/x-www-form-urlencoded", lambda text: quote(text, safe="")),
    "json": ("application/json", json.dumps),
}
_PLACEHOLDERS = ("to", "text", "key", "secret", "token", "coding")
_READ_BYTES = 20_000


@dataclass(frozen=True, slots=True)
class Outward:
    """How one row sends. Built by `open_outward`, which has checked it."""

    url: str
    options: Mapping[str, str]
    secret: str = ""
    token: str = ""
    client: httpx.Client = field(default_factory=sending.new_client)

    def send(self, address: Address, body: str, key: str) -> Sent:
        """Hand one text over; NotSent("no_send_url" | "refused" | ...) if it was not taken."""
        if not self.url:
            raise NotSent("no_send_url", retry=False)
        number = address.number
        if self.options.get("send_digits") == "yes":
            number = number.removeprefix("+")
        values = {
            "to": number,
            "text": body,
            "key": key,
            "secret": self.secret,
            "token": self.token,
            "coding": self._coding(body),
        }
        response = sending.post(self.client, self._request(values))
        answer = response.text[:_READ_BYTES]
        later = self.options.get("later")
        if later and re.search(later, answer):
            raise NotSent("refused_for_now", retry=True)
        if not re.search(self.options.get("accepted", ""), answer):
            raise NotSent("refused", retry=False)
        return Sent(self._carrier_id(answer))

    def _coding(self, body: str) -> str:
        """The carrier's word for the alphabet that a text takes."""
        if encode_gsm(body) is None:
            return self.options.get("send_wide", "2")
        return self.options.get("send_plain", "0")

    def _request(self, values: Mapping[str, str]) -> httpx.Request:
        url = _filled(self.url, values, _TYPES["form"][1])
        method = self.options.get("send_method", "POST")
        headers = self._auth()
        if method == "GET":
            return self.client.build_request("GET", url, headers=headers)
        media, written = _TYPES[self.options.get("send_type", "form")]
        content = _filled(self.options.get("send_body", ""), values, written)
        headers["content-type"] = media
        return self.client.build_request("POST", url, headers=headers, content=content.encode())

    def _auth(self) -> dict[str, str]:
        how = self.options.get("send_auth", "")
        if how == "basic":
            packed = base64.b64encode(self.secret.encode()).decode()
            return {"authorization": f"Basic {packed}"}
        if how == "bearer":
            return {"authorization": f"Bearer {self.secret}"}
        return {how.removeprefix("header:"): self.secret} if how else {}

    def _carrier_id(self, answer: str) -> str:
        """The carrier's id for the text, or "" where it gives none that can be read."""
        how, _, where = self.options.get("carrier_id", "").partition(":")
        if how == "json":
            try:
                found = payload.dig(payload.json_object(answer.encode()), where)
                return payload.as_key(found, where)
            except BadBody:
                return ""
        hit = re.search(where, answer) if how else None
        return hit.group(1)[: payload.LONGEST_KEY] if hit else ""


def _filled(template: str, values: Mapping[str, str], written: Callable[[str], str]) -> str:
    return Template(template).substitute({name: written(text) for name, text in values.items()})


def _check(row: Settings) -> None:
    """Refuse send options that would fail only when the first text goes out."""
    options = row.options
    for name, template in (("send_url", row.send_url), ("send_body", options.get("send_body", ""))):
        try:
            Template(template).substitute(dict.fromkeys(_PLACEHOLDERS, ""))
        except (ValueError, KeyError):
            known = ", ".join(f"${each}" for each in _PLACEHOLDERS)
            raise BadSettings(f"{name}: a $ that is none of {known}") from None
    if options.get("send_method", "POST") not in ("GET", "POST"):
        raise BadSettings("options.send_method: neither GET nor POST")
    if options.get("send_type", "form") not in _TYPES:
        raise BadSettings("options.send_type: neither form nor json")
    _check_patterns(options)


def _check_patterns(options: Mapping[str, str]) -> None:
    how, _, where = options.get("carrier_id", "").partition(":")
    if how not in ("", "json", "pattern"):
        raise BadSettings("options.carrier_id: neither json: nor pattern:")
    try:
        groups = re.compile(where).groups if how == "pattern" else 1
        re.compile(options.get("accepted", ""))
        re.compile(options.get("later", ""))
    except re.error as fault:
        raise BadSettings(f"options.accepted, later or carrier_id: {fault}") from None
    if groups != 1:
        raise BadSettings("options.carrier_id: a pattern needs one group")
    auth = options.get("send_auth", "")
    if auth not in ("", "basic", "bearer") and not auth.startswith("header:"):
        raise BadSettings("options.send_auth: none of basic, bearer, header:<name>")


def open_outward(row: Settings, env: Mapping[str, str]) -> Outward:
    """The sending half of a row; BadSettings names the option at fault."""
    _check(row)
    variable = row.options.get("send_secret", "")
    if variable and not env.get(variable):
        raise BadSettings(f"{variable} is not set in the environment")
    secret = env.get(variable, "") if variable else ""
    token = env.get(row.secrets[0], "") if row.secrets else ""
    return Outward(row.send_url, dict(row.options), secret, token)
