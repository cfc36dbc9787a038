"""Whether two angles that stand together are a place at all, and what speaks against it.

Numbers without letters, marks or signs are believed only where they cannot well be times,
weights or telephones; a number left standing beside a pair may belong to it, and is doubted.
"""

from __future__ import annotations

import re

from msgspec import Struct

from bot.reading.angle_tokens import NUMERALS, WEAK, Token
from bot.reading.angles import Angle

_MORE = re.compile(r" [^\W_]")
_COUNTED = re.compile(r" ?[^\W\d_]{2,}")
_OF = re.compile(r" (?:side )?of(?![a-z])")
_MEASURE = re.compile(
    r"(?<![a-z])(?:cost|paid|price|worth|weigh\w{0,3}|weights?|temps?|temperature|girth|length|measur\w{2,3}|score|costo|precio|pesos?|peso|pes\w{1,3}|prix|poids)\W{0,4}$"
)
_BODY = re.compile(r"(?<![a-z])(?:tusks?|jaws?)\W{0,4}$")
"""What is measured too, but a sign may also have been seen there: "pus in jaw -36.87, 147.15"."""
_POINTS = re.compile(
    r"(?<![a-z])(?:at|here|gps|loc|location|coords?|co-?ordinates?|position|pos|point|lat/lo?ng?"
    r"|latlo?ng?|coordenadas|posici[oó]n|ubicaci[oó]n|coordonn[eé]es|position gps)\W{0,4}$"
)


class Seen(Struct, frozen=True):
    """Two angles in their run: tokens from `first` to before `last`, and the text around."""

    tokens: list[Token]
    first: int
    last: int
    parts: int
    one: Angle
    two: Angle
    letters: tuple[Token | None, ...]
    match: re.Match[str]
    low: str

    @property
    def before(self) -> str:
        """The kind of the token before the pair, "" at the start."""
        return self.tokens[self.first - 1].kind if self.first else ""

    @property
    def after(self) -> str:
        """The kind of the token after the pair, "" at the end."""
        return self.tokens[self.last].kind if self.last < len(self.tokens) else ""

    @property
    def bare(self) -> bool:
        """Neither letter nor label says which angle is which."""
        return not self.one.axis and not self.two.axis

    @property
    def doubled(self) -> bool:
        """Letters on both sides of a number."""
        return bool(self.match.groupdict().get("e2"))

    def fitness(self) -> tuple[bool, bool, bool]:
        """What makes one of two readings the better: it does not end in a number that counts
        something, its letters are glued to its own numbers, its two angles are written alike."""
        one, two = self.one, self.two
        alike = (one.decimals, one.parts, one.marked) == (two.decimals, two.parts, two.marked)
        return not self._ends_counting(), self._letters_at_home(), alike

    def believable(self) -> bool:
        """Whether this is the shape of a place, right or wrong, and not of something else."""
        # A sign or a mark just outside belongs to a number inside: this reading cuts it off.
        ends_in_number = self.match.end("c2") == self.last
        if self.before and self.before in "~+-":
            return False
        if ends_in_number and self.after and self.after in "~DMS":
            return False
        words = [t.text for t in self.letters if t is not None]
        if self.doubled and not self._doubled_alike(words):
            return False
        last = self.letters[1]
        odd = self.one.axis == "lon" or self._crossed()
        if odd and last is not None and _OF.match(self.low, last.end):
            return False  # "00 00.000 E 036 00.000, n of the hut"
        if len(words) == 1:
            return words[0] not in WEAK and self._half_believable()
        if self.bare:
            return self._bare_believable()
        return None in self.letters or self._letters_believable()

    def _letters_believable(self) -> bool:
        """Whole degrees with loose letters ("2 n 1 e" of the hut): only far from small counts."""
        one, two = self.one, self.two
        if self.match["h1"] == self.match["h2"] == "z" and "M" in self.match["c1"]:
            return one.parts != 3  # "-0 7m 30s, 1 2m 3s": an s on both is seconds.
        if one.parts > 1 or one.decimals or two.decimals or one.marked or two.marked:
            return True
        around = (self.first - 1, self.last)
        if all(0 <= i < len(self.tokens) for i in around):
            texts = tuple(self.tokens[i].text for i in around)
            if texts == tuple(t.text for t in self.letters if t is not None):
                return False  # "N1N, E1E"
        glued = all(t is not None and any(self._glued(t)) for t in self.letters)
        return glued or max(abs(one.value), abs(two.value)) > 31

    def _glued(self, letter: Token) -> tuple[bool, bool]:
        """Whether a letter stands right behind a number or its mark, and right before one."""
        behind = self.low[letter.start - 1 : letter.start]
        return behind.isdigit() or behind in ("°", "'", '"'), self.low[
            letter.end : letter.end + 1
        ].isdigit()

    def _letters_at_home(self) -> bool:
        """Whether no letter is taken away from the number that it is glued to."""
        for letter, core in zip(self.letters, ("c1", "c2"), strict=True):
            if letter is None:
                continue
            behind, before = self._glued(letter)
            leads = letter.start < self.tokens[self.match.start(core)].start
            if behind != before and leads is behind:
                return False
        return True

    def _doubled_alike(self, words: list[str]) -> bool:
        """Whether letters on both sides say the same, of more than whole degrees."""
        extra = [self.match.span(e) for e in ("e1", "e2")]
        same = all(
            at < 0 or self.tokens[at].text == word
            for (at, _), word in zip(extra, words, strict=True)
        )
        return same and bool(self.one.parts > 1 or self.one.decimals)

    def _half_believable(self) -> bool:
        """One letter only: integers alone are too little, and an s may be seconds."""
        one, two, letter = self.one, self.two, self.letters[0] or self.letters[1]
        if letter is None or letter.text == "o" or self._loose(letter):
            return False
        if not (one.decimals and two.decimals) and not (one.marked and two.marked):
            return one.parts == two.parts == 3
        return not (one.parts == 3 and "z" in (self.match["c2"] or ""))

    def _loose(self, letter: Token) -> bool:
        """A letter behind the pair that begins other words: "36.87 147.15 n of the hut"."""
        behind = letter.start >= self.tokens[self.last - 1].start
        spaced = self.low[letter.start - 1 : letter.start] == " "
        return behind and spaced and _MORE.match(self.low, letter.end) is not None

    def _bare_believable(self) -> bool:
        one, two = self.one, self.two
        if one.parts > 1 and not (one.marked or two.marked) and self._crowded():
            return False
        signed, marked = one.signed or two.signed, one.marked or two.marked
        decimals = min(one.decimals, two.decimals)
        if one.parts == 1:
            return (one.marked and two.marked) or self._decimals_believable(decimals, signed)
        if marked:
            return True
        if not decimals and (one.fault or two.fault):
            return False  # A telephone number: "+61 491 570 156".
        if self.parts == 0:
            return signed
        if one.parts == 2:
            wide = min(abs(one.value), abs(two.value)) >= 10
            return signed or decimals > 1 or (decimals > 0 and (wide or "," in self._text()))
        return signed or decimals > 0 or "," in self._text() or abs(two.value) >= 100

    def _decimals_believable(self, decimals: int, signed: bool) -> bool:
        """Bare decimal numbers: not temperatures, not calibres, not times of day."""
        largest = max(abs(self.one.value), abs(self.two.value))
        finest = max(self.one.decimals, self.two.decimals)
        if self.one.value < 0 and self.two.value < 0 and largest >= 20:
            return finest > 0  # "-55, -37.6": no temperature is as low, and no range so wide.
        plain = not signed and finest < 4
        if decimals == 0 or self._follows(_MEASURE) or (plain and self._follows(_BODY)):
            return False
        if signed:
            return decimals > 1 or largest > 20
        if decimals == 2 or finest < 3:
            return not self._clock() and (decimals == 2 or self._pointed_at())
        return finest > 3 or (decimals == 3 and largest > 1)

    def _follows(self, words: re.Pattern[str]) -> bool:
        """A word right before says what the numbers measure: "cost 12.50, 14.75"."""
        start = self.tokens[self.first].start
        return words.search(self.low, max(0, start - 16), start) is not None

    def _pointed_at(self) -> bool:
        """The pair is the whole text, or a word before it points at a place."""
        start, end = self.tokens[self.first].start, self.tokens[self.last - 1].end
        around = self.low[:start] + self.low[end:] if len(self.low) < end - start + 9 else "x"
        if not around.strip(" (.!)°"):
            return "," in self._text()
        return _POINTS.search(self.low, max(0, start - 16), start) is not None

    def _text(self) -> str:
        return self.match.string[self.first : self.last]

    def _crowded(self) -> bool:
        """A further number right beside the pair: a telephone, or a list of something."""
        if self.before and self.before in NUMERALS:
            return True
        return bool(self.after) and self.after in NUMERALS and not self._counted()

    def _clock(self) -> bool:
        """Both numbers could be times of day: "between 6.30 and 7.15"."""
        return all(
            abs(a.value) < 24 and round(abs(a.value) % 1 * 100) < 60 for a in (self.one, self.two)
        )

    def _counted(self) -> bool:
        """The next number counts something: a word follows it."""
        return _COUNTED.match(self.low, self.tokens[self.last].end) is not None

    def _ends_counting(self) -> bool:
        """The pair ends in a whole number that a word follows: "37 W 2 pigs"."""
        last = self.tokens[self.last - 1]
        return last.kind == "i" and _COUNTED.match(self.low, last.end) is not None

    def _swallows_count(self) -> bool:
        """ "29deg 30min 0sec 95deg 30min 2 pigs": all parts have marks, only the last has none."""
        cores = self.match["c1"], self.match["c2"]
        marked = re.search("D.*M[if]$", cores[1]) and cores[0][-1] in "Sz"
        return bool(marked) and self._ends_counting()

    def doubt(self) -> str:
        """The reason code of what makes this reading doubtful, or ""."""
        if (self.bare and self._stray_letter()) or self._letter_left_out():
            return "stray_letter"
        if self._crossed() and "z" in (self.match["c1"] + self.match["c2"]):
            return "two_readings"  # "n 40 25 6S 74 38 28E": seconds, or south?
        if self._crossed() and (self._crowded() or self.one.decimals != self.two.decimals):
            return "two_readings"
        if self._number_before() or self._number_after() or self._swallows_count():
            return "two_readings"
        if self._uneven_seconds() or (self.after == "!" and not self.two.decimals):
            return "two_readings"
        return ""

    def _crossed(self) -> bool:
        """One letter before its number and the other behind: the rarest way to write."""
        if None in self.letters:
            return False
        starts = [self.match.start(g) for g in ("h1", "c1", "h2", "c2")]
        return (starts[0] < starts[1]) != (starts[2] < starts[3])

    def _stray_letter(self) -> bool:
        beside = [self.tokens[i] for i in (self.first - 1, self.last) if 0 <= i < len(self.tokens)]
        letters = (t for t in beside if t.kind in "AOz" and t.text not in WEAK | {"o"})
        return any(not self._loose(t) for t in letters)

    def _letter_left_out(self) -> bool:
        """A letter glued to the first number, which this reading leaves to nobody."""
        letter = self.tokens[self.first - 1] if self.before and self.before in "AOz" else None
        return letter is not None and letter.end == self.tokens[self.first].start

    def _number_before(self) -> bool:
        """ "36 52.2 S, 147.15 E": the number before may be the degrees of the first angle; in
        "5.5 S 37 W 45" the letter may be its own."""
        one, two = self.one, self.two
        if self.match.start("c1") != self.first:
            numeral = bool(self.before) and self.before in NUMERALS
            apart = self.letters[0] is not None and not any(self._glued(self.letters[0]))
            whole = one.parts == 1 and not (one.decimals and two.decimals) and not one.marked
            return numeral and apart and whole
        if one.parts != 1 or one.marked or self.before != "i":
            return False
        degrees = int(self.tokens[self.first - 1].text)
        return degrees <= 180 and abs(one.value) < 60 and min(one.decimals, two.decimals) < 3

    def _number_after(self) -> bool:
        """ "S 36 E 147 30": the number after may be the minutes of the second angle."""
        if not self.after or self.after not in NUMERALS:
            return False
        if self.match.end("c2") != self.last:
            # "55 S 37 W 45" reads as well from its second word on.
            last, exact = self.letters[1], self.one.decimals or self.two.decimals
            apart = last is not None and not any(self._glued(last))
            whole = self.two.parts == 1 and not exact and not self.two.marked
            return apart and whole and not self._counted()
        if self.two.decimals or self.two.parts > 2 or self.parts == 0:
            return False
        return not self._counted()

    def _uneven_seconds(self) -> bool:
        """An s after one angle's seconds and not the other's: seconds, or south?"""
        if not self.bare or self.one.parts != 3:
            return False
        cores = (self.match["c1"], self.match["c2"])
        return ("z" in cores[0]) != ("z" in cores[1]) and "S" not in "".join(cores)
