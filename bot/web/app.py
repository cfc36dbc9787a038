"""create_app: the pages from a wiring. No work at import, no settings from anywhere else.

Every page carries a strict content security policy: our own files only, nothing inline.
"""

from __future__ import annotations

import logging
from datetime import timedelta
from urllib.parse import urlsplit

from flask import Flask, Response, render_template, request
from flask_wtf.csrf import CSRFProtect
from werkzeug.exceptions import HTTPException, ServiceUnavailable

from bot.service.sealing import SealError
from bot.service.tallies import OwnTallies, SharedTallies, Tallies
from bot.web import (
    accounts,
    acts,
    ages,
    chat,
    chat_kept,
    chat_number,
    custody,
    desk,
    entering,
    evidence,
    job,
    laboratory,
    manual,
    maps,
    metrics,
    own,
    pages,
    people,
    roster,
    rounds,
    searching,
    season,
    second_step,
    throttle,
    trying,
    webhook,
    wired,
)
from bot.web.audit import keep_audit
from bot.web.squeezing import squeeze
from bot.web.wiring import Wiring
from bot.web.words import words_for_templates

log = logging.getLogger(__name__)
MOST_BYTES = 2 * 1024 * 1024
CSP = "; ".join(
    (
        "default-src 'none'",
        "img-src 'self'",
        "style-src 'self'",
        "script-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
HSTS = "max-age=31536000; includeSubDomains"
"""RFC 6797; a year, as OWASP ASVS 5.0, 3.4.1 has it. Said only where cookies are for HTTPS too."""
COOKIE, HOST_COOKIE = "bushpost", "__Host-bushpost"
"""With the prefix a browser takes it from this very host by HTTPS alone (RFC 6265bis, 4.1.3.2)."""
HEADERS = {
    "Content-Security-Policy": CSP,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(self), camera=(), microphone=()",
    "Cross-Origin-Opener-Policy": "same-origin",
}

PAGES = (
    *(
        pages,
        metrics,
        webhook,
        chat,
        chat_kept,
        chat_number,
        accounts,
        second_step,
        own,
        desk,
        acts,
        entering,
        searching,
        people,
        maps,
        season,
        trying,
    ),
    *(manual, custody, laboratory, job, rounds, roster, ages, evidence),
)


def create_app(wiring: Wiring) -> Flask:
    """The whole web side, ready to be served by any WSGI server."""
    app = Flask(__name__)
    app.config.update(
        SECRET_KEY=wiring.settings.secret_key,
        MAX_CONTENT_LENGTH=MOST_BYTES,
        MAX_FORM_MEMORY_SIZE=100_000,
        SESSION_COOKIE_NAME=HOST_COOKIE if wiring.settings.secure_cookies else COOKIE,
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Lax",
        SESSION_COOKIE_SECURE=wiring.settings.secure_cookies,
        PERMANENT_SESSION_LIFETIME=timedelta(days=60),
        # A hunter's page may stay open for days without signal; the token is bound to his
        # session, which is what protects him.
        WTF_CSRF_TIME_LIMIT=None,
        WTF_CSRF_SSL_STRICT=False,
    )
    app.extensions["bushpost"] = wiring
    counted = _tallies(wiring)
    app.extensions["bushpost_failures"] = accounts.Failures(counted)
    app.extensions["bushpost_throttle"] = throttle.Throttle(
        throttle.paces(wiring.settings.limits), counted
    )
    metrics.keep_count(app)
    csrf = CSRFProtect(app)
    for open_door in (webhook, job):  # Each request there is signed by itself.
        csrf.exempt(open_door.blueprint)
    for module in PAGES:
        app.register_blueprint(module.blueprint)
    app.register_blueprint(people.guests)
    accounts.login_manager().init_app(app)
    app.context_processor(words_for_templates)
    app.after_request(squeeze)
    app.after_request(_guard)
    keep_audit(app)
    app.register_error_handler(HTTPException, _refusal)
    app.register_error_handler(SealError, _sealed)
    return app


def _tallies(wiring: Wiring) -> Tallies:
    """Where failures are counted: in the database, for every process on it, where there is one."""
    if wiring.database is None:
        return OwnTallies()
    return SharedTallies(wiring.database, wiring.settings.secret_key)


def _guard(response: Response) -> Response:
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    if wired().settings.secure_cookies:
        response.headers["Strict-Transport-Security"] = HSTS
    tiles = wired().settings.tiles
    if tiles and request.path.startswith("/desk/"):
        host = "://".join(urlsplit(tiles)[:2])
        policy = CSP.replace("img-src 'self'", f"img-src 'self' {host}")
        response.headers["Content-Security-Policy"] = policy
    if not request.path.startswith("/static/"):
        response.headers.setdefault("Cache-Control", "no-store")
    return response


def _sealed(fault: SealError) -> Response:
    """Something is encrypted with a key that is not set, or was changed: nobody sees it now."""
    log.error("sealed_shut", extra={"reason": str(fault)})
    return _refusal(ServiceUnavailable(f"What is kept here does not open: {fault}."))


def _refusal(fault: HTTPException) -> Response:
    """A plain page for people, an empty answer for carriers; the status is the fault's own."""
    response = fault.get_response()
    if request.path.startswith("/hear/"):
        response.set_data(b"")
        response.content_type = "text/plain"
    else:
        response.set_data(render_template("pages/refusal.html", fault=fault))
        response.content_type = "text/html; charset=utf-8"
    return Response(response.get_data(), response.status_code, list(response.headers))
