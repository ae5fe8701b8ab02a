"""Varieties added, changed and taken out again."""

from collections.abc import Collection

from sqlmodel import Session

from seedbank.common.errors import Conflict
from seedbank.database.find import named_in
from seedbank.database.references import delete_row
from seedbank.database.transaction import claim_version, put_changes, save_named, transaction
from seedbank.kinds.answers import VarietyAnswer
from seedbank.kinds.forms import VarietyChange, VarietyCreate
from seedbank.kinds.tables import Kind, Variety, find_variety, get_kind


def show_variety(session: Session, number: int) -> VarietyAnswer:
    """One variety. Raises NotThere."""
    return answer_variety(session, find_variety(session, number))


def add_variety(session: Session, form: VarietyCreate) -> VarietyAnswer:
    """Add a variety. Raises Refused: no such kind. Conflict: the kind has one of that name."""
    with transaction(session):
        with named_in("kind"):
            kind = get_kind(session, form.kind)
        variety = new_variety(form, kind)
        _save(session, variety)
        return answer_variety(session, variety)


def new_variety(form: VarietyCreate, kind: Kind) -> Variety:
    """The variety a form tells of, not in the collection yet."""
    return Variety(kind_id=kind.id or 0, **form.model_dump(exclude={"kind"}))


def change_variety(
    session: Session, number: int, form: VarietyChange, *, expected: Collection[int] | None
) -> VarietyAnswer:
    """Change what the form names. Raises NotThere, StaleVersion, Conflict: the name is taken."""
    with transaction(session):
        variety = find_variety(session, number)
        claim_version(session, variety, what="variety", expected=expected)
        put_changes(variety, form)
        _save(session, variety)
        return answer_variety(session, variety)


def delete_variety(session: Session, number: int, *, expected: Collection[int] | None) -> None:
    """Take out a variety that has no lots, seed crops, flowerings or pins.

    Raises NotThere, StaleVersion, Conflict: it has.
    """
    with transaction(session):
        variety = find_variety(session, number)
        claim_version(session, variety, what="variety", expected=expected)
        refusal = Conflict("variety-in-use", "id", number, variety=variety.name)
        delete_row(session, variety, refusal)


def answer_variety(session: Session, variety: Variety) -> VarietyAnswer:
    """The variety as it is answered."""
    kind = session.get_one(Kind, variety.kind_id)
    return VarietyAnswer.model_validate({**variety.model_dump(), "kind": kind.slug})


def _save(session: Session, variety: Variety) -> None:
    taken = Conflict("variety-name-taken", "name", variety.name, variety=variety.name)
    save_named(session, variety, taken, Variety.kind_id == variety.kind_id)
