"""What can be wrong with a change to the stock: each says which field, what value, what to do.

They know nothing of HTTP or of forms; ``field`` is the name of the argument or column at fault.
"""

from collections.abc import Iterable


class StockFault(Exception):  # noqa: N818 - a fault in what was asked, not in the program
    """A change refused. ``field`` at fault, the ``value`` it had, and the ``mend``: what to do."""

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


class NewerDatabase(StockFault):
    """The database was written by a newer seedbank than this one."""

    def __init__(self, revision: str) -> None:
        super().__init__(
            "database",
            revision,
            "install the newer seedbank that last opened this database",
            f"the database has schema {revision!r}, which this seedbank does not know",
        )


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
        super().__init__(field, value, mend, f"{field} can't be {value!r}")


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


def listed(words: Iterable[str]) -> str:
    """Words for a message: ``a, b or c``."""
    *first, last = words
    return f"{', '.join(first)} or {last}" if first else last
