"""One text on its way through the readers: each stretch that one reads is struck out.

So no two readers claim the same characters. Indices stay those of the original text.
"""

from __future__ import annotations

import re

from bot.reading.place_tokens import Tokens, tokens_of
from bot.reading.scan import STRUCK, Scan, scan_of, without

LONGEST = 2000
"""Characters of a text that are read; what follows is kept with the text, unread."""

# One character for one character, so that a stretch in the smoothed text is the same
# stretch of the original.
_SMOOTH = str.maketrans(
    {
        "\x00": " ",
        "\u00a0": " ",
        "\u2007": " ",
        "\u202f": " ",
        "\u2009": " ",
        "\u200b": " ",
        "\t": " ",
        "\r": " ",
        "\n": " ",
        "\u2212": "-",
        "\u2010": "-",
        "\u2011": "-",
        "\u2012": "-",
        "\u2013": "-",
        "\u2014": "-",
        "\u2018": "'",
        "\u2019": "'",
        "\u201b": "'",
        "\u02b9": "'",
        "\u02bc": "'",
        "\u2035": "'",
        "`": "'",
        "\u2032": "'",
        "\u00b4": "'",
        "\u201c": '"',
        "\u201d": '"',
        "\u2033": '"',
        "\u02ba": '"',
        "\u201f": '"',
        "\u2036": '"',
        "\u02dd": '"',
        "\u00ba": "\u00b0",
        "\u02da": "\u00b0",
        "\u2070": "\u00b0",
        "\u2218": "\u00b0",
    }
)


_ODD = re.compile(f"[{''.join(map(chr, _SMOOTH))}]")


class Page:
    """A text being read. `plain` is the original with its odd marks smoothed, case kept;
    `left` is `plain` with every struck character blanked."""

    __slots__ = ("_scan", "_struck", "_tokens", "_whole", "left", "plain", "text")

    def __init__(self, text: str) -> None:
        self.text = text[:LONGEST]
        # Most texts hold no odd mark, and looking for one is cheaper than translating.
        self.plain = self.text.translate(_SMOOTH) if _ODD.search(self.text) else self.text
        self.left = self.plain
        self._whole: Scan | None = None
        self._scan: Scan | None = None
        self._tokens: Tokens | None = None
        self._struck: list[tuple[int, int]] = []

    def strike(self, start: int, end: int) -> None:
        """Take a stretch out of what the next readers see."""
        self.left = self.left[:start] + STRUCK * (end - start) + self.left[end:]
        self._struck.append((start, end))

    @property
    def whole(self) -> Scan:
        """The words of the whole page, struck or not; cut once."""
        if self._whole is None:
            self._whole = scan_of(self.plain)
        return self._whole

    @property
    def scan(self) -> Scan:
        """The words of what is left of the page."""
        scan = self._scan or self.whole
        for start, end in self._struck:
            scan = without(scan, start, end)
        self._scan = scan
        self._struck.clear()
        return scan

    @property
    def tokens(self) -> Tokens:
        """The tokens of the whole page for the readers of places; made once."""
        if self._tokens is None:
            self._tokens = tokens_of(self.whole)
        return self._tokens

    def heard(self, start: int, end: int) -> str:
        """The hunter's own words in a stretch."""
        return self.text[start:end].strip()

    def unread(self) -> tuple[str, ...]:
        """The words that no reader claimed."""
        return tuple(re.findall(r"[^\W\d_]{3,}", self.left))
