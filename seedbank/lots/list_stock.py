"""Lists of what is in the collection, a page at a time."""

from sqlmodel import Session

from seedbank.database.queries import Cursor, Page
from seedbank.kinds.answers.kinds import KindSummary
from seedbank.kinds.answers.varieties import VarietyAnswer
from seedbank.kinds.tables.kinds import find_kinds
from seedbank.kinds.tables.varieties import VarietyEntry, VarietyFilter, find_varieties
from seedbank.lots.answers.places import PlaceAnswer
from seedbank.lots.tables.places import find_places


def list_varieties(
    session: Session, wanted: VarietyFilter, *, after: Cursor | None, limit: int
) -> Page[VarietyAnswer]:
    """Varieties by name. Raises BadValue: the cursor."""

    def answer(entry: VarietyEntry) -> VarietyAnswer:
        return VarietyAnswer.model_validate({**entry.variety.model_dump(), "kind": entry.kind.slug})

    page = find_varieties(session, wanted, after=after, limit=limit)
    return Page([answer(entry) for entry in page.items], page.next)


def list_places(session: Session, *, after: Cursor | None, limit: int) -> Page[PlaceAnswer]:
    """Places by name. Raises BadValue: the cursor."""
    page = find_places(session, after=after, limit=limit)
    return Page([PlaceAnswer.model_validate(place) for place in page.items], page.next)


def list_kinds(
    session: Session,
    *,
    packaged: bool | None,
    text: str | None,
    after: Cursor | None,
    limit: int,
) -> Page[KindSummary]:
    """Kinds by name, without their facts. Raises BadValue: the cursor."""
    page = find_kinds(session, packaged=packaged, text=text, after=after, limit=limit)
    return Page([KindSummary.model_validate(kind) for kind in page.items], page.next)
