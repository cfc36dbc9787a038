"""Many finds as columns: what an account of 100,000 of them is reckoned from.

What repeats from find to find (animal, state, outcome, what was looked at) stands once as a Kind;
all else is an array with a row a find. NaN is not known, never 0.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from bot.evidence.figures import Array
from bot.evidence.lesions import Looked, looked_at
from bot.reading.values import Animal, Checked, Place, When
from bot.talk.state import Conversation, Seen

VAGUE = Looked({"jaw_node": 2})
"""What a bare "clean" counts as: the one pair that everybody comes upon. No source; the weakest."""

Rows = NDArray[np.intp]
"""Numbers of rows."""


class Find(Struct, frozen=True):
    """One find that can be placed. WGS84 degrees; `state` as it was kept: suspect, clean or
    found_dead; `outcome` what the laboratory finally said, or ""."""

    code: str
    lat: float
    lon: float
    when: When
    animal: Animal
    state: str
    outcome: str
    looked: Looked = VAGUE


class Kind(Struct, frozen=True):
    """What finds have in common. `species` None is not known."""

    state: str
    outcome: str
    species: str | None
    sort: str = ""
    looked: Looked = VAGUE


@dataclass(frozen=True)
class Finds:
    """Finds, all (n,): codes; POSIX seconds of the report, the earliest and the latest death;
    WGS84 degrees; animals as they were told; the number of each one's kind in `kinds`."""

    codes: tuple[str, ...]
    opened: Array
    earliest: Array
    latest: Array
    lat: Array
    lon: Array
    told: Rows
    kind: Rows
    kinds: tuple[Kind, ...]

    def __len__(self) -> int:
        return len(self.codes)

    def only(self, which: NDArray[Any]) -> Finds:
        """Some of them, by a mask or by numbers."""
        rows = np.arange(len(self))[which]
        return replace(
            self,
            codes=tuple(map(self.codes.__getitem__, rows.tolist())),
            opened=self.opened[rows],
            earliest=self.earliest[rows],
            latest=self.latest[rows],
            lat=self.lat[rows],
            lon=self.lon[rows],
            told=self.told[rows],
            kind=self.kind[rows],
        )

    def of_kind(self, values: Iterable[Any]) -> NDArray[Any]:
        """A column from one value for each kind."""
        return np.array(list(values))[self.kind] if self.kinds else np.zeros(0)

    @property
    def placed(self) -> NDArray[np.bool_]:
        """Which of them have a place, a day and an animal."""
        animal = self.of_kind(kind.species is not None for kind in self.kinds).astype(bool)
        return np.asarray(animal & ~np.isnan(self.lat) & ~np.isnan(self.earliest))

    @property
    def animals(self) -> Rows:
        """As how many animals each counts: several that looked clean; one where a laboratory has
        spoken, since it had one."""
        several = self.of_kind(k.state == "clean" and not k.outcome for k in self.kinds)
        return np.where(several.astype(bool), self.told, 1)

    def find(self, n: int) -> Find:
        """One of them as a value, its times in UTC."""
        kind = self.kinds[self.kind[n]]
        dead = (datetime.fromtimestamp(float(c[n]), UTC) for c in (self.earliest, self.latest))
        earliest, latest = dead
        animal = Animal(kind.species or "", kind.sort, int(self.told[n]))
        place = float(self.lat[n]), float(self.lon[n])
        when = When(earliest, latest)
        return Find(self.codes[n], *place, when, animal, kind.state, kind.outcome, kind.looked)


def finds_of(finds: Iterable[Find]) -> Finds:
    """Single finds as columns; their reports count as made when the animal died."""
    listed = tuple(finds)
    times = [(f.when.earliest.timestamp(), f.when.latest.timestamp()) for f in listed]
    table = np.array([(*t, f.lat, f.lon) for t, f in zip(times, listed, strict=True)])
    earliest, latest, lat, lon = table.reshape(-1, 4).T
    return Finds(
        codes=tuple(f.code for f in listed),
        opened=earliest,
        earliest=earliest,
        latest=latest,
        lat=lat,
        lon=lon,
        told=np.array([f.animal.count for f in listed], dtype=np.intp),
        kind=np.arange(len(listed)),
        kinds=tuple(
            Kind(f.state, f.outcome, f.animal.species, f.animal.sort, f.looked) for f in listed
        ),
    )


class Told(Struct, frozen=True):
    """What a conversation tells of its find as evidence; None is not known."""

    place: Place | None
    when: When | None
    animal: Animal | None
    checked: tuple[Checked, ...] = ()


def told_of(conversation: Conversation) -> Told:
    """The answers that count as evidence; what was declined is not known."""
    values = {q: a.value for q, a in conversation.answers.items() if not a.declined}
    place, when, animal = (values.get(q) for q in ("kill_place", "when", "species"))
    seen = values.get("seen")
    return Told(
        place=place if isinstance(place, Place) else None,
        when=when if isinstance(when, When) else None,
        animal=animal if isinstance(animal, Animal) else None,
        checked=seen.checked if isinstance(seen, Seen) else (),
    )


def find_of(code: str, state: str, outcome: str, conversation: Conversation) -> Find | None:
    """A kept find with its place, day and animal, or None where one of them is missing."""
    told = told_of(conversation)
    if told.place is None or told.when is None or told.animal is None:
        return None
    place, looked = (told.place.lat, told.place.lon), look_of(told.checked)
    return Find(code, *place, told.when, told.animal, state, outcome, looked)


def look_of(checked: Iterable[Checked]) -> Looked:
    """What a look was at; one that names nothing counts as the weakest."""
    looked = looked_at(checked)
    return looked if looked != Looked() else VAGUE
