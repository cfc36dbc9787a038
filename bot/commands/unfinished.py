"""A file that is there whole or not at all: written beside its place, encrypted where a key is
set, and only then moved there."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from bot.service.copying import CopyError, seal_backup
from bot.service.sealing import Sealer


@contextmanager
def finished(file: Path, sealer: Sealer) -> Iterator[Path]:
    """Where to write a SQLite file as it is; once the block is left without a fault, it stands
    in its place. CopyError where something stands there already; no half of a file is left."""
    if file.exists():
        raise CopyError(f"{file} is there already")
    unfinished = file.with_name(file.name + ".unfinished")
    unfinished.unlink(missing_ok=True)
    unfinished.touch(mode=0o600)
    try:
        with _plain_file(unfinished, sealer) as plain:
            yield plain
            if plain != unfinished:
                seal_backup(plain, unfinished, sealer)
        unfinished.rename(file)
    finally:
        for left in file.parent.glob(f"{unfinished.name}*"):
            left.unlink()


@contextmanager
def _plain_file(unfinished: Path, sealer: Sealer) -> Iterator[Path]:
    """Its own place, or what is to be encrypted apart, in this machine's temporary folder."""
    if not sealer.on:
        yield unfinished
        return
    with tempfile.TemporaryDirectory(prefix="bushpost-backup-") as folder:
        yield Path(folder) / "plain.sqlite3"
