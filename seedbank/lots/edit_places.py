"""Places seed is kept: added, changed, taken out again, and listed to choose from."""

from collections.abc import Collection

from sqlmodel import Session, select

from seedbank.common.errors import Conflict, Refused
from seedbank.database.find import named_in, row_id
from seedbank.database.queries import Paging
from seedbank.database.references import delete_row
from seedbank.database.transaction import claim_version, put_changes, save_named, transaction
from seedbank.lots.answers import PlaceAnswer
from seedbank.lots.forms import PlaceChange, PlaceCreate, PlaceMerge
from seedbank.lots.show_lots import list_places
from seedbank.lots.tables.places import Place, Stay, find_place, get_place


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


def merge_places(session: Session, number: int, form: PlaceMerge) -> PlaceAnswer:
    """Put all that is or was in a place down as in another, and take the place out.

    Raises NotThere, Refused: no such place to merge it into, or it is the same.
    """
    with transaction(session):
        gone = find_place(session, number)
        with named_in("into"):
            kept = get_place(session, form.into)
        if kept.id == gone.id:
            raise Refused("place-into-itself", "into", form.into)
        for stay in session.exec(select(Stay).where(Stay.place_id == gone.id)):
            stay.place_id = row_id(kept.id)
            session.add(stay)
        session.flush()
        delete_row(session, gone)
        return PlaceAnswer.model_validate(kept)


def _save(session: Session, place: Place) -> None:
    taken = Conflict("place-name-taken", "name", place.name, place=place.name)
    save_named(session, place, taken)


MOST = 200


def place_choices(session: Session) -> list[tuple[int, str]]:
    """Number and name of each place, by name."""
    return [(one.id, one.name) for one in list_places(session, Paging(MOST)).items]


def place_called(session: Session, typed: str) -> int:
    """The number of the place so called, whatever its case, or of that number. Raises Refused."""
    called = [
        number
        for number, name in place_choices(session)
        if name.casefold() == typed.strip().casefold() or str(number) == typed
    ]
    if not called:
        raise Refused("no-place-called", "place", typed)
    return called[0]
