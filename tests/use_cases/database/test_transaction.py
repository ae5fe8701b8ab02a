"""One commit a use case, whatever it is made of."""

import contextlib

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, select

from seedbank.database.transaction import transaction
from seedbank.lots.tables.places import Place


def names(engine: Engine) -> list[str]:
    with Session(engine) as other:
        return sorted(place.name for place in other.exec(select(Place)))


def add(session: Session, name: str, fault: type[BaseException] | None = None) -> None:
    with transaction(session):
        session.add(Place(name=name))
        session.flush()
        if fault is not None:
            raise fault


def test_a_use_case_that_ends_well_is_kept(session: Session, engine: Engine) -> None:
    add(session, "Shed")
    assert names(engine) == ["Shed"]


@pytest.mark.parametrize("fault", [KeyError, KeyboardInterrupt, SystemExit])
def test_a_use_case_that_fails_leaves_nothing(
    session: Session, engine: Engine, fault: type[BaseException]
) -> None:
    with pytest.raises(fault):
        add(session, "Shed", fault)
    assert names(engine) == []


def test_an_inner_use_case_is_kept_or_lost_with_the_outer(session: Session, engine: Engine) -> None:
    def outer(fault: type[BaseException] | None) -> None:
        with transaction(session):
            add(session, "Shed")
            add(session, "Cellar", fault)

    with pytest.raises(KeyError):
        outer(KeyError)
    assert names(engine) == []
    outer(None)
    assert names(engine) == ["Cellar", "Shed"]


def test_a_failure_swallowed_on_the_way_out_still_undoes_the_whole(
    session: Session, engine: Engine
) -> None:
    def careless() -> None:
        with transaction(session):
            add(session, "Shed")
            with contextlib.suppress(KeyError):
                add(session, "Half", KeyError)

    with pytest.raises(RuntimeError, match="inner use case failed"):
        careless()
    assert names(engine) == []


def test_a_failure_spoils_no_later_use_case(session: Session, engine: Engine) -> None:
    with pytest.raises(KeyError), transaction(session):
        add(session, "Half", KeyError)
    add(session, "Shed")
    assert names(engine) == ["Shed"]
