"""Work on many lots: all or none, one audit entry, one undo that gives each its own back."""

from datetime import timedelta

import pytest
from sqlmodel import select

from seedbank.common.errors import Conflict, Refused
from seedbank.database.audit import AuditEntry, sign
from seedbank.kinds.tables import Variety
from seedbank.lots.edit_places import add_place
from seedbank.lots.forms import MovementCreate, PlaceCreate, StayCreate
from seedbank.lots.move_seed import record_movement
from seedbank.lots.show_lots import show_lot, show_stays
from seedbank.lots.tables.ledger import Movement
from seedbank.lots.take_in_lots import move_lot_to
from seedbank.overview.forms import BatchCreate
from seedbank.overview.undo_batch import undo_batch
from seedbank.overview.work_on_lots import work_on_lots
from tests.use_cases.conftest import Garden


def _places(garden: Garden, *names: str) -> list[int]:
    return [add_place(garden.session, PlaceCreate(name=name)).id for name in names]


def _do(garden: Garden, **form: object) -> int:
    return work_on_lots(garden.session, BatchCreate.model_validate(form), **garden.when).id


def _amounts(garden: Garden, codes: list[str]) -> list[int | None]:
    return [show_lot(garden.session, code, today=garden.today).amount.seeds for code in codes]


def test_lots_are_moved_together_and_each_goes_back_to_its_own_place(garden: Garden) -> None:
    shed, tin, cellar = _places(garden, "shed", "tin", "cellar")
    codes = [garden.lot().code for _ in range(3)]
    early = garden.today - timedelta(days=1)
    for code, place, day in zip(
        codes, (shed, cellar, shed), (early, garden.today, early), strict=True
    ):
        form = StayCreate(place_id=place, from_date=day)
        move_lot_to(garden.session, code, form, today=garden.today)
    before = [show_stays(garden.session, code) for code in codes]
    number = _do(garden, work="move", lots=codes, place_id=tin)
    places = [show_lot(garden.session, code, today=garden.today).place for code in codes]
    assert [place.name for place in places if place] == ["tin"] * 3
    undo_batch(garden.session, number, **garden.when)
    assert [show_stays(garden.session, code) for code in codes] == before
    with pytest.raises(Conflict) as undone:
        undo_batch(garden.session, number, **garden.when)
    assert undone.value.code == "batch-undone-already"


def test_a_lot_moved_on_since_keeps_the_undo_from_all_and_is_named(garden: Garden) -> None:
    shed, tin = _places(garden, "shed", "tin")
    codes = [garden.lot().code for _ in range(3)]
    number = _do(garden, work="move", lots=codes, place_id=tin)
    move_lot_to(garden.session, codes[1], StayCreate(place_id=shed), today=garden.today)
    before = garden.dump()
    with pytest.raises(Conflict) as refused:
        undo_batch(garden.session, number, **garden.when)
    assert codes[1] in str(refused.value)
    assert codes[0] not in str(refused.value)
    assert garden.dump() == before


def test_seed_is_given_by_share_or_amount_and_comes_back_exactly(garden: Garden) -> None:
    codes = [garden.lot(seeds).code for seeds in (100, 31, 8)]
    half = _do(garden, work="give", lots=codes, share=0.5, note="Orla")
    assert _amounts(garden, codes) == [50, 15, 4]
    few = _do(garden, work="give", lots=codes, amount={"seeds": 4})
    assert _amounts(garden, codes) == [46, 11, 0]
    undo_batch(garden.session, few, **garden.when)
    undo_batch(garden.session, half, **garden.when)
    assert _amounts(garden, codes) == [100, 31, 8]


def test_what_nobody_counted_is_thrown_out_whole_and_is_uncounted_again_when_undone(
    garden: Garden,
) -> None:
    codes = [garden.lot(None).code, garden.lot(40).code]
    number = _do(garden, work="throw-out", lots=codes)
    assert _amounts(garden, codes) == [0, 0]
    undo_batch(garden.session, number, **garden.when)
    assert _amounts(garden, codes) == [None, 40]
    with pytest.raises(Refused) as refused:
        _do(garden, work="give", lots=codes, share=0.5)
    assert codes[0] in str(refused.value)


def test_it_is_refused_as_a_whole_with_every_offending_code(garden: Garden) -> None:
    codes = [garden.lot(seeds).code for seeds in (100, 3, 50, 5)]
    before = garden.dump()
    with pytest.raises(Refused) as refused:
        _do(garden, work="give", lots=codes, amount={"seeds": 10})
    assert refused.value.value == f"{codes[1]}, {codes[3]}"
    assert refused.value.field == "lots"
    with pytest.raises(Refused) as unknown:
        _do(garden, work="throw-out", lots=[codes[0], "ZZZZZ", "4K7PM"])
    assert unknown.value.value == "ZZZZZ, 4K7PM"
    assert garden.dump() == before


def test_keepers_are_told_of_all_and_each_variety_gets_its_own_back(garden: Garden) -> None:
    told = garden.variety(other_keepers="none")
    untold = garden.variety()
    codes = [garden.lot(variety_id=number).code for number in (told, untold)]
    number = _do(garden, work="keepers", lots=codes, other_keepers="few")

    def keepers() -> list[tuple[str, bool]]:
        garden.session.expire_all()
        rows = [garden.session.get_one(Variety, number) for number in (told, untold)]
        return [(row.other_keepers.value, row.keepers_unknown) for row in rows]

    assert keepers() == [("few", False), ("few", False)]
    undo_batch(garden.session, number, **garden.when)
    assert keepers() == [("none", False), ("many", True)]


def test_tests_are_begun_of_all_and_taken_back_with_their_seed(garden: Garden) -> None:
    codes = [garden.lot(seeds).code for seeds in (100, 60)]
    number = _do(garden, work="test", lots=codes, replicates=[10, 10])
    assert _amounts(garden, codes) == [80, 40]
    undo_batch(garden.session, number, **garden.when)
    assert _amounts(garden, codes) == [100, 60]
    garlic = garden.lot(12, kind="garlic").code
    with pytest.raises(Refused) as refused:
        _do(garden, work="test", lots=[*codes, garlic])
    assert refused.value.value == garlic


def test_seed_used_since_keeps_the_undo_from_all(garden: Garden) -> None:
    codes = [garden.lot(20).code, garden.lot(20).code]
    number = _do(garden, work="test", lots=codes)
    given = MovementCreate.model_validate({"reason": "given", "amount": {"seeds": 10}})
    record_movement(garden.session, codes[0], given, **garden.when)
    undo_batch(garden.session, number, **garden.when)  # a test's seed comes back all the same
    assert _amounts(garden, codes) == [10, 20]


def test_all_of_it_is_one_entry_of_the_audit(garden: Garden) -> None:
    (tin,) = _places(garden, "tin")
    codes = [garden.lot().code for _ in range(5)]
    sign(garden.session, by="owner", asked="POST /batches", at=garden.now)
    had = len(garden.session.exec(select(AuditEntry)).all())
    number = _do(garden, work="move", lots=codes, place_id=tin)
    undo_batch(garden.session, number, **garden.when)
    entries = garden.session.exec(select(AuditEntry).order_by(AuditEntry.id)).all()[had:]  # type: ignore[arg-type]  # a column
    assert [entry.row_count for entry in entries] == [6, 6]


def test_lots_are_meant_by_what_they_are(garden: Garden) -> None:
    carrots = [garden.lot().code for _ in range(2)]
    garden.lot(kind="leek")
    garden.lot(0)
    number = _do(garden, work="throw-out", among={"kind": "carrot"})
    assert sorted(_amounts(garden, carrots)) == [0, 0]
    undo_batch(garden.session, number, **garden.when)
    booked = garden.session.exec(select(Movement).where(Movement.seeds < 0)).all()  # type: ignore[operator]  # a column
    assert len(booked) == 2
    with pytest.raises(Refused) as none:
        _do(garden, work="throw-out", among={"kind": "parsnip"})
    assert none.value.code == "batch-of-none"
