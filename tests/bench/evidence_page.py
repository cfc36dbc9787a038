"""The zone's real page at full size: python -m tests.bench.evidence_page

50 zones, 100,000 finds over two years and 1 km cells over 200 x 200 km, in a SQLite file with a
stored talk for each; the page of one zone through the web app, cold and warm; then one find more,
texted in by the one door. Beside them the plain loop over finds, how far the page's figures are
from it, and what was summed anew.
"""

from __future__ import annotations

import argparse
import gc
import json
import re
import resource
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
from flask.testing import FlaskClient
from sqlalchemy import insert

from bot.evidence.figures import Array
from bot.evidence.finds import looks_of, sort_finds
from bot.evidence.grid import zone_cells
from bot.evidence.programme_account import Groundwork
from bot.evidence.sentences import load_sentences
from bot.evidence.spatial import Kernels, cover, kernels, zone_sensitivity
from bot.evidence.zones import Assumptions
from bot.messages import Heard
from bot.programme import Programme, load_programme
from bot.service import tables
from bot.service.accounts import add_account
from bot.service.database import Database, open_database
from bot.service.finds import kept_finds
from bot.service.intake import Intake
from bot.service.wiring import open_intake
from bot.web.app import create_app
from bot.web.evidence import GROUND
from bot.web.serving import wiring_of
from bot.web.wiring import Settings
from tests.bench.evidence import timed
from tests.evidence.areas import plain_loop
from tests.web.office import PASSWORD
from tests.web.test_accounts import log_in
from tests.web.wires import DIALOG, PROGRAMME

NOW = datetime(2026, 11, 24, 20, 0, tzinfo=UTC)
SITES = ("jaw_node", "throat_node", "ear_node")
TALK = "sow shot yesterday 5pm, all six glands clear, {lat:.4f} {lon:.4f}"
ZONE = "Zone 23"


def wide_programme() -> Programme:
    """The demo's, with 50 zones of about 40 x 20 km instead of its own."""
    north, east = 20 / 111.2, 40 / (111.2 * np.cos(np.radians(37.0)))
    features = []
    for n in range(50):
        south, west = -37.9 + (n // 5) * north, 145.87 + (n % 5) * east
        ring = [[west, south], [west + east, south], [west + east, south + north]]
        ring += [[west, south + north], [west, south]]
        shape = {"type": "Polygon", "coordinates": [ring]}
        features.append(
            {"type": "Feature", "properties": {"name": f"Zone {n + 1}"}, "geometry": shape}
        )
    zones = json.dumps({"type": "FeatureCollection", "features": features})
    return load_programme({**PROGRAMME.files, "zones.geojson": zones})


def finds(seed: int, count: int, months: int) -> Iterator[Mapping[str, Any]]:
    """Rows of clean finds; half of them lie in a ninth of the country, as hunters do."""
    draw = np.random.default_rng(seed)
    lat, lon = draw.uniform(-0.88, 0.88, count), draw.uniform(-1.1, 1.1, count)
    near = np.where(draw.random(count) < 0.5, 1.0, 1 / 3)
    days = draw.uniform(0.5, months * 30.4, count)
    nodes, deer = draw.integers(1, 4, count), draw.random(count) < 0.3
    for n in range(count):
        at = NOW - timedelta(days=float(days[n]))
        clear = [{"type": "checked", "site": site, "side": "both"} for site in SITES[: nodes[n]]]
        yield {
            "conversation_id": n + 1,
            "code": f"X{n:05d}",
            "state": "clean",
            "opened": at.timestamp(),
            "lat": float(-37.0 + lat[n] * near[n]),
            "lon": float(147.0 + lon[n] * near[n]),
            "earliest": (at - timedelta(hours=14)).timestamp(),
            "latest": (at - timedelta(hours=2)).timestamp(),
            "species": "deer" if deer[n] else "pig",
            "sort": "",
            "animals": 1,
            "checked": json.dumps(clear),
        }


def fill(database: Database, intake: Intake, rows: list[Mapping[str, Any]]) -> None:
    """One talk by the one door, and all others stored like it."""
    intake.hear(Heard("first", "paddock", "+61491570006", TALK.format(lat=-37, lon=147), NOW), NOW)
    with database.write() as connection:
        first = connection.execute(tables.Conversation.__table__.select()).mappings().one()
        connection.execute(tables.Evidence.__table__.delete())
        talks = [
            {
                **first,
                "id": row["conversation_id"],
                "code": row["code"],
                "opened_at": NOW,
            }
            for row in rows[1:]
        ]
        connection.execute(insert(tables.Conversation), talks)
        connection.execute(insert(tables.Evidence), rows)


def page_of(client: FlaskClient, path: str = f"/desk/evidence/{ZONE}") -> str:
    answer = client.get(path)
    assert answer.status_code == 200, answer.status
    return answer.get_data(as_text=True)


def judged(ground: Groundwork, intake: Intake, until: datetime) -> None:
    """The page's groundwork beside the plain loop over the same finds."""
    programme, own = intake.programme, Assumptions()
    with intake.database.read() as connection:
        found = kept_finds(connection, until)
    known = sort_finds(load_sentences(DIALOG.files["evidence.toml"]), found)
    looks = looks_of(ground.grid, known, known.first(until), programme.zone)
    animals = kernels(looks.x, looks.y, looks.se * own.catch, looks.radius_95_km)
    fast = spent("one pass", lambda: cover(ground.grid, ground.zones, animals), 3)
    plain = plain_loop_timed(ground, animals, fast)
    zones = zone_cells(ground.grid, [(z.name, z.shape) for z in programme.zones])
    log_miss = sum(
        month.coverage.log_miss
        for (covering, _), month in ground.seen.items()
        if covering == (1.0, own.catch, 1.0)
    )
    few = 1.0 / zones.sizes
    ours, judge = (
        zone_sensitivity(zones.sums(-np.expm1(part)) / zones.sizes, zones.sizes, few)
        for part in (log_miss, plain)
    )
    print(f"{'largest deviation, sensitivity of a zone':46} {np.abs(ours / judge - 1).max():.2e}")
    assert np.abs(ours / judge - 1).max() < 1e-3, "more than 0.1 % from the plain loop"


def spent(words: str, work: Callable[[], object], repeat: int) -> float:
    """The least processor time of so many runs; it is printed."""
    best = np.inf
    for _ in range(repeat):
        began = time.process_time()
        work()
        best = min(best, time.process_time() - began)
    print(f"{words:46} {best:9.4f} s processor", flush=True)
    return best


def plain_loop_timed(ground: Groundwork, animals: Kernels, fast: float) -> Array:
    """The plain loop's answer; its time and how many times the fast way's that is are printed."""
    began = time.process_time()
    plain = plain_loop(ground.grid, animals)
    slow = time.process_time() - began
    print(f"{'the plain loop over finds':46} {slow:9.1f} s processor, {slow / fast:.0f} times that")
    return plain


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--finds", type=int, default=100_000)
    parser.add_argument("--months", type=int, default=24)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--no-loop", action="store_true", help="leave the slow plain loop out")
    args = parser.parse_args()
    programme = wide_programme()
    with tempfile.TemporaryDirectory(prefix="bushpost-bench-") as folder:
        database = open_database(f"sqlite:///{Path(folder) / 'bench.sqlite3'}")
        add_account(database, "ines", PASSWORD, NOW, "coordinator")
        intake = open_intake(database, DIALOG, programme)
        fill(database, intake, list(finds(args.seed, args.finds, args.months)))
        gc.collect()  # What filled it is no part of a service.
        size = sum(path.stat().st_size for path in Path(folder).iterdir()) / 2**20
        print(f"seed {args.seed}, {args.finds} finds, {len(programme.zones)} zones, {size:.0f} MiB")
        walk(intake, NOW + timedelta(hours=1), loop=not args.no_loop)
        database.close()


def walk(intake: Intake, now: datetime, *, loop: bool) -> None:
    """The page cold, warm, and with one find more."""
    settings = Settings("a key for benches only " * 3, secure_cookies=False)
    app = create_app(wiring_of(intake, {}, DIALOG, settings, lambda: now))
    client = app.test_client()
    log_in(client, "ines", PASSWORD)
    cold = timed("the page, cold", lambda: page_of(client))
    timed("the page again", lambda: page_of(client), 3)
    before = app.extensions[GROUND]
    text = TALK.format(lat=-37.02, lon=147.03)
    heard = Heard("more", "paddock", "+61491570156", text, now - timedelta(minutes=9))
    timed("one find more, by text", lambda: intake.hear(heard, now - timedelta(minutes=9)))
    after = timed("the page with one find more", lambda: page_of(client))
    seen = app.extensions[GROUND].seen
    anew = [key for key, month in seen.items() if month is not before.seen.get(key)]
    print(f"{'months touched by it, of all that are kept':46} {len(anew)} of {len(seen)}")
    del app.extensions[GROUND]
    assert stripped(timed("the page, cold again", lambda: page_of(client))) == stripped(after)
    assert stripped(cold) != stripped(after)
    timed("the list of all zones", lambda: page_of(client, "/desk/evidence/"))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{'most memory':46} {peak:9.0f} MiB; a page of {len(cold) // 1024} KiB")
    if loop:
        judged(app.extensions[GROUND], intake, now)


def stripped(page: str) -> str:
    """A page without what is new at every request."""
    return re.sub(r'name="csrf_token" value="[^"]+"', "", page)


if __name__ == "__main__":
    main()
