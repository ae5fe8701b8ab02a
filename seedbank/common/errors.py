"""What can go wrong in a change or a use case, in the gardener's words.

All are ``StockFault``s: each names the ``field`` it is about (a dotted path, empty when it is
about the whole), the ``value`` found there, what is wrong (``str(error)``) and the ``mend``.
They know nothing of HTTP; how they travel is others' business.
"""

from datetime import date


class StockFault(Exception):
    """A change refused. ``field`` at fault, the ``value`` it had, and the ``mend``: what to do."""

    lists = False
    """Its message is a list of problems, each with its own place."""

    def __init__(self, field: str, value: object, mend: str, message: str) -> None:
        super().__init__(message)
        self.field = field
        self.value = value
        self.mend = mend

    def __repr__(self) -> str:
        return f"{type(self).__name__}({self.field}={self.value!r}: {self})"


class BadDatabase(StockFault):
    """The database can't be used as named; ``value`` never shows a password."""

    def __init__(self, value: str, mend: str) -> None:
        super().__init__("database", value, mend, f"can't use the database {value!r}")


class NoCollection(BadDatabase):
    """A database that isn't there, or holds nothing of ours."""

    def __init__(self, value: str) -> None:
        super().__init__(
            value,
            "name the one it is in with --database or SEEDBANK_DATABASE_URL; to begin one here: "
            "seedbank import, serve or demo",
        )
        self.args = (f"can't use the database {value!r}: there is no collection there",)


class NewerDatabase(StockFault):
    """The database was written by a newer seedbank than this one."""

    def __init__(self, revision: str) -> None:
        super().__init__(
            "database",
            revision,
            "install the newer seedbank that last opened this database",
            f"the database has schema {revision!r}, which this seedbank does not know",
        )


class CopyDiffers(BadDatabase):
    """A copy of the database that isn't what it was copied from."""

    def __init__(self, value: str, why: str) -> None:
        super().__init__(value, "try again; if it stays so, the disk may be failing")
        self.args = (f"the copy {value!r} is not like its original ({why})",)


class Missing(StockFault):
    """There is no ``what`` (``lot``, ``germination test``, …) with this ``key``."""

    def __init__(self, what: str, key: object) -> None:
        super().__init__(
            what, key, f"choose a {what} that is in the stock", f"there is no {what} {key!r}"
        )
        self.what = what
        self.key = key


class BadValue(StockFault):
    """A value out of its range."""

    def __init__(self, field: str, value: object, mend: str) -> None:
        told = value.isoformat() if isinstance(value, date) else repr(value)
        super().__init__(field, value, mend, f"{field} can't be {told}")


class MisreadCode(StockFault):
    """A lot code that can't be right; ``why`` tells what gave it away."""

    def __init__(self, text: str, why: str) -> None:
        super().__init__("code", text, "read the code on the packet again", f"code {text!r}: {why}")
        self.text = text
        self.why = why


class WrongSign(StockFault):
    """Seed coming in booked as going out, or the other way round."""

    def __init__(self, reason: str, seeds: int, mend: str) -> None:
        super().__init__("seeds", seeds, mend, f"{seeds} seeds can't be booked as {reason}")
        self.reason = reason


class CircularParents(StockFault):
    """A lot that would descend from itself."""

    def __init__(self, lot_id: int, parent_id: int) -> None:
        super().__init__(
            "parents",
            parent_id,
            "choose parents that don't descend from this lot",
            f"lot {lot_id} can't have lot {parent_id} for a parent: it would descend from itself",
        )
        self.lot_id = lot_id
        self.parent_id = parent_id


class AlreadyCounted(StockFault):
    """A day that has a count already; changing it is a correction."""

    def __init__(self, what: str, on: date) -> None:
        super().__init__(
            "on_date",
            on,
            "correct that day's count, or give another day",
            f"{what} is already counted on {on.isoformat()}",
        )


class TooManyCounted(StockFault):
    """More seeds judged in a replicate than were set."""

    def __init__(self, replicate: int, seeds_set: int, counted: int) -> None:
        super().__init__(
            "counts",
            counted,
            f"judge {seeds_set} seeds at most over all days, or correct an earlier count",
            f"replicate {replicate} has {seeds_set} seeds set, {counted} would be judged",
        )
        self.replicate = replicate
        self.seeds_set = seeds_set
        self.counted = counted


class SeedsUnjudged(StockFault):
    """A test that can't be finished: not every seed of a replicate is judged."""

    def __init__(self, replicate: int, missing: int) -> None:
        super().__init__(
            "replicate",
            replicate,
            "count the rest: fresh, hard or dead if they haven't germinated",
            f"{missing} seeds of replicate {replicate} are not judged yet",
        )
        self.replicate = replicate
        self.missing = missing


class TestFinished(StockFault):
    """A finished test takes no new counts."""

    __test__ = False  # not a pytest class

    def __init__(self, test_id: int, on: date) -> None:
        super().__init__(
            "test_id",
            test_id,
            "correct one of its counts, or start a new test",
            f"test {test_id} was finished on {on.isoformat()}",
        )


class TooManyEmerged(StockFault):
    """More units emerged, or lost before they came up, than were sown."""

    def __init__(self, sown: int, emerged: int, lost: int, *, field: str, value: int) -> None:
        super().__init__(
            field,
            value,
            "count units, not seedlings, and each only once",
            f"{emerged} emerged and {lost} lost before they came up, but {sown} were sown",
        )
        self.sown = sown
        self.emerged = emerged
        self.lost = lost


class FewerEmerged(StockFault):
    """A running total of emergence that would fall from one day to a later one."""

    def __init__(self, on: date, units_emerged: int, other_day: date, other_units: int) -> None:
        super().__init__(
            "units_emerged",
            units_emerged,
            "correct the later count first"
            if other_day > on
            else "count all that ever came up, or mark the count as a correction",
            f"{units_emerged} emerged by {on.isoformat()} doesn't fit "
            f"{other_units} by {other_day.isoformat()}",
        )


class Overdrawn(StockFault):
    """More seed asked of a lot than it holds."""

    def __init__(self, lot_id: int, held: int, asked: int) -> None:
        super().__init__(
            "seeds",
            asked,
            f"take at most {held} seeds, or book a stock-take if the packet holds more",
            f"lot {lot_id} holds {held} seeds, {asked} asked",
        )
        self.lot_id = lot_id
        self.held = held
        self.asked = asked


class CannotReverse(StockFault):
    """A movement that can't be undone any more; ``why`` tells the reason."""

    def __init__(self, movement_id: int, why: str, mend: str) -> None:
        super().__init__(
            "movement_id", movement_id, mend, f"movement {movement_id} can't be undone: {why}"
        )
        self.why = why


class SeedbankError(StockFault):
    """Base of what a use case refuses, told message first."""

    def __init__(self, message: str, *, field: str = "", value: object = None, mend: str) -> None:
        super().__init__(field, value, mend, message)
        self.message = message


class NotThere(SeedbankError):
    """A thing asked for by its name or number isn't in the collection."""

    def __init__(self, what: str, key: object, *, field: str = "") -> None:
        super().__init__(
            f"There is no {what} {key!r}.",
            field=field or what.replace(" ", "_"),
            value=key,
            mend=f"Use one that is listed, or add the {what} first.",
        )
        self.what = what
        self.key = key


class Refused(SeedbankError):
    """A value that can't be right."""

    def __init__(self, field: str, value: object, mend: str, message: str = "") -> None:
        super().__init__(
            message or f"{field} can't be {value!s}.", field=field, value=value, mend=mend
        )


class Doubted(SeedbankError):
    """Something hardly ever so: taken once the form's ``confirmed`` says that it is."""


class Conflict(SeedbankError):
    """Well formed, but the collection as it stands doesn't allow it."""


class NotEnoughSeed(Conflict):
    """More seed asked of a lot than it holds."""

    def __init__(self, code: str, asked: int, held: int, *, field: str = "seeds") -> None:
        super().__init__(
            f"Lot {code} holds {held} seeds, so {asked} can't be taken.",
            field=field,
            value=asked,
            mend=f"Take {held} or fewer, or take stock first if the packet really holds more."
            if held
            else "Take stock first if the packet isn't really empty.",
        )
        self.asked = asked
        self.held = held


class StaleVersion(SeedbankError):
    """The thing was changed since the editor last read it."""

    def __init__(self, what: str, expected: object, current: int) -> None:
        super().__init__(
            f"This {what} was changed since you read it: it is now at version {current}.",
            field="version",
            value=expected,
            mend="Read it again, see what changed, and send your change with the new ETag.",
        )
        self.current = current


class KeyReused(SeedbankError):
    """An idempotency key already answered a different request."""

    def __init__(self, key: str) -> None:
        super().__init__(
            "This idempotency key was already used for a different request.",
            field="Idempotency-Key",
            value=key,
            mend="Use a fresh key for every new request; repeat a key only to repeat a request.",
        )


class Busy(SeedbankError):
    """So many ask for what takes long to work out that this one had better come back."""

    retry_after_s = 10

    def __init__(self) -> None:
        super().__init__(
            "Too many are asking at once for what takes long to work out. Nothing was changed.",
            mend="Wait a few seconds and ask again; what has been worked out is kept.",
        )


class StillAnswering(SeedbankError):
    """An earlier copy of this request was being written, and failed."""

    def __init__(self, key: str) -> None:
        super().__init__(
            "Another request is still being written, perhaps an earlier copy of this one.",
            field="Idempotency-Key",
            value=key,
            mend="Wait a second and send the same request with the same key again.",
        )
