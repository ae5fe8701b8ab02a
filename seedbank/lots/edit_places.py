"""Places seed is kept: added, changed, taken out again, and listed to choose from."""

from collections.abc import Collection

from sqlmodel import Session

from seedbank.common.errors import Conflict
from seedbank.database.queries import Paging
from seedbank.database.references import delete_row
from seedbank.database.transaction import claim_version, put_changes, save_named, transaction
from seedbank.lots.answers import PlaceAnswer
from seedbank.lots.forms import PlaceChange, PlaceCreate
from seedbank.lots.show_lots import list_places
from seedbank.lots.tables.places import Place, find_place


def show_place(session: Session, number: int) -> PlaceAnswer:
    """One place. Raises NotThere."""
    return PlaceAnswer.model_validate(find_place(session, number))


def add_place(session: Session, form: PlaceCreate) -> PlaceAnswer:
    """Add a place. Raises Conflict: the name is taken."""
    with transaction(session):
        place = Place(**form.model_dump())
        _save(session, place)
        return PlaceAnswer.model_validate(place)


def change_place(
    session: Session, number: int, form: PlaceChange, *, expected: Collection[int] | None
) -> PlaceAnswer:
    """Change what the form names. Raises NotThere, StaleVersion, Conflict: the name is taken."""
    with transaction(session):
        place = find_place(session, number)
        claim_version(session, place, what="place", expected=expected)
        put_changes(place, form)
        _save(session, place)
        return PlaceAnswer.model_validate(place)


def delete_place(session: Session, number: int, *, expected: Collection[int] | None) -> None:
    """Take out a place no lot was ever in. Raises NotThere, StaleVersion, Conflict: one was."""
    with transaction(session):
        place = find_place(session, number)
        claim_version(session, place, what="place", expected=expected)
        refusal = Conflict("place-in-use", "id", number, place=place.name)
        delete_row(session, place, refusal)


def _save(session: Session, place: Place) -> None:
    taken = Conflict("place-name-taken", "name", place.name, place=place.name)
    save_named(session, place, taken)


MOST = 200


def place_choices(session: Session) -> list[tuple[int, str]]:
    """Number and name of each place, by name."""
    return [(one.id, one.name) for one in list_places(session, Paging(MOST)).items]
