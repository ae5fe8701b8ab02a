"""The places seed is kept, to choose from."""

from sqlmodel import Session

from seedbank.lots.list_stock import list_places

MOST = 200


def place_choices(session: Session) -> list[tuple[int, str]]:
    """Number and name of each place, by name."""
    return [(one.id, one.name) for one in list_places(session, after=None, limit=MOST).items]
