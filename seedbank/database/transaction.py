"""One commit a use case: the outermost ``transaction`` commits, and nothing else in the house."""

from collections.abc import Iterator
from contextlib import contextmanager

from sqlmodel import Session

from seedbank.database.audit import enter, forget
from seedbank.database.engine import reads_alone

_DEPTH = "seedbank.transaction.depth"
_SPOILED = "seedbank.transaction.spoiled"


def let_go(session: Session) -> None:
    """Hold no connection while what was read is worked on, or others are waited for.

    A session that only reads goes on at a later moment, with what it read still at hand. One that
    may write keeps its connection: what it has locked must stay as it is until it commits.
    """
    if reads_alone(session):
        session.commit()


@contextmanager
def transaction(session: Session) -> Iterator[Session]:
    """Run a use case: commit when it ends well, roll everything back when it raises.

    Blocks may nest; only the outermost commits, with an entry of what was changed and by whom
    where the session is signed (``audit.sign``). When an inner block fails, the whole
    is rolled back even if someone in between swallowed the error: half a use case is never kept.

    Raises RuntimeError when the outermost block ends well after an inner one failed.
    """
    depth = session.info.get(_DEPTH, 0)
    session.info[_DEPTH] = depth + 1
    try:
        yield session
        if depth == 0:
            if session.info.get(_SPOILED):
                raise RuntimeError("an inner use case failed, so the outer one can't be kept")
            enter(session)
            session.commit()
    except BaseException:
        session.info[_SPOILED] = True
        if depth == 0:
            session.rollback()
            forget(session)
        raise
    finally:
        session.info[_DEPTH] = depth
        if depth == 0:
            session.info.pop(_SPOILED, None)
