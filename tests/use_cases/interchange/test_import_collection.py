"""Importing a folder of CSV files: all or nothing, every problem by file and line."""

from datetime import date, datetime
from pathlib import Path

import pytest
from sqlmodel import Session, SQLModel, func, select

from seedbank.emergence.tables import Sowing
from seedbank.facts.kinds import packaged_kinds
from seedbank.germination.tables import Count, GerminationTest
from seedbank.interchange.folder.import_collection import (
    ImportProblem,
    ImportRefused,
    import_collection,
)
from seedbank.kinds.tables import Kind, ensure_packaged_kinds
from seedbank.lots.tables.brought_in import labels_of
from seedbank.lots.tables.ledger import Movement, balance, grams_left
from seedbank.lots.tables.lot_codes import code_for
from seedbank.lots.tables.lots import Lot
from seedbank.lots.tables.mixtures import MixturePart
from seedbank.lots.tables.places import Stay

SMALL = {
    "places.csv": "place,sealed\ndrawer,no\n",
    "varieties.csv": "kind,variety\npea,Fenwythe Greyhood\n",
    "lots.csv": "label,kind,variety,origin\nA,pea,Fenwythe Greyhood,gift\n",
    "movements.csv": "lot,date,reason,seeds\nA,2024-10-01,acquired,100\n",
    "stays.csv": "lot,place,from_date\nA,drawer,2024-10-01\n",
    "tests.csv": "test,lot,started_on,replicate_seeds,finished_on\n"
    "t1,A,2025-02-01,10;10,2025-02-11\n",
    "counts.csv": "test,replicate,date,normal,dead\nt1,1,2025-02-11,9,1\nt1,2,2025-02-11,10,0\n",
    "sowings.csv": "sowing,lot,date,method,seeds\ns1,A,2025-04-01,row,40\n",
    "emergence.csv": "sowing,date,emerged_so_far\ns1,2025-04-20,30\n",
    "losses.csv": "sowing,date,cause,lost\ns1,2025-04-12,eaten,5\n",
}


@pytest.fixture
def stock(session: Session) -> Session:
    ensure_packaged_kinds(session, {k: facts.name for k, facts in packaged_kinds().items()})
    session.commit()
    return session


def written(folder: Path, **changed: str) -> Path:
    """The small collection in a folder, some files replaced (``lots="…"`` for lots.csv)."""
    files = SMALL | {f"{name}.csv": text for name, text in changed.items()}
    folder.mkdir(exist_ok=True)
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def rows_in(session: Session) -> dict[str, int]:
    tables = SQLModel.metadata.tables
    return {
        name: session.exec(select(func.count()).select_from(table)).one()
        for name, table in tables.items()
    }


def refused(session: Session, folder: Path, now: datetime) -> list[ImportProblem]:
    """The problems of a folder that is refused, having checked that nothing has changed."""
    before = rows_in(session)
    with pytest.raises(ImportRefused) as refusal:
        import_collection(session, folder, now)
    assert rows_in(session) == before
    return refusal.value.problems


def only_lot(session: Session) -> Lot:
    return session.exec(select(Lot)).one()


def test_a_small_collection_is_taken_in_whole(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    report = import_collection(stock, written(tmp_path), now)
    assert (report.lots, report.movements, report.tests, report.counts) == (1, 1, 1, 2)
    lot = only_lot(stock)
    assert lot.code == code_for(0)
    assert (lot.notes, labels_of(stock, [lot.id or 0])) == ("", {lot.id: "A"})
    assert balance(stock, lot.id or 0).seeds == 100 - 20 - 40
    assert stock.exec(select(GerminationTest)).one().finished_on == date(2025, 2, 11)


def test_planting_stock_is_neither_tested_nor_sown_as_seed(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    lots = "label,kind,variety,origin,kept_as\nA,pea,Fenwythe Greyhood,gift,cuttings\n"
    problems = refused(stock, written(tmp_path, lots=lots), now)
    assert {(one.file, one.column) for one in problems} == {
        ("tests.csv", "lot"),
        ("sowings.csv", "lot"),
    }
    assert all("is planting stock, not seed" in one.mend for one in problems)


BAD_LINKS = [
    ("varieties", "kind,variety\npeee,X\n", "kind", "add the kind in kinds.csv"),
    ("varieties", "kind,variety\npumpkin,X\n", "kind", "squash-maxima"),
    ("lots", "label,kind,variety,origin\nA,pea,Unheard,gift\n", "variety", "varieties.csv"),
    (
        "lots",
        "label,kind,variety,origin,code\nA,pea,Fenwythe Greyhood,gift,77875\n",
        "code",
        "Read the code on the packet again",
    ),
    (
        "lots",
        "label,kind,variety,origin,parents\nA,pea,Fenwythe Greyhood,gift,A\n",
        "parents",
        "it would descend from itself",
    ),
    (
        "lots",
        "label,kind,variety,origin,harvest_year,harvest_date\n"
        "A,pea,Fenwythe Greyhood,gift,2023,2024-08-01\n",
        "",
        "name different years",
    ),
    ("stays", "lot,place,from_date\nA,attic,2024-10-01\n", "place", "places.csv"),
    ("stays", "lot,place,from_date\nB,drawer,2024-10-01\n", "lot", "label in lots.csv"),
    ("movements", "lot,date,reason,seeds\nA,2024-10-01,given,\n", "seeds", "seeds or grams"),
    ("kinds", "kind,fact,value,source\npea,life_cycle,brief,me myself\n", "value", "annual"),
    ("emergence", "sowing,date,emerged_so_far\ns9,2025-04-20,3\n", "sowing", "sowings.csv"),
    ("emergence", "sowing,date,emerged_so_far\ns1,2025-03-20,3\n", "date", "2025-04-01"),
    ("emergence", "sowing,date,emerged_so_far\ns1,2025-04-20,41\n", "emerged_so_far", "40"),
    ("losses", "sowing,date,cause,lost\ns1,2025-04-12,eaten,11\n", "lost", "30"),
    ("sowings", "sowing,lot,date,method,seeds\ns1,A,2027-03-02,row,40\n", "date", "2027-03-01"),
    ("places", "place,winter_rh_pct\ndrawer,140\n", "winter_rh_pct", "Give 99"),
    ("places", "place,summer_temperature_c\ndrawer,61\n", "summer_temperature_c", "Give 60"),
    (
        "varieties",
        "kind,variety,plants_wanted\npea,Fenwythe Greyhood,-3\n",
        "plants_wanted",
        "0 or more",
    ),
    ("losses", "sowing,date,cause,lost\ns1,2025-04-12,eaten,0\n", "lost", "1 or more"),
    ("emergence", "sowing,date,emerged_so_far\ns1,2025-04-20,-1\n", "emerged_so_far", "0 or"),
    ("movements", "lot,date,reason,seeds\nA,2024-10-01,acquired,10000001\n", "seeds", "10000000"),
    ("movements", "lot,date,reason,seeds\nA,2024-10-01,given,0\n", "seeds", "Give 1 or more"),
    ("movements", "lot,date,reason,grams\nA,2024-10-01,stock-take,-1\n", "grams", "or more"),
    (
        "tests",
        "test,lot,started_on,replicate_seeds\nt1,A,2025-02-01,10;0\n",
        "replicate_seeds",
        "1 or more",
    ),
    (
        "sowings",
        "sowing,lot,date,method,seeds,area_m2\ns1,A,2025-04-01,broadcast,40,100001\n",
        "area_m2",
        "Give 100000",
    ),
    ("counts", "test,replicate,date,normal\nt1,1,2025-02-11,-1\n", "normal", "0 or more"),
]


@pytest.mark.parametrize(("file", "text", "column", "mend"), BAD_LINKS)
def test_a_line_that_doesnt_fit_the_others_is_told_and_nothing_is_kept(
    file: str,
    text: str,
    column: str,
    mend: str,
    stock: Session,
    tmp_path: Path,
    now: datetime,
) -> None:
    problems = refused(stock, written(tmp_path, **{file: text}), now)
    told = [p for p in problems if (p.file, p.line, p.column) == (f"{file}.csv", 2, column)]
    assert len(told) == 1
    assert mend in told[0].mend


def test_a_test_or_sowing_from_before_the_harvest_is_told_by_its_line_and_a_hasty_one_taken(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    lots = "label,kind,variety,origin,harvest_date\nA,pea,Fenwythe Greyhood,gift,2025-04-02\n"
    problems = refused(stock, written(tmp_path, lots=lots), now)
    told = {(p.file, p.line, p.column) for p in problems}
    assert {("tests.csv", 2, "started_on"), ("sowings.csv", 2, "date")} <= told
    assert all("harvested" in p.mend for p in problems if p.column in ("started_on", "date"))
    # What is only hard to believe is history, and taken in: peas up on the day they were sown.
    early = "sowing,date,emerged_so_far\ns1,2025-04-01,30\n"
    import_collection(stock, written(tmp_path, lots=SMALL["lots.csv"], emergence=early), now)
    assert stock.exec(select(Sowing)).one().seeds_sown == 40


def test_seed_moved_before_the_harvest_is_told_by_its_line(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    lots = "label,kind,variety,origin,harvest_date\nA,pea,Fenwythe Greyhood,gift,2024-10-02\n"
    problems = refused(stock, written(tmp_path, lots=lots), now)
    assert ("movements.csv", 2, "date") in {(p.file, p.line, p.column) for p in problems}


def test_taking_more_than_the_lot_held_that_day_is_told_by_the_line_that_takes_it(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    """The 100 seeds would do for all three lines, but came only after the second."""
    moves = "lot,date,reason,seeds\nA,2024-10-01,acquired,30\nA,2025-05-01,acquired,70\n"
    problems = refused(stock, written(tmp_path, movements=moves), now)
    assert [(p.file, p.line, p.column) for p in problems] == [("sowings.csv", 2, "seeds")]
    assert "Take at most 10 seeds" in problems[0].mend


def test_seeds_that_dont_add_up_stop_a_test_from_being_finished(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    counts = "test,replicate,date,normal\nt1,1,2025-02-11,9\nt1,2,2025-02-11,10\n"
    (problem,) = refused(stock, written(tmp_path, counts=counts), now)
    assert (problem.file, problem.line, problem.column) == ("tests.csv", 2, "finished_on")


def test_a_second_count_of_a_day_must_say_why_it_corrects_the_first(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    header = "test,replicate,date,normal,dead,why_corrected\n"
    first = "t1,1,2025-02-11,9,1,\nt1,2,2025-02-11,10,0,\n"
    silent = refused(
        stock, written(tmp_path, counts=header + first + "t1,2,2025-02-11,9,1,\n"), now
    )
    assert [(p.line, p.column) for p in silent if p.file == "counts.csv"] == [(4, "why_corrected")]
    corrected = header + first + "t1,2,2025-02-11,9,1,one had no root\n"
    import_collection(stock, written(tmp_path, counts=corrected), now)
    judged = {(c.revision, c.current, c.normal) for c in stock.exec(select(Count))}
    assert judged == {(1, True, 9), (1, False, 10), (2, True, 9)}


def test_seed_that_came_is_booked_before_seed_that_went_and_a_stock_take_last(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    moves = (
        "lot,date,reason,seeds\nA,2025-04-01,stock-take,7\nA,2025-04-01,given,10\n"
        "A,2024-10-01,acquired,70\n"
    )
    import_collection(stock, written(tmp_path, movements=moves), now)
    order = [m.seeds for m in stock.exec(select(Movement).order_by("serial"))]
    assert order[:2] == [70, -20]
    assert sorted(order[2:4]) == [-40, -10]
    assert order[4] == 7
    assert balance(stock, only_lot(stock).id or 0).seeds == 7


def test_weighed_seed_is_converted_by_the_measured_weight_and_carries_its_error(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    folder = written(
        tmp_path,
        lots="label,kind,variety,origin,thousand_seed_weight_g,thousand_seed_weight_se_g\n"
        "A,pea,Fenwythe Greyhood,gift,250,10\n",
        movements="lot,date,reason,grams\nA,2024-10-01,acquired,50\n",
    )
    import_collection(stock, folder, now)
    came = stock.exec(select(Movement).order_by("serial")).first()
    assert came is not None
    assert (came.seeds, came.grams, came.thousand_seed_weight_g) == (200, 50, 250)
    assert came.seeds_se == pytest.approx(200 * 10 / 250)


def test_weighed_seed_of_a_packaged_kind_is_converted_by_the_published_weight(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    moves = "lot,date,reason,grams\nA,2024-10-01,acquired,333\n"
    import_collection(stock, written(tmp_path, movements=moves), now)
    came = stock.exec(select(Movement).order_by("serial")).first()
    known = packaged_kinds()["pea"].thousand_seed_weight_g
    assert came is not None
    assert known is not None
    assert came.seeds == round(333_000 / known.value.typical)
    assert came.seeds_se > 0


def test_a_weight_of_more_seed_than_anyone_has_is_refused(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    folder = written(
        tmp_path,
        lots="label,kind,variety,origin,thousand_seed_weight_g\n"
        "A,pea,Fenwythe Greyhood,gift,0.001\n",
        movements="lot,date,reason,grams\nA,2024-10-01,acquired,900000\n",
    )
    (problem,) = refused(stock, folder, now)
    assert (problem.file, problem.column) == ("movements.csv", "grams")


def test_weighed_seed_of_a_kind_without_a_known_weight_stays_grams_coming_and_going(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    skirret = {
        "kinds": "kind,fact,value,source\nskirret,botanical,Sium sisarum,any flora\n",
        "varieties": "kind,variety\nskirret,Brackwin Honeyfinger\n",
        "lots": "label,kind,variety,origin\nA,skirret,Brackwin Honeyfinger,gift\n",
    }
    came = "lot,date,reason,grams\nA,2024-10-01,acquired,3\n"
    gone = written(tmp_path, **skirret, movements=f"{came}A,2024-10-02,given,1\n")
    counted = f"{came}A,2024-10-02,stock-take,1\n"
    (problem,) = refused(stock, written(tmp_path / "c", **skirret, movements=counted), now)
    assert (problem.file, problem.column, problem.value) == ("movements.csv", "grams", "1.0")
    assert stock.exec(select(Kind).where(Kind.slug == "skirret")).first() is None
    import_collection(stock, gone, now)
    lot_id = stock.exec(select(Lot.id).join(Movement).where(Movement.grams == 1.0)).one()
    booked = stock.exec(
        select(Movement.seeds, Movement.grams)
        .where(Movement.lot_id == lot_id)
        .order_by(Movement.serial)
    ).all()
    assert booked[:2] == [(None, 3.0), (None, 1.0)]
    assert balance(stock, lot_id).seeds is None
    assert grams_left(stock, [lot_id]) == {lot_id: 2.0}


def test_a_later_folder_can_add_to_a_lot_by_its_code_and_to_a_variety_by_its_name(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    import_collection(stock, written(tmp_path / "first"), now)
    code = only_lot(stock).code
    later = tmp_path / "later"
    later.mkdir()
    (later / "lots.csv").write_text(
        f"label,kind,variety,origin,parents\nB,peas,fenwythe greyhood,self-saved,{code}\n"
    )
    (later / "sowings.csv").write_text(
        f"sowing,lot,date,method,seeds\ns1,{code.lower()},2026-04-01,row,15\n"
    )
    report = import_collection(stock, later, now)
    assert (report.lots, report.sowings, report.varieties) == (1, 1, 0)
    assert balance(stock, 1).seeds == 100 - 20 - 40 - 15
    assert len(stock.exec(select(Sowing)).all()) == 2


def test_a_lot_whose_label_or_code_is_in_the_stock_is_not_taken_in_again(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    import_collection(stock, written(tmp_path), now)
    code = only_lot(stock).code
    again = (
        "label,kind,variety,origin,code\nA,pea,Fenwythe Greyhood,gift,\n"
        f"B,pea,Fenwythe Greyhood,gift,{code}\nC,pea,Fenwythe Greyhood,gift,\n"
    )
    problems = refused(stock, written(tmp_path, lots=again), now)
    assert [(p.line, p.column) for p in problems if p.file == "lots.csv"] == [
        (2, "label"),
        (3, "code"),
    ]
    assert code in problems[0].mend


def test_own_values_that_rule_each_other_out_are_told_where_the_second_stands(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    folder = written(
        tmp_path,
        kinds="kind,fact,value,source\npea,first_count_days,9,my towels\n"
        "pea,final_count_days,6,my towels\n",
        tests="test,lot,started_on,replicate_seeds\nt1,A,2027-02-25,10;10\n",
        counts="test,replicate,date,normal\n",
    )
    (problem,) = refused(stock, folder, now)
    assert (problem.file, problem.line, problem.column) == ("kinds.csv", 3, "value")


def test_progress_rises_to_the_whole(stock: Session, tmp_path: Path, now: datetime) -> None:
    told: list[tuple[int, int]] = []
    import_collection(stock, written(tmp_path), now, lambda done, all_: told.append((done, all_)))
    assert told == sorted(told)
    assert told[-1][0] == told[-1][1] > 0
    assert len({lines for _, lines in told}) == 1


def test_what_went_wrong_with_a_test_is_read_by_hand(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    told = "test,lot,started_on,replicate_seeds,finished_on,fault\n"
    tests = told + "t1,A,2025-02-01,10;10,2025-02-11,old-paper\n"
    import_collection(stock, written(tmp_path / "f", tests=tests), now)
    assert stock.exec(select(GerminationTest.fault)).all() == ["old-paper"]


def test_what_cannot_go_wrong_with_a_test_is_refused(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    told = "test,lot,started_on,replicate_seeds,finished_on,fault\n"
    tests = told + "t1,A,2025-02-01,10;10,2025-02-11,bad luck\n"
    with pytest.raises(ImportRefused) as refused:
        import_collection(stock, written(tmp_path / "f", tests=tests), now)
    [problem] = refused.value.problems
    assert (problem.file, problem.column) == ("tests.csv", "fault")


STAYS = "lot,place,from_date,sealed_anew\nA,jar,2024-10-01,\nA,jar,2025-03-01,{}\n"


def test_a_jar_sealed_anew_is_read_by_hand(stock: Session, tmp_path: Path, now: datetime) -> None:
    told = {"places": "place,sealed\njar,yes\n", "stays": STAYS.format("yes")}
    import_collection(stock, written(tmp_path, **told), now)
    stays = stock.exec(select(Stay.from_date, Stay.sealed_anew).order_by(Stay.from_date)).all()
    assert stays == [(date(2024, 10, 1), False), (date(2025, 3, 1), True)]


def test_a_place_that_is_not_sealed_is_not_sealed_anew(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    told = {"places": "place,sealed\njar,no\n", "stays": STAYS.format("yes")}
    with pytest.raises(ImportRefused) as refused:
        import_collection(stock, written(tmp_path, **told), now)
    [problem] = refused.value.problems
    assert (problem.file, problem.line, problem.column) == ("stays.csv", 3, "sealed_anew")


LOTS = "label,kind,variety,origin\nA,pea,Fenwythe Greyhood,gift\nM,pea,Fenwythe Greyhood,gift\n"


def test_what_a_mixture_is_made_of_is_read_by_hand(
    stock: Session, tmp_path: Path, now: datetime
) -> None:
    parts = "lot,part,name,share\nM,A,,0.7\nM,,red mustard,0.2\n"
    report = import_collection(stock, written(tmp_path, lots=LOTS, mixtures=parts), now)
    assert report.mixtures == 2
    lots = dict(stock.exec(select(Lot.id, Lot.code)).all())
    found = stock.exec(select(MixturePart).order_by(MixturePart.position)).all()
    assert [(one.position, one.name, one.share) for one in found] == [
        (1, "", 0.7),
        (2, "red mustard", 0.2),
    ]
    assert len({found[0].lot_id, found[0].part_id} & set(lots)) == 2


@pytest.mark.parametrize(
    ("parts", "line", "column"),
    [
        ("lot,part\nM,B\n", 2, "part"),
        ("lot,part,share\nM,A,1.4\n", 2, "share"),
        ("lot,part\nM,A\nM,M\n", 2, "part"),
        ("lot,share\nM,0.4\n", 2, ""),
        ("lot,part,name,share\nM,A,,0.7\nM,,rest,0.7\n", 2, ""),
    ],
)
def test_a_mixture_that_cannot_be_is_refused_by_its_line(
    stock: Session, tmp_path: Path, now: datetime, parts: str, line: int, column: str
) -> None:
    with pytest.raises(ImportRefused) as refused:
        import_collection(stock, written(tmp_path, lots=LOTS, mixtures=parts), now)
    [problem] = refused.value.problems
    assert (problem.file, problem.line, problem.column) == ("mixtures.csv", line, column)
