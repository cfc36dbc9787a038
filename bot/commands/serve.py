"""`bushpost serve`: the webhook, the chat and the desk, and delivery beside them when alone."""

from __future__ import annotations

import argparse
import ipaddress
import logging
import os
import sys
import threading
from datetime import UTC, datetime
from typing import Any

from bot.commands.deliver import keep_working
from bot.commands.opening import Opened, add_service_options, open_service
from bot.commands.readiness import lacks
from bot.gateways.protocol import Line
from bot.service.accounts import Accounts
from bot.service.logs import JsonLines
from bot.service.sealing import Sealer
from bot.settings import USUAL_PORT, Settings
from bot.web.app import create_app
from bot.web.serving import Server, wiring_of
from bot.web.wiring import Settings as WebSettings


def add_serve(subparsers: Any) -> None:
    """Add the command to the command line."""
    parser = subparsers.add_parser("serve", help="serve the webhook, the chat and the desk")
    add_service_options(parser)
    parser.add_argument("--host", default=None, help="address to listen on (default: 127.0.0.1)")
    parser.add_argument("--port", type=int, default=None, help=f"port (default: {USUAL_PORT})")
    words = "others can reach it: own secrets needed, cookies over HTTPS only"
    parser.add_argument("--public", action="store_true", help=words)
    parser.add_argument("--no-deliver", action="store_true", help="leave delivery to `deliver`")
    parser.set_defaults(run=run_serve)


def run_serve(args: argparse.Namespace) -> int:
    """Serve until interrupted; exit code 2 and one line where it cannot begin."""
    try:
        settings = Settings.from_environment(os.environ)
        host, port = _address(args, settings)
        opened = open_service(args, settings, os.environ, public=args.public)
        server = _server(opened, host, port, settings, public=args.public)
    except (ValueError, OSError) as fault:
        print(f"bushpost serve: {fault}", file=sys.stderr)
        return 2
    if args.public:
        _say_what_lacks(opened, settings, args.database or settings.database)
    _log_as_json()
    _say_where(server, opened)
    stop = threading.Event()
    if not args.no_deliver:
        order = (opened, opened.intake.database.now, stop)
        threading.Thread(target=keep_working, args=order, name="deliver", daemon=True).start()
    try:
        server.run()
    finally:
        stop.set()
        server.close()
    return 0


def _address(args: argparse.Namespace, settings: Settings) -> tuple[str, int]:
    """Where to listen. Without --public only this machine itself may reach the service."""
    host = args.host or settings.host
    port = settings.port if args.port is None else args.port
    if not 0 <= port < 65536:
        raise ValueError(f"{port!r} is not a port")
    if not args.public and not _is_loopback(host):
        raise ValueError(f"{host} can be reached by others: say --public if that is meant")
    return host, port


def _is_loopback(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _server(opened: Opened, host: str, port: int, settings: Settings, *, public: bool) -> Server:
    web = WebSettings(
        opened.secret_key,
        public,
        settings.tiles,
        settings.limits,
        settings.metrics_token,
        Sealer(settings.encryption_keys),
        settings.second_factor,
    )
    app = create_app(wiring_of(opened.intake, opened.gateways, opened.dialog, web, _now))
    try:
        return Server(app, host, port, settings.behind_proxy)
    except OSError as fault:
        raise OSError(f"cannot listen on {host}:{port}: {fault.strerror}") from fault


def _log_as_json() -> None:
    handler = logging.StreamHandler()
    handler.setFormatter(JsonLines())
    logging.basicConfig(level=logging.INFO, handlers=[handler], force=True)


def _say_where(server: Server, opened: Opened) -> None:
    print(f"Bushpost answers at {server.url}: /chat for hunters, /desk for coordinators.")
    for name, gateway in opened.gateways.items():
        if isinstance(gateway, Line):
            print(f"Texts come in and go out by bushpost carry {name}.")
        elif name != "chat":
            print(f"Texts come in by {', '.join(sorted(gateway.methods))} /hear/{name}.")
    if not Accounts(opened.intake.database).any():
        print("Nobody can log in yet: bushpost add-coordinator NAME")
    sys.stdout.flush()


def _say_what_lacks(opened: Opened, settings: Settings, address: str) -> None:
    """What `ready` would say; secrets apart, which are refused, it does not keep from serving."""
    for lack in lacks(opened.intake.programme, settings, os.environ, address, _now()):
        print(f"bushpost ready: {lack.where}: {lack.what}", file=sys.stderr)


def _now() -> datetime:
    return datetime.now(UTC)
