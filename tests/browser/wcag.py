"""Axe-core's judgement of the page that a browser has open."""

from __future__ import annotations

import json

ALL = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")
"""WCAG 2.2 levels A and AA, by the tags of axe-core 4.12."""
LAYOUT = ("color-contrast", "target-size", "scrollable-region-focusable", "meta-viewport")
"""Those of its rules in which a page's width has a say; the others look at what is there at any."""


def judge(browser, rules, where):
    """No rule is broken on the page, which has axe's script; `where` is for the message."""
    kind = "rule" if rules is LAYOUT else "tag"
    found = browser.execute_async_script(
        "const done = arguments[1]; axe.run(document, arguments[0])"
        ".then(result => done(result.violations.map(v => [v.id, v.nodes.map(n => n.html)])))",
        {"runOnly": {"type": kind, "values": list(rules)}, "resultTypes": ["violations"]},
    )
    assert found == [], (where, json.dumps(found, indent=1)[:1500])
