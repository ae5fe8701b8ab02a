"""The demo collection: it imports whole, holds what it promises, and can be made again."""

import csv
import subprocess
import sys
from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from scipy.stats import chi2_contingency
from sqlmodel import Session, SQLModel, col, func, select

from seedbank.database.engine import open_engine, session_factory
from seedbank.emergence.tables import Emergence, Loss, LossCause, Sowing
from seedbank.facts.kinds import packaged_kinds
from seedbank.germination.tables import Count, GerminationTest, Replicate, Substratum
from seedbank.interchange.folder.import_collection import (
    ImportRefused,
    ImportReport,
    import_collection,
)
from seedbank.interchange.folder.rows import ROWS, MixturePartRow
from seedbank.kinds.tables import (
    Breeding,
    Kind,
    KindFact,
    OtherKeepers,
    Variety,
    ensure_packaged_kinds,
)
from seedbank.lots.tables.brought_in import BroughtIn
from seedbank.lots.tables.ledger import Movement, MovementReason, balances
from seedbank.lots.tables.lots import Isolation, Lot, LotParent, Origin, Purity
from seedbank.lots.tables.places import Place, Stay
from seedbank.saving.check_crossing import CropAsked, crossing_of
from seedbank.saving.gather_flowering import crop_stand, read_year
from seedbank.saving.tables import Flowering, IsolationGear, SeedCrop, Site
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.science.crossing.crossing_stands import Standing
from seedbank.science.verdicts.verdict import FOR_SEED
from seedbank.verdicts.judge_lots import judge_collection

DEMO = Path(__file__).parents[3] / "demo_data"
NOW = datetime(2027, 2, 20, 12, tzinfo=UTC)


def lines(name: str) -> list[dict[str, str]]:
    with (DEMO / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Session, ImportReport]]:
    """The demo imported once; tests only read it."""
    engine = open_engine(f"sqlite:///{tmp_path_factory.mktemp('demo') / 'demo.db'}")
    SQLModel.metadata.create_all(engine)
    with session_factory(engine)() as session:
        ensure_packaged_kinds(session, {k: f.name for k, f in packaged_kinds().items()})
        session.commit()
        report = import_collection(session, DEMO, NOW)
        yield session, report
    engine.dispose()


@pytest.fixture
def stock(demo: tuple[Session, ImportReport]) -> Session:
    return demo[0]


def test_every_line_of_the_demo_is_taken_in(demo: tuple[Session, ImportReport]) -> None:
    session, report = demo
    subjects = ("places", "varieties", "lots", "stays", "movements", "tests", "counts", "sowings")
    for subject in (*subjects, "emergence", "losses"):
        assert getattr(report, subject) == len(lines(f"{subject}.csv"))
    for subject in ("sites", "gear", "flowering", "seed_crops"):
        assert getattr(report, subject) == len(lines(f"{subject}.csv"))
    assert report.facts == len(lines("kinds.csv"))
    tables = {"places": Place, "varieties": Variety, "lots": Lot, "stays": Stay}
    tables |= {"tests": GerminationTest, "counts": Count, "sowings": Sowing}
    tables |= {"sites": Site, "gear": IsolationGear, "flowering": Flowering, "seed_crops": SeedCrop}
    for subject, table in (tables | {"emergence": Emergence, "losses": Loss}).items():
        stored = session.exec(select(func.count()).select_from(table)).one()
        assert stored == getattr(report, subject)


def test_it_has_the_breadth_a_keeper_would_have(stock: Session) -> None:
    varieties = stock.exec(select(Variety)).all()
    lots = stock.exec(select(Lot)).all()
    assert len(varieties) >= 40
    assert len({variety.kind_id for variety in varieties}) >= 25
    assert len(lots) >= 120
    assert {lot.harvest_year for lot in lots} == {None, *range(2015, 2027)}
    assert {lot.origin for lot in lots} == set(Origin)
    assert {variety.breeding for variety in varieties} == set(Breeding)
    assert len(stock.exec(select(GerminationTest)).all()) >= 80
    assert len(stock.exec(select(Sowing)).all()) >= 60
    moved = Counter(stock.exec(select(Stay.lot_id)).all())
    assert sum(stays > 1 for stays in moved.values()) >= 8


def test_movements_of_every_reason_are_booked_some_weighed(stock: Session) -> None:
    movements = stock.exec(select(Movement)).all()
    assert {movement.reason for movement in movements} == set(MovementReason)
    weighed = [movement for movement in movements if movement.grams is not None]
    assert len(weighed) >= 10
    assert all(movement.seeds_se > 0 for movement in weighed)


def test_balances_are_what_the_files_add_up_to(stock: Session) -> None:
    """Summed here from the files alone, for the lots never weighed or taken stock of."""
    expected: dict[str, int] = defaultdict(int)
    skipped = set()
    for move in lines("movements.csv"):
        if move["grams"] or move["reason"] == "stock-take":
            skipped.add(move["lot"])
            continue
        sign = 1 if move["reason"] in ("acquired", "harvested") else -1
        expected[move["lot"]] += sign * int(move["seeds"])
    for test in lines("tests.csv"):
        expected[test["lot"]] -= sum(map(int, test["replicate_seeds"].split(";")))
    for sowing in lines("sowings.csv"):
        expected[sowing["lot"]] -= int(sowing["seeds"])
    by_label = {row.label: row.lot_id for row in stock.exec(select(BroughtIn))}
    held = balances(stock, [lot_id for lot_id in by_label.values() if lot_id])
    compared = {label for label in by_label if label not in skipped}
    assert len(compared) >= 100
    assert {label: held[by_label[label] or 0].seeds for label in compared} == {
        label: expected[label] for label in compared
    }


def test_each_ledger_runs_in_date_order_without_a_gap(stock: Session) -> None:
    order = (col(Movement.lot_id), col(Movement.serial))
    running: dict[int, tuple[int, int, date]] = {}
    for move in stock.exec(select(Movement).order_by(*order)):
        serial, total, day = running.get(move.lot_id, (0, 0, date.min))
        assert (move.serial, move.balance_seeds) == (serial + 1, total + move.seeds)
        assert move.on_date >= day
        running[move.lot_id] = (move.serial, move.balance_seeds, move.on_date)


def test_tests_and_sowings_name_the_movement_that_took_their_seed(stock: Session) -> None:
    set_out = select(Replicate.test_id, func.sum(Replicate.seeds_set)).group_by(
        col(Replicate.test_id)
    )
    seeds = dict(stock.exec(set_out).all())
    for test in stock.exec(select(GerminationTest)):
        taken = stock.get_one(Movement, test.movement_id)
        assert (taken.lot_id, taken.on_date) == (test.lot_id, test.started_on)
        assert -taken.seeds == seeds[test.id or 0]
    for sowing in stock.exec(select(Sowing)):
        taken = stock.get_one(Movement, sowing.movement_id)
        assert (taken.lot_id, -taken.seeds) == (sowing.lot_id, sowing.seeds_sown)


def test_tests_show_disagreement_dormancy_corrections_and_open_counts(stock: Session) -> None:
    judged: dict[int, dict[int, list[int]]] = defaultdict(dict)
    query = (
        select(Replicate, func.sum(Count.normal))
        .join(Count, (col(Count.replicate_id) == col(Replicate.id)) & col(Count.current))
        .join(GerminationTest, col(GerminationTest.id) == col(Replicate.test_id))
        .where(col(GerminationTest.finished_on).is_not(None))
        .group_by(col(Replicate.id))
    )
    for replicate, normal in stock.exec(query):
        table = judged[replicate.test_id]
        table[replicate.number] = [normal, replicate.seeds_set - normal]
    rows = [list(test.values()) for test in judged.values() if len(test) > 1]
    mixed = [r for r in rows if sum(c[0] for c in r) and sum(c[1] for c in r)]
    disagreeing = [r for r in mixed if chi2_contingency(r, correction=False).pvalue < 0.01]
    assert len(disagreeing) >= 3
    tests = stock.exec(select(GerminationTest)).all()
    assert sum(test.finished_on is None for test in tests) >= 3
    assert {test.substratum for test in tests} == set(Substratum)
    counts = stock.exec(select(Count)).all()
    assert sum(not count.current for count in counts) >= 2
    assert sum(count.hard for count in counts) >= 10
    assert sum(count.fresh for count in counts) >= 100


def test_open_tests_of_packaged_kinds_know_when_to_be_counted(stock: Session) -> None:
    query = (
        select(GerminationTest, Kind.packaged)
        .join(Lot, col(Lot.id) == col(GerminationTest.lot_id))
        .join(Variety, col(Variety.id) == col(Lot.variety_id))
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .where(col(GerminationTest.finished_on).is_(None))
    )
    for test, packaged in stock.exec(query):
        assert (test.final_count_due is not None) == packaged


def test_sowings_tell_of_every_cause_of_loss(stock: Session) -> None:
    losses = stock.exec(select(Loss)).all()
    assert {loss.cause for loss in losses} == set(LossCause)
    frosted = [loss for loss in losses if loss.cause is LossCause.FROST]
    assert all(loss.after_emergence for loss in frosted)
    unfinished = select(Sowing).where(col(Sowing.finished_on).is_(None))
    assert stock.exec(unfinished).first() is not None


def test_some_varieties_kept_by_nobody_else_are_down_to_little_old_seed(stock: Session) -> None:
    alone = stock.exec(select(Variety).where(Variety.other_keepers == OtherKeepers.NONE)).all()
    assert len(alone) >= 5
    in_trouble = []
    for variety in alone:
        lots = stock.exec(select(Lot).where(Lot.variety_id == variety.id)).all()
        held = balances(stock, [lot.id or 0 for lot in lots])
        recent = [lot for lot in lots if (lot.harvest_year or 0) >= 2024]
        if not recent and sum(each.seeds for each in held.values()) < variety.reserve_seeds:
            in_trouble.append(variety.name)
    assert "Fenwythe Greyhood" in in_trouble


def test_lots_descend_over_three_generations_one_from_two_parents(stock: Session) -> None:
    parents: dict[int, set[int]] = defaultdict(set)
    for link in stock.exec(select(LotParent)):
        parents[link.lot_id].add(link.parent_id)
    grandparents = {lot: {g for p in ps for g in parents.get(p, ())} for lot, ps in parents.items()}
    assert any(parents.get(g) for great in grandparents.values() for g in great)
    assert any(len(ps) == 2 for ps in parents.values())


def test_it_holds_the_awkward_cases(stock: Session) -> None:
    lots = stock.exec(select(Lot)).all()
    held = balances(stock, [lot.id or 0 for lot in lots])
    assert sum(each.seeds == 0 for each in held.values()) >= 3
    assert any(lot.treated for lot in lots)
    tested = set(stock.exec(select(GerminationTest.lot_id)).all())
    assert sum(lot.id not in tested for lot in lots) >= 10
    stays = set(stock.exec(select(Stay.lot_id)).all())
    nothing_known = [lot for lot in lots if lot.harvest_year is None and lot.acquired_on is None]
    assert [lot.id in stays for lot in nothing_known] == [False]
    assert held[nothing_known[0].id or 0].seeds > 0
    own = {kind.slug: kind for kind in stock.exec(select(Kind)) if not kind.packaged}
    facts = {(f.kind_id, f.name): f for f in stock.exec(select(KindFact))}
    assert facts[own["sweet-chestnut"].id or 0, "storage_class"].value == "recalcitrant"
    assert any(fact.kind_id not in {kind.id for kind in own.values()} for fact in facts.values())
    kinds = set(stock.exec(select(Kind.slug).join(Variety)).all())
    assert kinds >= {"beet", "chard", "coriander", "new-zealand-spinach"}
    assert sum(bool(packaged_kinds()[k].poisonous.value) for k in kinds - set(own)) >= 1


def test_seed_crops_on_record_gave_the_lots_they_say(stock: Session) -> None:
    crops = stock.exec(select(SeedCrop)).all()
    saved = [crop for crop in crops if crop.result_lot_id is not None]
    assert len(saved) >= 40
    for crop in saved:
        lot, sown = stock.get_one(Lot, crop.result_lot_id), stock.get_one(Lot, crop.lot_id)
        sowing = stock.get_one(Sowing, crop.sowing_id)
        assert (lot.variety_id, sown.variety_id, sowing.lot_id) == (
            crop.variety_id,
            crop.variety_id,
            crop.lot_id,
        )
        assert (lot.harvest_date, lot.seed_parents) == (crop.harvested_on, crop.parents_kept)
        assert (lot.isolation, lot.harvest_year) == (crop.isolation, crop.flower_year)
    assert [crop.flower_year for crop in crops if crop.is_open] == [2027]
    assert any(crop.failed_on for crop in crops)
    assert {lot.purity for lot in stock.exec(select(Lot))} == set(Purity)


def test_two_dying_varieties_of_one_species_cannot_both_be_saved_this_year(
    stock: Session,
) -> None:
    by_name = {variety.name: variety for variety in stock.exec(select(Variety))}
    pair = [by_name["Durrow Emberroot"], by_name["Loftcott Silverspine"]]
    seen = judge_collection(stock, today=NOW.date())
    lots = seen.forecast.collection
    for variety in pair:
        (at,) = [n for n, v in enumerate(lots.variety_id.tolist()) if v == variety.id]
        assert seen.verdicts.verdict(at) in FOR_SEED
        assert variety.other_keepers is OtherKeepers.NONE
    top, beck = stock.exec(select(Site).order_by(col(Site.name).desc())).all()
    year = read_year(stock, 2028, [variety.id or 0 for variety in pair])
    planned = SeedCrop(variety_id=pair[1].id or 0, site_id=beck.id or 0, flower_year=2028,
                       purpose=Purpose.RARE, planned_on=NOW.date(), created_at=NOW)  # fmt: skip
    year.stands.append(crop_stand(year, planned))
    for isolation in Isolation:
        asked = CropAsked(variety_id=pair[0].id or 0, site_id=top.id or 0, year=2028,
                          purpose=Purpose.HOME, isolation=isolation)  # fmt: skip
        check = crossing_of(year, asked)
        if isolation is Isolation.HAND_POLLINATION:
            assert "hand-covers-flowers" in {caution.code for caution in check.cautions}
        else:
            assert check.standing is Standing.RISK
            assert check.risks[0].stand.distance_m == 180.0


def test_importing_it_twice_is_refused_and_books_nothing_twice(stock: Session) -> None:
    before = stock.exec(select(func.count()).select_from(Movement)).one()
    with pytest.raises(ImportRefused, match="all 137 lots were imported before") as refusal:
        import_collection(stock, DEMO, NOW)
    assert len(refusal.value.problems) == 1
    assert stock.exec(select(func.count()).select_from(Movement)).one() == before


def test_the_script_makes_the_same_files_byte_for_byte(tmp_path: Path) -> None:
    subprocess.run([sys.executable, DEMO / "make_demo.py", tmp_path], check=True)
    without = MixturePartRow  # the demonstration has no mixture
    for name in (f"{row.was}.csv" for row in ROWS if row is not without):
        assert (tmp_path / name).read_bytes() == (DEMO / name).read_bytes(), name
