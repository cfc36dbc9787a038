"""How many texts a second: the whole job beside a bare Flask route that runs the very same SQL
statements, and beside one with two durable inserts.

    python -m tests.bench.load                      five rounds, PostgreSQL from its wheel
    python -m tests.bench.load --sqlite             the same on SQLite: one process, one writer
    python -m tests.bench.load --rounds 1 --seconds 2
    python -m tests.bench.load --profile            where the job's own time goes
    python -m tests.bench.load --statements         what is asked of the database for each text
    python -m tests.bench.load --memory 100000      memory while so many texts come in

Same gunicorn, same database, same client, interleaved rounds, medians. The machine's other work
moves the figures of a second; the ratio is what counts.
"""

from __future__ import annotations

import argparse
import cProfile
import http.client
import pickle
import pstats
import statistics
import sys
import threading
import time
from datetime import UTC, datetime, timedelta
from functools import partial

from sqlalchemy import func, select, text

from bot.messages import Heard
from bot.service import tables as t
from bot.service.database import Database, open_database
from bot.service.intake import Intake
from bot.service.wiring import open_intake
from bot.shipped import dialog_files
from bot.talk.dialog import load_dialog
from tests.bench.load_client import Beat, Client, Round
from tests.bench.load_memory import measure_memory
from tests.bench.load_script import Text, record
from tests.bench.load_server import make_table
from tests.bench.load_site import Site, open_site
from tests.faults.texts import TALKS, number_of

JOB, REPLAYED, INSERTS = "job", "replayed", "inserts"


def talks() -> tuple[tuple[str, ...], ...]:
    """The hunters' talks, at fixed places."""
    where, head = "-36.9051, 147.1822", "Kerrin Flat depot"
    return tuple(tuple(body.format(where=where, head=head) for body in talk) for talk in TALKS)


def waiting(database: Database) -> int:
    with database.read() as connection:
        rows = select(func.count()).where(t.TextOut.state == "waiting")
        return connection.scalar(rows) or 0


def with_delivery(site: Site, client: Client, port: int, seconds: float) -> tuple[float, Round]:
    """Texts a second from the first to the last reply handed over, a worker beside the job."""
    database = open_database(site.url(JOB), migrate=False)
    worker = site.deliver(JOB)
    while waiting(database):
        time.sleep(0.5)
    began = time.monotonic()
    done = client.run(port, seconds)
    while waiting(database):
        time.sleep(0.05)
    rate = len(done.took) / (time.monotonic() - began)
    worker.kill()
    database.close()
    return rate, done


def reply_times(site: Site, client: Client, port: int, texts: int) -> list[float]:
    """From webhook to hand-over at the gateway, in ms, while idle."""
    worker = site.deliver(JOB)
    time.sleep(8)
    times = []
    for _ in range(texts):
        times.append(_reply_time(site, client, port))
        time.sleep(0.15)
    worker.kill()
    return times


def _reply_time(site: Site, client: Client, port: int) -> float:
    """The first reply to a new hunter, in ms; 10 s where none came."""
    hunter = next(client.hunters)
    number, seen = number_of(hunter), len(site.carrier.book)
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    began = time.monotonic()
    next(client.talk(line, hunter, began + 60, Beat(0)))
    while not any(e.to == number for e in site.carrier.book[seen:]):
        if time.monotonic() - began > 10:
            break
        time.sleep(0.001)
    line.close()
    return (time.monotonic() - began) * 1000


def half_load(
    site: Site, client: Client, port: int, rate: float, seconds: float
) -> tuple[Round, list[float]]:
    """Texts at half of what went in and out at best, a worker beside the job; and from webhook
    to hand-over, in ms, for new hunters between them."""
    worker = site.deliver(JOB)
    time.sleep(5)
    done, times = Round(), list[float]()

    def ask() -> None:
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            times.append(_reply_time(site, client, port))

    asking = threading.Thread(target=ask)
    asking.start()
    done = client.run(port, seconds, partial(site.spent, JOB), rate / 2)
    asking.join()
    worker.kill()
    return done, times


def profile(intake: Intake, rows: int) -> None:
    """Where the job's time goes, in this process."""
    clock = datetime.now(UTC)
    own = talks()
    run = cProfile.Profile()
    for hunter in range(60_000, 60_000 + rows):
        for place, body in enumerate(own[hunter % len(own)]):
            clock += timedelta(seconds=1)
            heard = Heard(f"p{hunter}-{place}", "paddock", number_of(hunter), body, clock)
            run.runcall(intake.hear, heard, clock)
    pstats.Stats(run).sort_stats("tottime").print_stats(35)
    pstats.Stats(run).sort_stats("cumulative").print_stats(45)


def say(name: str, rounds: list[Round]) -> None:
    rate, cost = (statistics.median(getattr(r, of) for r in rounds) for of in ("rate", "cost"))
    p50, p99 = (statistics.median(r.at(share) for r in rounds) for share in (0.5, 0.99))
    errors = sum(r.errors for r in rounds)
    print(
        f"{name:<28} {rate:6.0f} texts/s   p50 {p50:6.1f} ms   p99 {p99:6.1f} ms   "
        f"processor {cost:5.2f} ms a text   errors {errors}"
    )


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python -m tests.bench.load",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--sqlite", action="store_true")
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--seconds", type=float, default=6.0)
    parser.add_argument("--profile", action="store_true")
    parser.add_argument("--statements", action="store_true")
    parser.add_argument("--memory", type=int, default=0, metavar="TEXTS")
    return parser.parse_args()


def main() -> int:
    args = arguments()
    site = open_site(sqlite=args.sqlite)
    try:
        if args.memory:
            return measure_memory(site.open("memory"), talks(), args.memory)
        scripts = record(site.open("recording"), talks())
        (site.folder / "script").write_bytes(pickle.dumps(scripts))
        statements = [len(own.steps) for script in scripts for own in script]
        print(f"{statistics.mean(statements):.1f} statements a text, at most {max(statements)}")
        if args.statements:
            show(scripts)
            return 0
        if args.profile:
            intake = site.open("profiled")
            profile(open_intake(intake.database, load_dialog(dialog_files()), intake.programme), 60)
            return 0
        return _measure(site, scripts, args)
    finally:
        site.close()


def show(scripts: list[list[Text]]) -> None:
    """Every statement by its beginning, with how many rows it was given."""
    for own in (one for script in scripts for one in script):
        print(f"{len(own.steps):2}  {own.body[:70]}")
        for step in own.steps:
            print(f"      {len(step.rows):2} x {' '.join(step.sql.split())[:150]}")


def _measure(site: Site, scripts: list[list[Text]], args: argparse.Namespace) -> int:
    client = Client(scripts)
    ports = {}
    for name in (JOB, REPLAYED, INSERTS):
        intake = site.open(name)
        if name == INSERTS:
            with intake.database.write() as connection:
                connection.execute(text(make_table(args.sqlite)))
        intake.database.close()
        ports[name] = site.serve(name, f"tests.bench.load_server:{name}()")
        client.run(ports[name], 2.0)
    rounds: dict[str, list[Round]] = {name: [] for name in ports}
    for _ in range(args.rounds):
        for name, port in ports.items():
            rounds[name].append(client.run(port, args.seconds, partial(site.spent, name)))
    compare(rounds)
    rate, done = with_delivery(site, client, ports[JOB], 2 * args.seconds)
    print(f"with delivery                {rate:8.0f} texts/s   errors {done.errors}")
    times = sorted(reply_times(site, client, ports[JOB], 40))
    print(f"reply while idle             {times[len(times) // 2]:8.0f} ms median, "
          f"{times[-1]:.0f} ms longest of {len(times)}")  # fmt: skip
    half, times = half_load(site, client, ports[JOB], rate, 2 * args.seconds)
    say("half load", [half])
    times.sort()
    print(f"reply at half load           {times[len(times) // 2]:8.0f} ms median, "
          f"{times[int(0.99 * (len(times) - 1))]:.0f} ms p99 of {len(times)}")  # fmt: skip
    failed = sum(r.errors for own in rounds.values() for r in own) + done.errors + half.errors
    return int(failed > 0)


def compare(rounds: dict[str, list[Round]]) -> None:
    """The job beside its two references."""
    say("the whole job", rounds[JOB])
    say("its statements, replayed", rounds[REPLAYED])
    say("two durable inserts", rounds[INSERTS])
    for name in (REPLAYED, INSERTS):
        pairs = zip(rounds[JOB], rounds[name], strict=True)
        ratio = statistics.median(own.rate / other.rate for own, other in pairs)
        cost = statistics.median(r.cost for r in rounds[name]) / statistics.median(
            r.cost for r in rounds[JOB]
        )
        print(f"job / {name:<22} {ratio:8.2f}   by processor time {cost:.2f}")
    tails = zip(rounds[JOB], rounds[REPLAYED], strict=True)
    tail = statistics.median(own.at(0.99) / other.at(0.99) for own, other in tails)
    print(f"p99 of job / replayed        {tail:8.2f}")


if __name__ == "__main__":
    sys.exit(main())
