"""Words looked for through the indexes, against a plain reading of every lot's texts."""

import sqlite3
from dataclasses import dataclass
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from sqlalchemy import or_, select, text
from sqlmodel import Session, col

from seedbank.database import word_index
from seedbank.database.queries import Cursor, Paging
from seedbank.kinds.tables import Kind, Variety
from seedbank.lots.tables import word_search
from seedbank.lots.tables.lot_codes import code_for
from seedbank.lots.tables.lot_search import LotFilter, LotOrder, find_lots
from seedbank.lots.tables.lots import Lot
from tests.tables.conftest import Garden

# Letters that editions of Unicode fold each in their own way, quotes, and what LIKE and MATCH know
# as signs of their own.
LETTERS = "aAbcdeéÉiIİıoOsSſßẞkKKµμΜσςΣжЖ\u0307n0179%_/\\\"'*()-:^+ "
TEXTS = st.text(LETTERS, max_size=12)
MOST = [0, 2, word_search.MOST]


@dataclass(frozen=True)
class Row:
    kind: str
    variety: str
    donor: str
    notes: str


ROWS = st.lists(st.builds(Row, TEXTS, TEXTS, TEXTS, TEXTS), min_size=1, max_size=6)


@st.composite
def gardens_and_words(draw: st.DrawFn) -> tuple[list[Row], str]:
    """Some lots, and words of which most stand somewhere in their texts, or in their codes."""
    rows = draw(ROWS)
    texts = [one for row in rows for one in (row.kind, row.variety, row.donor, row.notes)]
    source = st.sampled_from([*texts, *(code_for(n) for n in range(len(rows)))])
    asked = []
    for _ in range(draw(st.integers(1, 3))):
        whole = draw(source)
        start = draw(st.integers(0, len(whole)))
        piece = whole[start : start + draw(st.integers(1, 8))]
        turn = draw(st.sampled_from([str, str.lower, str.upper, str.swapcase]))
        asked.append(turn(piece) + draw(st.sampled_from(["", "", "", "%", "i", "é"])))
    return rows, " ".join(asked)


def _plant(session: Session, garden: Garden, rows: list[Row]) -> None:
    for n, row in enumerate(rows):
        kind = garden.kind(name=row.kind)
        variety = garden.variety(kind_id=kind.id, name=row.variety)
        garden.lot(variety_id=variety.id, code=code_for(n), donor=row.donor, notes=row.notes)
    session.flush()


def _read_through(session: Session, asked: str) -> frozenset[int]:
    """Ids of the lots that hold every word, each text of each lot read by the database."""
    query = select(col(Lot.id)).join(Variety, col(Variety.id) == col(Lot.variety_id))
    query = query.join(Kind, col(Kind.id) == col(Variety.kind_id))
    for word in asked.split():
        texts = (Kind.name, Variety.name, Lot.donor, Lot.notes)
        query = query.where(
            or_(
                col(Lot.code).contains(word.upper(), autoescape=True),
                *(col(one).icontains(word, autoescape=True) for one in texts),
            )
        )
    return frozenset(session.execute(query).scalars())


def _holds(word: str, entry: tuple[Lot, Variety, Kind]) -> bool:
    lot, variety, kind = entry
    texts = (kind.name, variety.name, lot.donor, lot.notes)
    return word.upper() in lot.code or any(word.lower() in one.lower() for one in texts)


def _read_in_python(session: Session, asked: str) -> frozenset[int]:
    query = select(Lot, Variety, Kind).join(Variety, col(Variety.id) == col(Lot.variety_id))
    query = query.join(Kind, col(Kind.id) == col(Variety.kind_id))
    rows = [tuple(row) for row in session.execute(query)]
    return frozenset(row[0].id for row in rows if all(_holds(w, row) for w in asked.split()))


def _in_order(
    session: Session,
    wanted: LotFilter,
    order: LotOrder,
    limit: int,
    ids: frozenset[int] | None = None,
) -> list[int]:
    found: list[int] = []
    after: Cursor | None = None
    while True:
        page = find_lots(session, wanted, Paging(limit, after), order=order, ids=ids)
        found += [entry.lot.id or 0 for entry in page.items]
        if page.next is None:
            return found
        after = page.next


@pytest.mark.parametrize("most", MOST)
@settings(
    deadline=None,
    max_examples=60,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(drawn=gardens_and_words())
@example(drawn=([Row("", "", "NOKİ", "")], "noki"))
@example(drawn=([Row("", "ΟΔΟΣ", "", "")], "οδος"))
@example(drawn=([Row('ab"cd', "", "", ""), Row("", "", "", "50%ab_c")], 'b"cd'))
def test_the_indexes_find_what_reading_every_text_finds_in_the_same_order(
    session: Session,
    garden: Garden,
    monkeypatch: pytest.MonkeyPatch,
    most: int,
    drawn: tuple[list[Row], str],
) -> None:
    """Whether a word counts as rare or as common, and on however many pages."""
    monkeypatch.setattr(word_search, "MOST", most)
    rows, asked = drawn
    with session.begin_nested() as savepoint:
        _plant(session, garden, rows)
        assert word_index.is_there(session.connection())
        expected = _read_through(session, asked)
        if session.get_bind().dialect.name == "sqlite":
            # PostgreSQL's lower() is its locale's.
            assert expected == _read_in_python(session, asked)
        for order in LotOrder:
            plainly = _in_order(session, LotFilter(), order, 50, expected)
            for limit in (1, 50):
                assert _in_order(session, LotFilter(q=asked), order, limit) == plainly
        savepoint.rollback()
    session.expunge_all()


@pytest.mark.parametrize("most", MOST)
def test_words_go_with_other_filters_and_those_of_no_three_letters_with_longer_ones(
    session: Session, garden: Garden, monkeypatch: pytest.MonkeyPatch, most: int
) -> None:
    monkeypatch.setattr(word_search, "MOST", most)
    one = garden.lot(notes="from the north bed", harvest_year=2020).id
    two = garden.lot(notes="from the north bed", harvest_year=2021).id
    other = garden.lot(notes="no bed", harvest_year=2021).id
    asked: list[tuple[dict[str, Any], set[int | None]]] = [
        ({"q": "north"}, {one, two}),
        ({"q": "north", "harvest_year_from": 2021}, {two}),
        ({"q": "no"}, {one, two, other}),
        ({"q": "no north"}, {one, two}),
        ({"q": "ro no b"}, {one, two}),
        ({"q": "no " + 120 * "north"}, set()),
    ]
    for order in LotOrder:
        for wanted, expected in asked:
            assert {*_in_order(session, LotFilter.model_construct(**wanted), order, 1)} == expected
        among = frozenset({one or 0, other or 0})
        assert _in_order(session, LotFilter(q="north"), order, 1, among) == [one]


def test_a_long_word_is_found_whole(session: Session, garden: Garden) -> None:
    lot = garden.lot(notes="ab " * 100 + "x" * 2000 + "y")
    garden.lot(notes="x" * 2000)
    found = find_lots(session, LotFilter.model_construct(q="x" * 2000 + "Y")).items
    assert [entry.lot.id for entry in found] == [lot.id]


def test_words_of_texts_that_change_or_go_are_found_as_they_are_now(
    session: Session, garden: Garden
) -> None:
    lot = garden.lot(notes="purple", donor="Oda")
    assert find_lots(session, LotFilter(q="purple")).items
    lot.notes = "striped"
    session.flush()
    assert not find_lots(session, LotFilter(q="purple")).items
    assert find_lots(session, LotFilter(q="striped oda")).items
    variety = session.get(Variety, lot.variety_id)
    assert variety is not None
    variety.name = "Lantern"
    session.flush()
    assert find_lots(session, LotFilter(q="lantern")).items
    session.execute(text("UPDATE lot SET notes = 'written past the program'"))
    assert find_lots(session, LotFilter(q="past")).items
    session.delete(lot)
    session.flush()
    assert not find_lots(session, LotFilter(q="past")).items


def test_the_letters_trusted_are_folded_alike_by_sqlite_s_index_and_by_lower() -> None:
    """Of every letter there is, in whatever editions of Unicode Python and SQLite have."""
    raw = sqlite3.connect(":memory:")
    every = (chr(n) for n in range(1, 0x110000) if not 0xD800 <= n < 0xE000)
    trusted = [
        (one, low) for one in every for low in one.lower() if word_search._SURE.fullmatch(3 * low)
    ]
    letters = sorted({letter for pair in trusted for letter in pair})
    raw.execute("CREATE VIRTUAL TABLE f USING fts5(a, content='', tokenize='trigram')")
    rows = ((ord(one), f"q{one}q") for one in letters)
    raw.executemany("INSERT INTO f (rowid, a) VALUES (?, ?)", rows)
    raw.execute("CREATE VIRTUAL TABLE v USING fts5vocab('f', 'instance')")
    folded = {doc: term[1] for term, doc in raw.execute("SELECT term, doc FROM v")}
    raw.close()
    wrong = [(one, low) for one, low in trusted if folded[ord(one)] != folded[ord(low)]]
    assert wrong == [("İ", "i")]  # which is why an i at a run's end is left out
