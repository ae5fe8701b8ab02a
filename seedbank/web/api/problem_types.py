"""One table: which error of a use case travels as which problem, with which HTTP status."""

from dataclasses import dataclass

from seedbank.common import errors
from seedbank.common import errors as stock_errors
from seedbank.common.catalogue import text_of
from seedbank.common.errors import StockFault
from seedbank.science.quantities import Finding


class MissingHeader(errors.SeedbankError):
    """A request header that this request can't do without."""


class BadHeader(errors.SeedbankError):
    """A request header that can't be read."""


class MissingVersion(MissingHeader):
    """A change or deletion that doesn't say which version it is about."""

    def __init__(self) -> None:
        super().__init__("version-missing", "If-Match")


@dataclass(frozen=True, slots=True)
class ProblemType:
    """One kind of problem: its name in the address, and its HTTP status."""

    slug: str
    status: int

    @property
    def title(self) -> str:
        """What it is called."""
        return text_of(Finding(f"problem-{self.slug}"))

    @property
    def meaning(self) -> str:
        """What it means."""
        return text_of(Finding(f"problem-{self.slug}"), part="meaning")


NOT_THERE = ProblemType("not-there", 404)
BAD_VALUE = ProblemType("bad-value", 422)
DOUBTED = ProblemType("doubted", 422)
CONFLICT = ProblemType("conflict", 409)
NOT_ENOUGH_SEED = ProblemType("not-enough-seed", 409)
STALE = ProblemType("stale-version", 412)
NO_VERSION = ProblemType("version-required", 428)
NO_KEY = ProblemType("key-required", 400)
BAD_HEADER = ProblemType("bad-header", 400)
KEY_REUSED = ProblemType("key-reused", 422)
STILL_ANSWERING = ProblemType("still-answering", 409)
DATABASE = ProblemType("database", 503)
BUSY = ProblemType("busy", 503)
FAILURE = ProblemType("failure", 500)

# The nearest class in an error's ancestry decides.
TABLE: dict[type[Exception], ProblemType] = {
    MissingHeader: NO_KEY,
    MissingVersion: NO_VERSION,
    BadHeader: BAD_HEADER,
    errors.NotThere: NOT_THERE,
    errors.Refused: BAD_VALUE,
    errors.Doubted: DOUBTED,
    errors.Doubt: DOUBTED,
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
