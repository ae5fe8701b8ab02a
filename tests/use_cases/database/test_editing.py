"""Of two editors who read the same version, one gets through."""

import pytest
from sqlalchemy import Engine
from sqlmodel import Session

from seedbank.common.errors import StaleVersion
from seedbank.database.engine import session_factory
from seedbank.database.transaction import claim_version, put_changes, transaction
from seedbank.lots.forms import PlaceChange
from seedbank.lots.tables.places import Place


def test_the_second_of_two_editors_is_told_the_version_is_stale(engine: Engine) -> None:
    write = session_factory(engine)
    with write() as first, write() as second:
        with transaction(first):
            first.add(Place(name="Shed"))
        seen = second.get_one(Place, 1)
        second.commit()
        with transaction(first):
            claim_version(first, first.get_one(Place, 1), what="place", expected={1})
        assert seen.version == 1
        with pytest.raises(StaleVersion) as stale, transaction(second):
            claim_version(second, seen, what="place", expected={1})
    assert stale.value.current == 2


def test_a_claim_without_a_version_always_gets_through(session: Session) -> None:
    place = Place(name="Shed")
    session.add(place)
    session.flush()
    claim_version(session, place, what="place", expected=None)
    claim_version(session, place, what="place", expected=[7, 2])
    assert place.version == 3


def test_only_named_fields_change_and_null_makes_a_value_unknown(session: Session) -> None:
    place = Place(name="Shed", temp_winter_c=4.0, temp_summer_c=22.0)
    session.add(place)
    put_changes(place, PlaceChange.model_validate({"temp_winter_c": None}))
    assert (place.name, place.temp_winter_c, place.temp_summer_c) == ("Shed", None, 22.0)
