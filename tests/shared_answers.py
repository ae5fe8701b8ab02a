"""What was worked out on the demonstration's garden, for the next test that opens a copy of it.

A server that restarts works out its answers anew; so would each of a thousand tests that open a
copy of one garden and read it. A database that is, byte for byte, the garden's file when it is
first opened has at hand what others like it have in their caches: the very answers, under the very
state, that one server on that file would have. What is written raises the counters, and what rests
on it is worked out anew, as on that server; once anything is written nothing more is given.
"""

from collections.abc import Hashable
from hashlib import blake2b
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, event
from sqlmodel import Session

from seedbank.database import cache
from seedbank.database.cache import Cache, _Entry, cache_of
from seedbank.database.stored_answers import store_answer


class SharedAnswers:
    """What is in the caches of databases that are still as one file was."""

    def __init__(self) -> None:
        self.of_file = b""
        self.in_use = True
        self.entries: dict[tuple[Hashable, Hashable], tuple[_Entry, int]] = {}

    def begin(self, file: Path) -> None:
        """Share what is worked out on this file's copies."""
        self.of_file, self.entries = _digest(file), {}


SHARED = SharedAnswers()


class CacheOfCopy(Cache):
    """The cache of a database in a file, which may be a copy of the one that shares its answers."""

    def __init__(self, file: Path) -> None:
        super().__init__()
        self.file = file
        self.a_copy = False

    def opened(self, *_: object) -> None:
        """Whether it is a copy shows before anything is written."""
        self.a_copy = self._as_it_was()

    def last(self, region: Hashable, asked: Hashable) -> _Entry | None:
        own = super().last(region, asked)
        if own is None and self._shares(region, asked):
            own, most = SHARED.entries[region, asked]
            super().keep(region, asked, own, most)
        return own

    def keep(self, region: Hashable, asked: Hashable, entry: _Entry, most: int) -> None:
        super().keep(region, asked, entry, most)
        if self._as_it_was():
            SHARED.entries[region, asked] = (entry, most)

    def _shares(self, region: Hashable, asked: Hashable) -> bool:
        return SHARED.in_use and self.a_copy and (region, asked) in SHARED.entries

    def _as_it_was(self) -> bool:
        return SHARED.in_use and SHARED.of_file != b"" and _digest(self.file) == SHARED.of_file


def _digest(file: Path) -> bytes:
    """All that is committed to an SQLite file; what waits beside it makes it another."""
    log = file.with_name(file.name + "-wal")
    if not file.is_file() or (log.is_file() and log.stat().st_size):
        return b"changed"
    return blake2b(file.read_bytes(), digest_size=16).digest()


def give_cache(engine: Engine) -> None:
    """Let a database in a file begin with what is shared, if it is a copy."""
    name = str(engine.url.database or "").removeprefix("file:").partition("?")[0]
    if name and name != ":memory:":
        with cache._CACHES_LOCK:
            cache._CACHES[engine.pool] = copy = CacheOfCopy(Path(name))
        event.listen(engine, "first_connect", copy.opened)


def store_unless_shared(session: Session, state: Hashable, answer: Any) -> None:
    """Store an answer for the next program, but where tests share theirs: the file would differ."""
    if not SHARED.in_use or not isinstance(cache_of(session), CacheOfCopy):
        store_answer(session, state, answer)
