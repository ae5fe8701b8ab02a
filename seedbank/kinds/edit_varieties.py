"""Varieties added, changed and taken out again."""

from collections.abc import Collection

from sqlmodel import Session, col, select

from seedbank.common.errors import Conflict
from seedbank.database.find import named_in
from seedbank.database.references import delete_row
from seedbank.database.transaction import claim_version, put_changes, save_named, transaction
from seedbank.kinds.answers import KeepersToldAnswer, VarietyAnswer
from seedbank.kinds.forms import KeepersTold, VarietyChange, VarietyCreate
from seedbank.kinds.tables import (
    Kind,
    OtherKeepers,
    Variety,
    find_variety,
    get_variety,
    kind_named,
)


def show_variety(session: Session, number: int) -> VarietyAnswer:
    """One variety. Raises NotThere."""
    return answer_variety(session, find_variety(session, number))


def add_variety(session: Session, form: VarietyCreate) -> VarietyAnswer:
    """Add a variety. Raises Refused: no such kind. Conflict: the kind has one of that name."""
    with transaction(session):
        kind = kind_named(session, form.kind)
        variety = new_variety(form, kind)
        _save(session, variety)
        return answer_variety(session, variety)


def new_variety(form: VarietyCreate, kind: Kind) -> Variety:
    """The variety a form tells of, not in the collection yet."""
    variety = Variety(kind_id=kind.id or 0, **form.model_dump(exclude={"kind"}))
    variety.keepers_unknown |= "other_keepers" not in form.model_fields_set
    return variety


def change_variety(
    session: Session, number: int, form: VarietyChange, *, expected: Collection[int] | None
) -> VarietyAnswer:
    """Change what the form names. Raises NotThere, StaleVersion, Conflict: the name is taken."""
    with transaction(session):
        variety = find_variety(session, number)
        claim_version(session, variety, what="variety", expected=expected)
        put_changes(variety, form)
        if "other_keepers" in form.model_fields_set:
            variety.keepers_unknown = form.keepers_unknown or False
        _save(session, variety)
        return answer_variety(session, variety)


def tell_keepers(session: Session, form: KeepersTold) -> KeepersToldAnswer:
    """Say of many varieties at once how many others keep them. Raises Refused: no such variety."""
    with transaction(session):
        for position, one in enumerate(form.items):
            with named_in(f"items[{position}].variety_id"):
                variety = get_variety(session, one.variety_id)
            set_keepers(session, variety, one.other_keepers, unknown=False)
        return KeepersToldAnswer(varieties=len(form.items))


def set_keepers(
    session: Session, variety: Variety, keepers: OtherKeepers, *, unknown: bool
) -> None:
    """Put down how many others keep a variety; its version goes up."""
    claim_version(session, variety, what="variety", expected=None)
    variety.other_keepers, variety.keepers_unknown = keepers, unknown
    session.add(variety)
    session.flush()


def untold_keepers(session: Session, most: int) -> list[Variety]:
    """Varieties of which nobody knows how many others keep them, by name."""
    query = select(Variety).where(col(Variety.keepers_unknown))
    ordered = query.order_by(col(Variety.name), col(Variety.id)).limit(most)
    return list(session.exec(ordered))


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
