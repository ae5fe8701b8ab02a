"""What a packet says of its seed: kept, changed, and refused where it can't be true."""

import pytest
from pydantic import ValidationError

from seedbank.common.errors import Refused
from seedbank.facts.kinds import KindFacts, packaged_kinds
from seedbank.lots.forms import LotChange, StockTakeCreate
from seedbank.lots.move_seed import record_stock_take
from seedbank.lots.show_lots import show_lot
from seedbank.lots.tables.lots import Lot, SeedForm
from seedbank.lots.take_in_lots import change_lot
from seedbank.lots.weighing import seed_weight
from tests.use_cases.conftest import Garden

SAID = {
    "packed_on": "2026-11",
    "packed_for": 2027,
    "printed_germination_pct": 88.0,
    "printed_test_on": "2026-10-12",
    "seed_form": "pelleted",
}


def of(garden: Garden, code: str) -> dict[str, object]:
    lot = show_lot(garden.session, code, today=garden.today)
    return lot.model_dump(mode="json", include=set(SAID))


def change(garden: Garden, code: str, **fields: object) -> None:
    form = LotChange.model_validate(fields)
    change_lot(garden.session, code, form, expected=None, today=garden.today)


def test_all_a_packet_says_is_kept_changed_and_made_unknown_again(garden: Garden) -> None:
    assert of(garden, garden.lot().code) == dict.fromkeys(SAID)
    code = garden.lot(acquired_on=None, **SAID).code
    assert of(garden, code) == SAID
    change(garden, code, printed_test_on="2026-09", seed_form="primed")
    assert of(garden, code) == SAID | {"printed_test_on": "2026-09", "seed_form": "primed"}
    change(garden, code, **dict.fromkeys(SAID))
    assert of(garden, code) == dict.fromkeys(SAID)


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"printed_test_on": "2027-03-02"}, "printed_test_on"),
        ({"printed_test_on": "2027-04"}, "printed_test_on"),
        ({"packed_on": "2028"}, "packed_on"),
        ({"printed_test_on": "2024-12", "harvest_year": 2025}, "printed_test_on"),
        ({"printed_test_on": "2025-09-09", "harvest_date": "2025-09-10"}, "printed_test_on"),
        ({"packed_on": "2024", "harvest_year": 2025}, "packed_on"),
        ({"packed_for": 2024, "harvest_year": 2025}, "packed_for"),
        ({"packed_for": 2024, "packed_on": "2025-11"}, "packed_for"),
        ({"packed_for": 2031}, "packed_for"),
        ({"printed_test_on": "2026-02", "acquired_on": "2026-01-31"}, "printed_test_on"),
        ({"packed_on": "2026-02", "acquired_on": "2026-01-31"}, "packed_on"),
        ({"sow_by": "2024-12-31", "harvest_year": 2025}, "sow_by"),
        ({"sow_by": "2025-12-31", "packed_on": "2026-01-05"}, "sow_by"),
    ],
)
def test_what_cannot_be_true_of_a_packet_is_refused_by_its_field(
    garden: Garden, fields: dict[str, object], field: str
) -> None:
    with pytest.raises(Refused) as refused:
        garden.lot(**{"acquired_on": None} | fields)
    assert refused.value.field == field
    code = garden.lot(acquired_on=None).code
    before = garden.dump()
    with pytest.raises(Refused) as refused:
        change(garden, code, **fields)
    assert refused.value.field == field
    assert garden.dump() == before


def test_what_may_be_so_is_taken(garden: Garden) -> None:
    for fields in (
        {"printed_test_on": "2027"},  # some day of this year that has been
        {"printed_test_on": "2024", "harvest_year": 2025, "harvest_estimated": True},
        {"printed_test_on": "2025", "harvest_date": "2025-09-10"},
        {"packed_for": 2029},
        {"packed_on": "2026", "acquired_on": "2026-01-31"},
    ):
        garden.lot(**{"acquired_on": None} | fields)


@pytest.mark.parametrize("day", ["2024-13", "2024-02-30", "24", "2024-3", "Mar 2024", "1799", ""])
def test_a_day_on_a_packet_is_a_day_a_month_or_a_year(day: str) -> None:
    with pytest.raises(ValidationError):
        LotChange.model_validate({"printed_test_on": day})


@pytest.mark.parametrize("share", [-0.1, 100.1])
def test_printed_germination_is_a_percentage(share: float) -> None:
    with pytest.raises(ValidationError):
        LotChange.model_validate({"printed_germination_pct": share})


def test_pellets_weigh_what_pellets_weigh(garden: Garden) -> None:
    bare = garden.lot(amount={"grams": 10.0})
    assert bare.amount.seeds is not None
    pellets = garden.lot(amount={"grams": 10.0}, seed_form="pelleted")
    assert pellets.amount.seeds is None  # grams they stay until they are counted or weighed
    weighed = garden.lot(amount={"grams": 10.0}, seed_form="pelleted", thousand_seed_weight_g=50.0)
    assert weighed.amount.seeds == 200
    form = StockTakeCreate(grams=8.0)
    with pytest.raises(Refused, match="weight"):
        record_stock_take(garden.session, pellets.code, form, today=garden.today, now=garden.now)


def test_a_kinds_weight_is_of_bare_seed() -> None:
    carrot: KindFacts = packaged_kinds()["carrot"]
    for seed_form in (None, SeedForm.RAW, SeedForm.PRIMED):
        lot = Lot(seed_form=seed_form)
        assert seed_weight(lot, carrot) is not None
    assert seed_weight(Lot(seed_form=SeedForm.PELLETED), carrot) is None
