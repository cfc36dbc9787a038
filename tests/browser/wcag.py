"""Axe-core's judgement of the page that a browser has open."""

from __future__ import annotations

import json

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
"""WCAG 2.2 levels A and AA, by the tags of axe-core 4.12."""


def judge(browser, axe, path):
    """No rule of WCAG 2.2 AA is broken on the page; `path` is for the message."""
    browser.execute_script(axe)
    found = browser.execute_async_script(
        "const done = arguments[1]; axe.run(document, {runOnly: arguments[0]})"
        ".then(result => done(result.violations.map(v => [v.id, v.nodes.map(n => n.html)])))",
        RULES,
    )
    assert found == [], (path, json.dumps(found, indent=1)[:1500])
