"""Where a carrier's fields stand in a request: "query:from", "form:From", "json:message.from",
"header:x-id", "body:" (the whole body as text), or "item:from" within one of several."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from urllib.parse import parse_qsl

from bot.gateways import payload
from bot.gateways.protocol import BadBody, BadSettings, Request

PLACES = ("query", "form", "json", "header", "body", "item")
MOST_ITEMS = 200
"""Texts or reports of one request; within the 2 MB that a request may have there are fewer."""


class Opened:
    """A request with its body read once, in whatever shape the row's places ask for."""

    def __init__(self, request: Request, item: object = None) -> None:
        self._request = request
        self._item = item

    def at(self, place: str) -> object:
        """The value at a place, or BadBody("from: missing") with the path the carrier knows."""
        where, _, path = place.partition(":")
        if where == "body":
            return self._body_text()
        if where == "json":
            return payload.dig(self._json, path)
        if where == "item":
            return payload.dig(self._item, path)
        found = self._table(where).get(path.lower() if where == "header" else path)
        if found is None:
            raise BadBody(path, "missing")
        return found

    def given(self, place: str | None) -> object | None:
        """The value at a place, or None where the row names none or the request has none."""
        if not place:
            return None
        try:
            return self.at(place)
        except BadBody:
            return None

    def each(self, place: str) -> tuple[Opened, ...]:
        """One for each item of the list at "json:messages" ("json:" where the whole body is the
        list); itself alone where the row names no list."""
        if not place:
            return (self,)
        path = place.partition(":")[2]
        body = payload.json_value(self._request.body)
        found = payload.dig(body, path) if path else body
        if not isinstance(found, list):
            raise BadBody(path or "body", "not a list")
        if len(found) > MOST_ITEMS:
            raise BadBody(path or "body", f"more than {MOST_ITEMS}")
        return tuple(Opened(self._request, item) for item in found)

    def _table(self, where: str) -> Mapping[str, str]:
        if where == "form":
            return self._form
        return self._request.query if where == "query" else self._request.headers

    @cached_property
    def _json(self) -> dict[str, object]:
        return payload.json_object(self._request.body)

    @cached_property
    def _form(self) -> dict[str, str]:
        try:
            body = self._request.body.decode("utf-8")
            return dict(parse_qsl(body, keep_blank_values=True, max_num_fields=200))
        except ValueError:
            raise BadBody("body", "not a form") from None

    def _body_text(self) -> str:
        try:
            return self._request.body.decode("utf-8")
        except UnicodeDecodeError:
            raise BadBody("body", "not UTF-8") from None


def path_of(place: str) -> str:
    """The carrier's own name for a place, for naming a fault."""
    return place.partition(":")[2] or "body"


def check_places(options: Mapping[str, str], names: tuple[str, ...], each: str) -> None:
    """BadSettings for a place that is none, or within a list that the row does not name."""
    listed = options.get(each, "")
    if listed and listed.partition(":")[0] != "json":
        raise BadSettings(f"options.{each}: {listed!r} is not like json:messages")
    for name in names:
        place = options.get(name, "body:")
        where, colon, _ = place.partition(":")
        if where not in PLACES or not colon:
            raise BadSettings(f"options.{name}: {place!r} is not like query:from")
        if where == "item" and not listed:
            raise BadSettings(f"options.{name}: an item of no list, since {each} is not set")
