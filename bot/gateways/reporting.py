"""What a carrier reports by HTTP of texts that it took, as options of a row of kind "fields".

    report_id or report_key    where the carrier's id stands, or our own $key (one of them)
    report_state               where the state stands (needed)
    report_delivered, report_undeliverable    patterns that the whole state matches; what matches
                               neither says only that the carrier has the text
    report_reason, report_at   why it failed; when (the time of arrival otherwise)
    report_at_form             as at_form; a bare time is read in at_zone
    report_each                "json:reports" where one request reports on several texts
    report_method              POST or GET; otherwise as `method`

A report is proved as a text is.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import tzinfo
from typing import Literal

from bot.gateways import payload
from bot.gateways.places import Opened, check_places, path_of
from bot.gateways.protocol import BadSettings, Report, Request

STANDS = ("report_id", "report_key", "report_state", "report_reason", "report_at")
OPTIONS = frozenset(STANDS) | {
    *("report_delivered", "report_undeliverable", "report_at_form", "report_each"),
    "report_method",
}


@dataclass(frozen=True, slots=True)
class Reporter:
    """The reporting half of a row; without `report_state` there is none."""

    options: Mapping[str, str]
    zone: tzinfo | None

    @property
    def methods(self) -> frozenset[str]:
        """How reports come in; empty if they do not."""
        usual = self.options.get("method", "POST")
        method = self.options.get("report_method", usual)
        return frozenset({method} if "report_state" in self.options else ())

    def names(self, key: str, carrier_id: str) -> tuple[str, ...]:
        """Under which name a text that was handed over will be reported on, if it will."""
        if "report_state" not in self.options:
            return ()
        name = key if "report_key" in self.options else carrier_id
        return (name,) if name else ()

    def read(self, request: Request) -> tuple[Report, ...]:
        """What a request reports; BadBody names the carrier's own field."""
        items = Opened(request).each(self.options.get("report_each", ""))
        return tuple(self._report(item, request) for item in items)

    def _report(self, item: Opened, request: Request) -> Report:
        named = self.options.get("report_key") or self.options["report_id"]
        name = payload.as_key(item.at(named), path_of(named))
        stated = self.options["report_state"]
        state = payload.as_key(item.at(stated), path_of(stated))
        reason = item.given(self.options.get("report_reason"))
        at = request.at
        given = item.given(self.options.get("report_at"))
        if given is not None:
            form = self.options.get("report_at_form", "iso")
            at = payload.as_moment(given, path_of(self.options["report_at"]), form, self.zone)
        return Report(name, self._state(state), at, _reason(reason) or state)

    def _state(self, state: str) -> Literal["accepted", "delivered", "undeliverable"]:
        if re.fullmatch(self.options["report_delivered"], state):
            return "delivered"
        if re.fullmatch(self.options["report_undeliverable"], state):
            return "undeliverable"
        return "accepted"


def _reason(value: object) -> str:
    """The carrier's reason, which is shown and decides nothing: a value of any kind will do."""
    return "" if value is None or isinstance(value, dict | list) else str(value).strip()


def check_reports(options: Mapping[str, str]) -> None:
    """Refuse report options that would fail only when the first report comes in."""
    given = OPTIONS & set(options)
    if not given:
        return
    if "report_state" not in options:
        raise BadSettings(f"options.{min(given)}: it needs options.report_state")
    if ("report_id" in options) == ("report_key" in options):
        raise BadSettings("options.report_id: either that or report_key, and not both")
    for name in ("report_delivered", "report_undeliverable"):
        if name not in options:
            raise BadSettings(f"options.{name}: missing")
        try:
            re.compile(options[name])
        except re.error as fault:
            raise BadSettings(f"options.{name}: {fault}") from None
    if options.get("report_method", "POST") not in ("GET", "POST"):
        raise BadSettings("options.report_method: neither GET nor POST")
    check_places(options, STANDS, "report_each")
