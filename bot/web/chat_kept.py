"""What the telephone keeps of the chat: the manifest by which it is installed, its picture, the
service worker with the list of what it holds; the drawings; and how all of it is forgotten.

The worker serves /chat and nothing beside it, and reaches no other host.
"""

from __future__ import annotations

import hashlib
import io
import json
from functools import lru_cache
from pathlib import Path

from flask import Response, current_app, jsonify, redirect, session, url_for
from PIL import Image, ImageDraw
from werkzeug.exceptions import NotFound
from werkzeug.wrappers import Response as Answer

from bot.web import wired
from bot.web.chat_session import GATEWAY, PEN, chat_blueprint, has_drawings, render, talk_so_far
from bot.web.chat_words import PICKED, speech_for

blueprint = chat_blueprint("chat_kept")
FILES = ("paper.css", "chat.css", "chat-store.js", "chat.js", "tag.svg")
WORKER = "chat-worker.js"
SIZES = (180, 192, 512)
GROUND, CARD, LINE = "#f8f3e6", "#efe3c4", "#5b3a1e"
DAY = "public, max-age=86400"


@blueprint.get("/glands")
def glands() -> str:
    """Drawings of where the nodes of the head lie, where the programme guides a look at all."""
    if not has_drawings():
        raise NotFound
    return render("chat/glands.html")


@blueprint.get("/manifest.webmanifest")
def manifest() -> Response:
    """The web app manifest (W3C), so that the chat can be put on a telephone's first screen."""
    speech = speech_for(talk_so_far().conversation)
    icons = [
        {
            "src": url_for("chat_kept.icon", size=size),
            "sizes": f"{size}x{size}",
            "type": "image/png",
            "purpose": purpose,
        }
        for size, purpose in ((192, "any"), (512, "any"), (512, "maskable"))
    ]
    answer = jsonify(
        id="/chat",
        name=f"{speech.say('title')}: {wired().programme.head.name}",
        short_name=speech.say("title"),
        lang=speech.language,
        start_url="/chat",
        scope="/chat",
        display="standalone",
        background_color=GROUND,
        theme_color=GROUND,
        icons=icons,
    )
    answer.content_type = "application/manifest+json"
    return answer


@blueprint.get("/icon-<int:size>.png")
def icon(size: int) -> Response:
    """The tag of the pages as a picture of one of the usual sizes."""
    if size not in SIZES:
        raise NotFound
    return Response(drawn(size), mimetype="image/png", headers={"Cache-Control": DAY})


@lru_cache(maxsize=len(SIZES))
def drawn(size: int) -> bytes:
    """The tag on its ground, within the middle four fifths that every mask leaves."""
    scale = size / 32 * 4
    big = Image.new("RGB", (size * 4, size * 4), GROUND)
    pen = ImageDraw.Draw(big)

    def at(*numbers: float) -> list[float]:
        return [(16 + (n - 16) * 0.72) * scale for n in numbers]

    width = round(1.5 * scale)
    pen.polygon(at(4, 9, 10, 4, 28, 4, 28, 28, 4, 28), fill=CARD, outline=LINE, width=width)
    pen.ellipse(at(8.6, 8.6, 13.4, 13.4), fill=LINE)
    for line in ((10, 18, 23, 18), (10, 23, 20, 23)):
        pen.line(at(*line), fill=LINE, width=width)
    kept = io.BytesIO()
    big.resize((size, size), Image.Resampling.LANCZOS).save(kept, "PNG", optimize=True)
    return kept.getvalue()


@blueprint.get("/worker.js")
def worker() -> Response:
    """The service worker, with what it keeps written before it: other files make another one."""
    pages = [url_for("chat.talk"), *([url_for("chat_kept.glands")] if has_drawings() else [])]
    kept = {
        "name": f"bushpost-{version()}",
        "pages": pages,
        "files": [asset(name) for name in FILES],
        "store": asset("chat-store.js"),
    }
    script = (static_folder() / WORKER).read_text(encoding="utf-8")
    body = f"const KEEP = {json.dumps(kept)};\n{script}"
    headers = {"Service-Worker-Allowed": "/chat", "Cache-Control": "no-cache"}
    return Response(body, mimetype="text/javascript", headers=headers)


def static_folder() -> Path:
    """Where the pages' own files lie."""
    return Path(str(current_app.static_folder))


@lru_cache(maxsize=4)
def _version(folder: Path) -> str:
    digest = hashlib.sha256()
    for name in (*FILES, WORKER):
        digest.update((folder / name).read_bytes())
    return digest.hexdigest()[:12]


def version() -> str:
    """A name for the files as they are."""
    return _version(static_folder())


@blueprint.app_template_global()
def asset(name: str) -> str:
    """The address of a file that a browser may keep for good: it changes with the file. The
    sheet and the tag that every page has keep theirs."""
    if name in ("paper.css", "tag.svg"):
        return url_for("static", filename=name)
    return url_for("static", filename=name, v=version())


@blueprint.get("/leave")
def leaving() -> str:
    """Ask before this telephone forgets the talk."""
    return render("chat/leave.html")


@blueprint.post("/leave")
def leave() -> Answer:
    """Forget who is in this browser. What was sent stays where it is."""
    for name in (GATEWAY, PEN, PICKED, "chat_number"):
        session.pop(name, None)
    answer = redirect(url_for("pages.front"), 303)
    answer.headers["Clear-Site-Data"] = '"cache", "storage"'
    return answer
