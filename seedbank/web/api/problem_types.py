"""One table: which error of a use case travels as which problem, with which HTTP status."""

from dataclasses import dataclass

from seedbank.common import errors
from seedbank.common import errors as stock_errors
from seedbank.common.errors import StockFault


class MissingHeader(errors.SeedbankError):
    """A request header that this request can't do without."""

    def __init__(self, field: str, mend: str) -> None:
        super().__init__(f"The header {field} is missing.", field=field, mend=mend)


class BadHeader(errors.SeedbankError):
    """A request header that can't be read."""

    def __init__(self, field: str, value: str, mend: str) -> None:
        super().__init__(f"The header {field} can't be read.", field=field, value=value, mend=mend)


class MissingVersion(MissingHeader):
    """A change or deletion that doesn't say which version it is about."""

    def __init__(self) -> None:
        super().__init__(
            "If-Match", "Read the thing first and send its ETag back in the header If-Match."
        )


@dataclass(frozen=True, slots=True)
class ProblemType:
    """One kind of problem: its name in the address, its HTTP status, its title."""

    slug: str
    status: int
    title: str
    meaning: str


NOT_THERE = ProblemType(
    "not-there", 404, "No such thing", "What the address or a field names isn't in the collection."
)
BAD_VALUE = ProblemType(
    "bad-value", 422, "Some values can't be right", "errors names each field, its value, the mend."
)
DOUBTED = ProblemType(
    "doubted",
    422,
    "Is it so?",
    "Hardly ever so, and so not taken: mend it, or send it again with confirmed true if it is so.",
)
CONFLICT = ProblemType(
    "conflict", 409, "Not as things stand", "Well formed, but the collection doesn't allow it now."
)
NOT_ENOUGH_SEED = ProblemType(
    "not-enough-seed", 409, "Not enough seed", "A lot's balance never goes below zero."
)
STALE = ProblemType(
    "stale-version", 412, "Changed meanwhile", "If-Match names a version that is no longer current."
)
NO_VERSION = ProblemType(
    "version-required", 428, "Say which version", "Changing and deleting need the header If-Match."
)
NO_KEY = ProblemType(
    "key-required", 400, "Key required", "Every POST needs the header Idempotency-Key."
)
BAD_HEADER = ProblemType("bad-header", 400, "Header can't be read", "A header is malformed.")
KEY_REUSED = ProblemType(
    "key-reused", 422, "Key already used", "One Idempotency-Key stands for one request only."
)
STILL_ANSWERING = ProblemType(
    "still-answering", 409, "Still being answered", "Send the same request again in a second."
)
DATABASE = ProblemType(
    "database", 503, "The database can't be used", "The collection's database is not available."
)
BUSY = ProblemType("busy", 503, "Busy", "Too many ask at once for what takes long to work out.")
FAILURE = ProblemType(
    "failure", 500, "Something broke here", "A fault of the program; nothing was changed."
)

# The nearest class in an error's ancestry decides.
TABLE: dict[type[Exception], ProblemType] = {
    MissingHeader: NO_KEY,
    MissingVersion: NO_VERSION,
    BadHeader: BAD_HEADER,
    errors.NotThere: NOT_THERE,
    errors.Refused: BAD_VALUE,
    errors.Doubted: DOUBTED,
    errors.Conflict: CONFLICT,
    errors.NotEnoughSeed: NOT_ENOUGH_SEED,
    errors.StaleVersion: STALE,
    errors.KeyReused: KEY_REUSED,
    errors.StillAnswering: STILL_ANSWERING,
    errors.Busy: BUSY,
    stock_errors.Missing: NOT_THERE,
    stock_errors.BadValue: BAD_VALUE,
    stock_errors.MisreadCode: BAD_VALUE,
    stock_errors.WrongSign: BAD_VALUE,
    stock_errors.CircularParents: CONFLICT,
    stock_errors.AlreadyCounted: CONFLICT,
    stock_errors.TooManyCounted: BAD_VALUE,
    stock_errors.SeedsUnjudged: CONFLICT,
    stock_errors.TestFinished: CONFLICT,
    stock_errors.TooManyEmerged: BAD_VALUE,
    stock_errors.FewerEmerged: CONFLICT,
    stock_errors.Overdrawn: NOT_ENOUGH_SEED,
    stock_errors.CannotReverse: CONFLICT,
    stock_errors.BadDatabase: DATABASE,
    stock_errors.CopyDiffers: DATABASE,
    stock_errors.NoCollection: DATABASE,
    stock_errors.NewerDatabase: DATABASE,
    StockFault: BAD_VALUE,
}
PROBLEM_TYPES = (
    NOT_THERE, BAD_VALUE, DOUBTED, CONFLICT, NOT_ENOUGH_SEED, STALE, NO_VERSION, NO_KEY, BAD_HEADER,
    KEY_REUSED, STILL_ANSWERING, DATABASE, BUSY, FAILURE,
)  # fmt: skip


def problem_type(error: Exception) -> ProblemType:
    """The problem an error travels as."""
    for ancestor in type(error).__mro__:
        if ancestor in TABLE:
            return TABLE[ancestor]
    return FAILURE
