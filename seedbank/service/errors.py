"""What can go wrong in a use case, in the gardener's words; how it travels is others' business.

All are ``StockFault``s: each names the ``field`` it is about (a dotted path, empty when it is
about the whole), the ``value`` found there, what is wrong (``str(error)``) and the ``mend``.
Faults of the ledger and of lot codes come through unchanged.
"""

from seedbank.stock.errors import StockFault


class NotThere(StockFault):
    """A thing asked for by its name or number isn't in the collection."""

    def __init__(self, what: str, key: object, *, field: str = "") -> None:
        super().__init__(
            field or what.replace(" ", "_"),
            key,
            f"Use one that is listed, or add the {what} first.",
            f"There is no {what} {key!r}.",
        )
        self.what = what
        self.key = key


class Refused(StockFault):
    """A value that can't be right."""

    def __init__(self, field: str, value: object, mend: str, message: str = "") -> None:
        super().__init__(field, value, mend, message or f"{field} can't be {value!s}.")


class Conflict(StockFault):
    """Well formed, but the collection as it stands doesn't allow it."""

    def __init__(self, message: str, *, field: str = "", value: object = None, mend: str) -> None:
        super().__init__(field, value, mend, message)


class NotEnoughSeed(Conflict):
    """More seed asked of a lot than it holds."""

    def __init__(self, code: str, asked: int, held: int, *, field: str = "seeds") -> None:
        super().__init__(
            f"Lot {code} holds {held} seeds, so {asked} can't be taken.",
            field=field,
            value=asked,
            mend=f"Take {held} or fewer, or take stock first if the packet really holds more.",
        )
        self.asked = asked
        self.held = held


class StaleVersion(StockFault):
    """The thing was changed since the editor last read it."""

    def __init__(self, what: str, expected: object, current: int) -> None:
        super().__init__(
            "version",
            expected,
            "Read it again, see what changed, and send your change with the new ETag.",
            f"This {what} was changed since you read it: it is now at version {current}.",
        )
        self.current = current


class KeyReused(StockFault):
    """An idempotency key already answered a different request."""

    def __init__(self, key: str) -> None:
        super().__init__(
            "Idempotency-Key",
            key,
            "Use a fresh key for every new request; repeat a key only to repeat a request.",
            "This idempotency key was already used for a different request.",
        )


class StillAnswering(StockFault):
    """Another request, perhaps this very one, is being written and won't make way in time."""

    def __init__(self, key: str) -> None:
        super().__init__(
            "Idempotency-Key",
            key,
            "Wait a second and send the same request with the same key again.",
            "Another request is still being written, perhaps an earlier copy of this one.",
        )
