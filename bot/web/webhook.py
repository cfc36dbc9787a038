"""POST /hear/<gateway>: one request of a carrier, answered only after the commit. The same at
/hear/<gateway>/report for what the carrier reports of texts that it took.

200 with an empty body (some carriers text the answer back to the hunter), also for a repeat;
403 bad proof (429 once an address had too many), 400 naming the field, 404 no such gateway, 405
method, 413 too large. Whatever is refused leaves nothing behind. Logs hold ids and reason codes,
never words or numbers.
"""

from __future__ import annotations

import logging

import msgspec
from flask import Blueprint, Response, jsonify, request
from werkzeug.exceptions import MethodNotAllowed, NotFound

from bot.gateways.protocol import BadBody, BadProof, Reporting
from bot.gateways.protocol import Request as GatewayRequest
from bot.messages import Heard
from bot.web import wired
from bot.web.pictures import BadPicture, hear_with_pictures, keep_picture
from bot.web.throttle import failed_proof

blueprint = Blueprint("webhook", __name__)
log = logging.getLogger(__name__)


@blueprint.route("/hear/<name>", methods=["GET", "POST"], provide_automatic_options=False)
def hear(name: str) -> Response:
    """Take the texts of one request; see the table above for what is answered."""
    wiring = wired()
    gateway = wiring.gateways.get(name)
    if gateway is None:
        raise NotFound
    asked = _asked(gateway.methods)
    gateway.verify(asked, asked.at)
    for heard in gateway.hear(asked):
        hear_with_pictures(wiring, _with_photos(heard), asked.at)
    return Response(status=200)


@blueprint.route("/hear/<name>/report", methods=["GET", "POST"], provide_automatic_options=False)
def report(name: str) -> Response:
    """Take what a carrier says became of texts out; 404 for a gateway that reports nothing."""
    wiring = wired()
    gateway = wiring.gateways.get(name)
    if not isinstance(gateway, Reporting) or not gateway.report_methods:
        raise NotFound
    asked = _asked(gateway.report_methods)
    gateway.verify(asked, asked.at)
    wiring.intake.report(name, gateway.reports(asked), asked.at)
    return Response(status=200)


def _asked(methods: frozenset[str]) -> GatewayRequest:
    """The request as a gateway takes it, if it comes by one of its methods."""
    if request.method not in methods:
        raise MethodNotAllowed(valid_methods=sorted(methods))
    return GatewayRequest(
        method=request.method,
        headers={key.lower(): value for key, value in request.headers.items()},
        query=request.args.to_dict(),
        at=wired().now(),
        body=request.get_data(),
        remote=request.remote_addr or "",
    )


def _with_photos(heard: Heard) -> Heard:
    """The same text with its pictures kept. One that cannot be opened is left out: the words
    beside it matter more than it does."""
    photos = list(heard.photos)
    for picture in heard.pictures:
        try:
            photos.append(keep_picture(wired(), picture.data))
        except BadPicture:
            log.warning("picture_left_out", extra={"gateway": heard.gateway})
    return msgspec.structs.replace(heard, photos=tuple(photos), pictures=())


@blueprint.errorhandler(BadProof)
def bad_proof(fault: BadProof) -> Response:
    """403, and not a word on what was wrong: whoever signs knows, nobody else should."""
    log.warning("bad_proof", extra={"gateway": _gateway_name(), "reason": str(fault)})
    return failed_proof(Response(status=403))


@blueprint.errorhandler(BadBody)
def bad_body(fault: BadBody) -> tuple[Response, int]:
    """400 with the field's path and what is wrong with it."""
    log.warning("bad_body", extra={"gateway": _gateway_name(), "reason": fault.path})
    return jsonify(field=fault.path, why=fault.why), 400


def _gateway_name() -> str:
    return str((request.view_args or {}).get("name", ""))
