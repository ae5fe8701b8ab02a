"""Isolation gear added, changed and taken out again; and what a season's work allows."""

from collections.abc import Collection

from sqlmodel import Session, select

from seedbank.common.errors import Conflict
from seedbank.database.editing import claim_version, conflicts_as, put_changes
from seedbank.database.queries import Cursor, Page
from seedbank.database.references import delete_row
from seedbank.database.transaction import transaction
from seedbank.saving.answers.sites import GearAnswer, LimitsAnswer
from seedbank.saving.forms.isolation_gear import GearChange, GearCreate, LimitsChange
from seedbank.saving.tables.garden_limits import garden_limits, garden_limits_row
from seedbank.saving.tables.isolation_gear import GearKind, IsolationGear, find_all_gear, find_gear


def list_gear(
    session: Session, gear: GearKind | None, *, after: Cursor | None, limit: int
) -> Page[GearAnswer]:
    """Isolation gear by name. Raises BadValue: the cursor."""
    page = find_all_gear(session, gear=gear, after=after, limit=limit)
    return Page([GearAnswer.model_validate(one) for one in page.items], page.next)


def show_gear(session: Session, number: int) -> GearAnswer:
    """One kind of gear. Raises NotThere."""
    return GearAnswer.model_validate(find_gear(session, number))


def add_gear(session: Session, form: GearCreate) -> GearAnswer:
    """Add isolation gear. Raises Conflict: the name is taken."""
    with transaction(session):
        gear = IsolationGear(**form.model_dump())
        _save(session, gear)
        return GearAnswer.model_validate(gear)


def change_gear(
    session: Session, number: int, form: GearChange, *, expected: Collection[int] | None
) -> GearAnswer:
    """Change what the form names. Raises NotThere, StaleVersion, Conflict: the name is taken."""
    with transaction(session):
        gear = find_gear(session, number)
        claim_version(session, gear, what="gear", expected=expected)
        put_changes(gear, form)
        _save(session, gear)
        return GearAnswer.model_validate(gear)


def delete_gear(session: Session, number: int, *, expected: Collection[int] | None) -> None:
    """Take out gear no seed crop names. Raises NotThere, StaleVersion, Conflict: one does."""
    with transaction(session):
        gear = find_gear(session, number)
        claim_version(session, gear, what="gear", expected=expected)
        refusal = Conflict(
            f"Seed crops were isolated with {gear.name}; their record needs it.",
            field="id",
            value=number,
            mend="Leave it listed.",
        )
        delete_row(session, gear, refusal)


def show_limits(session: Session) -> LimitsAnswer:
    """What a season's work allows."""
    return LimitsAnswer.model_validate(garden_limits(session))


def change_limits(
    session: Session, form: LimitsChange, *, expected: Collection[int] | None
) -> LimitsAnswer:
    """Change what a season's work allows. Raises StaleVersion."""
    with transaction(session):
        limits = garden_limits_row(session)
        claim_version(session, limits, what="list of limits", expected=expected)
        put_changes(limits, form)
        session.add(limits)
        session.flush()
        return LimitsAnswer.model_validate(limits)


def _save(session: Session, gear: IsolationGear) -> None:
    taken = Conflict(
        f"There already is gear called {gear.name}.",
        field="name",
        value=gear.name,
        mend="Count these among it, or give them a name of their own.",
    )
    same = select(IsolationGear.id).where(
        IsolationGear.name == gear.name, IsolationGear.id != gear.id
    )
    with session.no_autoflush:
        if session.exec(same).first() is not None:
            raise taken
    session.add(gear)
    with conflicts_as(taken):
        session.flush()
