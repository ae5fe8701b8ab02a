# ruff: noqa: N818 - named for what went wrong, as the gardener would say it
"""What can go wrong in a use case, in the gardener's words; how it travels is others' business.

All are ``StockFault``s: each names the ``field`` it is about (a dotted path, empty when it is
about the whole), the ``value`` found there, what is wrong (``str(error)``) and the ``mend``.
Faults of the ledger and of lot codes come through unchanged.
"""

from seedbank.common.faults import StockFault


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
