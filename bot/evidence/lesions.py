"""Where lesions lie, and how good looking is: published counts, and the sensitivity of a look.

No value here makes a clean-looking animal a negative: gross inspection finds 13 of 18 infected wild
boar, and 4 of 59 infected red deer had nothing to see at all. Tests are never combined as if they
were independent: looking and smear together found 17 of 18, where independence would promise 0.877.
"""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

from bot.reading.values import Checked

RED_DEER_SOURCE = "Emerging Infectious Diseases 2015;21(3), 14-1119, Table 2 (M. caprae, n = 59)"
RED_DEER: dict[tuple[str, ...], int] = {
    ("throat_node",): 29,
    ("gut",): 5,
    (): 4,
    ("throat_node", "gut"): 3,
    ("windpipe_node", "lung"): 2,
    ("throat_node", "windpipe_node", "lung"): 1,
    ("throat_node", "gut", "tonsil"): 1,
    ("ear_node",): 1,
    ("throat_node", "chest_node", "windpipe_node"): 2,
    ("windpipe_node", "gut"): 2,
    ("throat_node", "chest_node", "windpipe_node", "gut"): 1,
    ("chest_node", "windpipe_node", "gut"): 1,
    ("throat_node", "windpipe_node", "gut"): 1,
    ("throat_node", "chest_node", "gut"): 1,
    ("chest_node", "gut"): 1,
    ("throat_node", "windpipe_node"): 1,
    ("throat_node", "chest_node"): 1,
    ("windpipe_node",): 1,
    ("chest_node",): 1,
}
"""Infected red deer by the sites that had lesions: retropharyngeal (throat), parotid (ear),
mediastinal (chest), tracheobronchial (windpipe), mesenteric (gut), lung, tonsil."""


class Rate(Struct, frozen=True):
    """`found` of `infected` animals that culture called infected; and after re-classification,
    where four more animals counted as infected."""

    found: int
    infected: int
    found_after: int | None = None
    infected_after: int | None = None


BOAR_SOURCE = "Santos et al. 2010, PLoS ONE 5(9):e12663 (wild boar, n = 167; counts rebuilt)"
BOAR: dict[str, Rate] = {
    "histopathology": Rate(14, 18, 18, 22),
    "looking": Rate(13, 18, 16, 22),
    "pcr": Rate(12, 18, 14, 22),
    "smear": Rate(10, 18, 12, 22),
    "histology_stain": Rate(3, 18, 3, 22),
    "looking_and_smear": Rate(17, 18),
    "culture": Rate(18, 18, 18, 22),
}
"""Sensitivity in wild boar. Culture is the reference of the first pair, and finds 18 of 22."""

PAIRS = ("jaw_node", "throat_node", "ear_node")
"""Three pairs of nodes, six in all, make a look at the head."""
CHEST = ("lung", "windpipe_node", "chest_node")
EVERY_PAIR = "head_nodes"
"""All six together ("all six clear"), both sides unless one is named."""


class Looked(Struct, frozen=True):
    """What was looked at and was clear. `nodes`: sides seen of each pair, 0 to 2, by site."""

    nodes: dict[str, int] = {}
    lungs: bool = False
    gut: bool = False

    @property
    def count(self) -> int:
        """Nodes seen, of six."""
        return sum(self.nodes.values())


def looked_at(checked: Iterable[Checked]) -> Looked:
    """The clear ones among what was checked. A side that is not said counts as one side, since
    lesions on one side only occur (O'Brien et al. 2001, J Wildl Dis 37:608-613)."""
    sides: dict[str, set[str]] = {site: set() for site in PAIRS}
    seen = set()
    for check in checked:
        if check.state != "clear":
            continue
        seen.add(check.site)
        every = check.site == EVERY_PAIR
        whole = check.side == "both" or (every and not check.side)
        for site in PAIRS if every else {check.site} & set(PAIRS):
            sides[site] |= {"left", "right"} if whole else {check.side or "?"}
    nodes = {site: min(2, _sides(found)) for site, found in sides.items() if found}
    return Looked(nodes, "lung" in seen, "gut" in seen)


def se_of_look(species: str, looked: Looked) -> float:
    """The chance that a look by eye shows an infected animal to be one, in [0, 1].

    Pig: 13/18 for six nodes, and in proportion for fewer; the proportion is common practice with
    no source. Deer: the share of the 59 red deer with a lesion where it was looked, half of it
    where one side was. Any other species has no published figure: LookupError.
    """
    if species == "pig":
        full = BOAR["looking"]
        return full.found / full.infected * looked.count / (2 * len(PAIRS))
    if species in ("deer", "red_deer"):
        return sum(n * _shown(sites, looked) for sites, n in RED_DEER.items()) / deer_counted()
    raise LookupError(f"no published figure for looking at {species!r}")


def deer_counted() -> int:
    """How many red deer the rows hold."""
    return sum(RED_DEER.values())


def _shown(sites: tuple[str, ...], looked: Looked) -> float:
    """The chance that a look shows at least one of an animal's lesions."""
    if (looked.gut and "gut" in sites) or (looked.lungs and set(CHEST) & set(sites)):
        return 1.0
    return max((looked.nodes.get(site, 0) / 2 for site in sites), default=0.0)


def _sides(found: set[str]) -> int:
    """How many sides the words fix: "left" and an unsaid one may be the same."""
    named = found - {"?"}
    return len(named) or 1
