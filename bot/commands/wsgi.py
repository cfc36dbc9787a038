"""The web side for any WSGI server, settings from the environment alone.

    gunicorn --workers 2 --threads 4 'bot.commands.wsgi:app()'

Each process makes its own, after it was forked: connections are not shared. Delivery is left to
`bushpost deliver`; secrets must be one's own, as with `serve --public`.
"""

from __future__ import annotations

import argparse
import os
from datetime import UTC, datetime

from flask import Flask
from werkzeug.middleware.proxy_fix import ProxyFix

from bot.commands.opening import open_service
from bot.service.sealing import Sealer
from bot.settings import Settings
from bot.web.app import create_app
from bot.web.serving import wiring_of
from bot.web.wiring import Settings as WebSettings


def app() -> Flask:
    """The pages and the webhook. ValueError names what is missing or wrong."""
    settings = Settings.from_environment(os.environ)
    args = argparse.Namespace(programme=None, dialogs=None, database=None)
    opened = open_service(args, settings, os.environ, public=True)
    web = WebSettings(
        opened.secret_key,
        True,
        settings.tiles,
        settings.limits,
        settings.metrics_token,
        Sealer(settings.encryption_keys),
        settings.second_factor,
    )

    def now() -> datetime:
        return datetime.now(UTC)

    pages = create_app(wiring_of(opened.intake, opened.gateways, opened.dialog, web, now))
    if settings.behind_proxy:
        fixed = ProxyFix(pages.wsgi_app, x_for=1, x_proto=1, x_host=1)
        pages.wsgi_app = fixed  # type: ignore[method-assign]
    return pages
