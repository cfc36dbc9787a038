"""The manual: every page of bot/manual, as it is shipped, at /manual."""

from __future__ import annotations

from importlib.resources import files

from flask import Blueprint, render_template
from markdown_it import MarkdownIt
from markupsafe import Markup
from werkzeug.exceptions import NotFound

blueprint = Blueprint("manual", __name__, url_prefix="/manual")


def titles() -> dict[str, str]:
    """Each page's name and its first heading, in order of names."""
    shelf = files("bot").joinpath("manual")
    if not shelf.is_dir():
        return {}
    names = sorted(page.name for page in shelf.iterdir() if page.name.endswith(".md"))
    return {name.removesuffix(".md"): _heading(_source(name)) for name in names}


def _source(name: str) -> str:
    return files("bot").joinpath("manual").joinpath(name).read_text(encoding="utf-8")


def _heading(source: str) -> str:
    return next((line[2:].strip() for line in source.splitlines() if line.startswith("# ")), "")


@blueprint.get("/")
def contents() -> str:
    """The list of pages."""
    return render_template("manual/contents.html", titles=titles())


@blueprint.get("/<name>")
def page(name: str) -> str:
    """One page. Raw HTML in it is shown as text: the policy would not run it anyway."""
    listed = titles()
    if name not in listed:
        raise NotFound
    reader = MarkdownIt("commonmark", {"html": False}).enable("table")
    # The renderer escapes everything that is not markdown, and links are checked by it.
    html = reader.render(_source(f"{name}.md"))
    # A listing or a table may be wider than the page: whoever has no mouse scrolls it by the
    # arrow keys, once it can hold the focus (WCAG 2.2, 2.1.1).
    reachable = html.replace("<pre>", '<pre tabindex="0">').replace(
        "<table>", '<table tabindex="0">'
    )
    body = Markup(reachable)  # noqa: S704 - our own pages, read without HTML
    return render_template("manual/page.html", title=listed[name], body=body)
