"""What can go wrong in a change or a use case.

All are ``StockFault``s: a code, whose message in the catalogue says what is wrong and, as its
``.mend``, what to do; the ``field`` it is about (a dotted path, empty when it is about the whole),
the ``value`` found there, and what else the message names. They know nothing of HTTP; how they
travel is others' business.

What is hardly ever so, and is taken only when the gardener says that it is.

What can't be is refused elsewhere. A day nobody knows raises no doubt.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # what makes sentences is imported when one is: help and completion make none
    from seedbank.common.local_format import Local
    from seedbank.science.quantities import Finding, Value


class StockFault(Exception):
    """A change refused: ``code`` of its message, the ``field`` at fault and the ``value`` it had.

    A message may use ``$field``, ``$value`` and all other values given.
    """

    lists = False
    """Its message is a list of problems, each with its own place."""

    def __init__(self, code: str, field: str = "", value: object = None, **values: "Value") -> None:
        super().__init__(code)
        self.code = code
        self.field = field
        self.value = value
        self.values = values

    @property
    def finding(self) -> "Finding":
        """What is wrong, as a code with the numbers and names in it."""
        from seedbank.common.safe_text import shown
        from seedbank.science.quantities import Finding

        value = self.value if isinstance(self.value, float | int | date) else str(shown(self.value))
        return Finding(self.code, {"field": self.field, "value": value, **self.values})

    def text_for(self, local: "Local | None" = None, part: str = "") -> str:
        """What is wrong; to a page's reader as they call fields, and write days and sizes."""
        from seedbank.common.catalogue import PLAIN, text_of
        from seedbank.science.quantities import Finding

        finding = self.finding
        if local is not None:
            name = self.field.rpartition(".")[2].partition("[")[0]
            words = name.replace("_", " ").capitalize()
            field = Finding("field-named", {"choice": name, "words": words})
            finding = Finding(self.code, {**finding.values, "field": field})
        return text_of(finding, local or PLAIN, part)

    def mend_for(self, local: "Local | None" = None) -> str:
        """What to do, told likewise."""
        return StockFault.text_for(self, local, "mend")

    def tells(self, *names: str) -> bool:
        """Whether its message tells the ``field``, the ``value`` or another of what it is given."""
        from seedbank.common.catalogue import values_in

        return not values_in(self.code).isdisjoint(names)

    @property
    def mend(self) -> str:
        """What to do."""
        return self.mend_for()

    def __str__(self) -> str:
        return self.text_for()

    def __repr__(self) -> str:
        return f"{type(self).__name__}({self.field}={self.value!r}: {self})"


class Misfit(ValueError):
    """What pydantic is told of values that don't go together: the code of its message."""

    def __init__(self, code: str, **values: "Value") -> None:
        super().__init__(code)
        self.code = code
        self.values = values

    @property
    def finding(self) -> "Finding":
        """What is wrong, as a code with the numbers and names in it."""
        from seedbank.science.quantities import Finding

        return Finding(self.code, self.values)

    def __str__(self) -> str:
        from seedbank.common.catalogue import text_of

        return text_of(self.finding)


class BadDatabase(StockFault):
    """The database can't be used as named; ``value`` never shows a password."""

    def __init__(self, code: str, database: str, **values: "Value") -> None:
        super().__init__(code, "database", database, **values)


class NoCollection(BadDatabase):
    """A database that isn't there, or holds nothing of ours."""

    def __init__(self, database: str) -> None:
        super().__init__("no-collection", database)


class NewerDatabase(StockFault):
    """The database was written by a newer seedbank than this one."""

    def __init__(self, revision: str) -> None:
        super().__init__("newer-database", "database", revision)


class CopyDiffers(BadDatabase):
    """A copy of the database that isn't what it was copied from."""

    def __init__(self, database: str, why: "Finding") -> None:
        super().__init__("copy-differs", database, why=why)


class Missing(StockFault):
    """There is no ``what`` (``lot``, ``germination test``, …) with this ``key``."""

    def __init__(self, what: str, key: object) -> None:
        super().__init__("missing", what, key, what=_slug(what), key=repr(key))
        self.what = what
        self.key = key


class BadValue(StockFault):
    """A value out of its range."""


class MisreadCode(StockFault):
    """A lot code that can't be right; ``why`` tells what gave it away."""

    def __init__(self, text: str, why: "Finding") -> None:
        super().__init__("misread-code", "code", text, key=repr(text), why=why)
        self.text = text
        self.why = why


class WrongSign(StockFault):
    """Seed coming in booked as going out, or the other way round."""

    def __init__(self, code: str, reason: str, seeds: int) -> None:
        super().__init__(code, "seeds", seeds, reason=reason)
        self.reason = reason


class CircularParents(StockFault):
    """A lot that would descend from itself."""

    def __init__(self, lot_id: int, parent_id: int) -> None:
        super().__init__("circular-parents", "parents", parent_id, lot_id=lot_id)
        self.lot_id = lot_id
        self.parent_id = parent_id


class AlreadyCounted(StockFault):
    """A day that has a count already; changing it is a correction."""

    def __init__(self, replicate: int, on: date) -> None:
        super().__init__("already-counted", "on_date", on, replicate=replicate)


class TooManyCounted(StockFault):
    """More seeds judged in a replicate than were set."""

    def __init__(self, replicate: int, seeds_set: int, counted: int) -> None:
        super().__init__(
            "too-many-counted", "counts", counted, replicate=replicate, seeds_set=seeds_set
        )
        self.replicate = replicate
        self.seeds_set = seeds_set
        self.counted = counted


class SeedsUnjudged(StockFault):
    """A test that can't be finished: not every seed of a replicate is judged."""

    def __init__(self, replicate: int, missing: int) -> None:
        super().__init__("seeds-unjudged", "replicate", replicate, missing=missing)
        self.replicate = replicate
        self.missing = missing


class TestFinished(StockFault):
    """A finished test takes no new counts."""

    __test__ = False  # not a pytest class

    def __init__(self, test_id: int, on: date) -> None:
        super().__init__("test-finished", "test_id", test_id, on=on)


class TooManyEmerged(StockFault):
    """More units emerged, or lost before they came up, than were sown."""

    def __init__(self, sown: int, emerged: int, lost: int, *, field: str, value: int) -> None:
        super().__init__("too-many-emerged", field, value, sown=sown, emerged=emerged, lost=lost)
        self.sown = sown
        self.emerged = emerged
        self.lost = lost


class FewerEmerged(StockFault):
    """A running total of emergence that would fall from one day to a later one."""

    def __init__(self, on: date, units_emerged: int, other_day: date, other_units: int) -> None:
        super().__init__(
            "fewer-emerged",
            "units_emerged",
            units_emerged,
            on=on,
            other_day=other_day,
            other_units=other_units,
            other="later" if other_day > on else "earlier",
        )


class Overdrawn(StockFault):
    """More seed asked of a lot than it holds."""

    def __init__(self, lot_id: int, held: int, asked: int) -> None:
        super().__init__("overdrawn", "seeds", asked, lot_id=lot_id, held=held)
        self.lot_id = lot_id
        self.held = held
        self.asked = asked


class CannotReverse(StockFault):
    """A movement that can't be undone any more; the code tells why."""

    def __init__(self, code: str, movement_id: int, **values: "Value") -> None:
        super().__init__(code, "movement_id", movement_id, **values)


class SeedbankError(StockFault):
    """Base of what a use case refuses."""


class NotThere(SeedbankError):
    """A thing asked for by its name or number isn't in the collection."""

    def __init__(self, what: str, key: object, *, field: str = "") -> None:
        super().__init__(
            "not-there", field or what.replace(" ", "_"), key, what=_slug(what), key=repr(key)
        )
        self.what = what
        self.key = key


class Refused(SeedbankError):
    """A value that can't be right."""


class Doubted(SeedbankError):
    """Something hardly ever so, perhaps for several reasons: taken once the form's ``confirmed``
    says that it is.
    """

    def __init__(self, doubts: Sequence["Doubt"]) -> None:
        first = doubts[0]
        super().__init__(first.code, first.field, first.value, **first.values)
        self.doubts = doubts

    def text_for(self, local: "Local | None" = None, part: str = "") -> str:
        return " ".join(doubt.text_for(local, part) for doubt in self.doubts)


class Doubt(StockFault):
    """One reason to doubt that it is so."""


class Conflict(SeedbankError):
    """Well formed, but the collection as it stands doesn't allow it."""


class NotEnoughSeed(Conflict):
    """More seed asked of a lot than it holds."""

    def __init__(self, lot: str, asked: int, held: int, *, field: str = "seeds") -> None:
        super().__init__("not-enough-seed", field, asked, lot=lot, held=held)
        self.asked = asked
        self.held = held


class StaleVersion(SeedbankError):
    """The thing was changed since the editor last read it."""

    def __init__(self, what: str, expected: object, current: int) -> None:
        super().__init__("stale-version", "version", expected, what=_slug(what), current=current)
        self.current = current


class KeyReused(SeedbankError):
    """An idempotency key already answered a different request."""

    def __init__(self, key: str) -> None:
        super().__init__("key-reused", "Idempotency-Key", key)


class Busy(SeedbankError):
    """So many ask for what takes long to work out that this one had better come back."""

    retry_after_s = 10

    def __init__(self) -> None:
        super().__init__("busy")


class StillAnswering(SeedbankError):
    """An earlier copy of this request was being written, and failed."""

    def __init__(self, key: str) -> None:
        super().__init__("still-answering", "Idempotency-Key", key)


def ask(doubts: Iterable[Doubt | None], *, confirmed: bool) -> None:
    """Raises Doubted: there is a doubt, and it wasn't said that it is so. All are told at once."""
    found = [doubt for doubt in doubts if doubt is not None]
    if found and not confirmed:
        raise Doubted(found)


def _slug(name: str) -> str:
    """The name of a thing as messages choose by it."""
    return name.replace(" ", "-")
