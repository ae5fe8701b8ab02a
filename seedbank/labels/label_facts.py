"""What the labels of packets say, and which packets are to be labelled."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

from sqlmodel import Session, col, select

from seedbank.common.errors import Refused
from seedbank.database.find import row_id
from seedbank.database.queries import Paging
from seedbank.facts.kinds import KindFacts
from seedbank.germination.evaluate_tests import evaluate
from seedbank.germination.tables import GerminationTest, ReplicateTotal, totals
from seedbank.kinds.edit_kinds import facts_for_kinds
from seedbank.labels.answers import LabelAnswer, LabelLotAnswer, LabelTestAnswer
from seedbank.lots.answers import PlaceBrief
from seedbank.lots.show_lots import lot_entries
from seedbank.lots.tables.ledger import balances
from seedbank.lots.tables.lot_search import LotEntry, LotFilter, find_lots
from seedbank.lots.tables.lots import Lot, find_lot
from seedbank.lots.tables.places import lots_kept_in, stays

MOST_LABELS = 300
"""Lots labelled at a time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelsWanted:
    """Which lots to label: these ``codes`` alone, or all that the rest asks; None asks nothing.

    ``since``: taken in or tested on that day or later, so that an older label is wrong. Lots
    with no seed left are passed over unless named by code.
    """

    codes: tuple[str, ...] = ()
    text: str | None = None
    place_id: int | None = None
    since: date | None = None


def list_label_lots(session: Session, wanted: LabelsWanted, *, today: date) -> list[LabelLotAnswer]:
    """The lots wanted, at most ``MOST_LABELS``: by code, or in the order named.

    Raises MisreadCode, NotThere: no lot has one of the codes. Refused: too many are named.
    """
    return [one.brief for one in _packets(session, _entries(session, wanted, today), today)]


def list_labels(session: Session, wanted: LabelsWanted, *, today: date) -> list[LabelAnswer]:
    """The labels of the lots wanted. Raises as ``list_label_lots``."""
    packets = _packets(session, _entries(session, wanted, today), today)
    kinds = {one.entry.kind.slug: one.entry.kind for one in packets}
    facts = facts_for_kinds(session, kinds.values())
    judged = totals(session, [row_id(one.test.id) for one in packets if one.test is not None])
    return [_label(one, facts[row_id(one.entry.kind.id)], judged) for one in packets]


@dataclass(frozen=True, slots=True)
class _Packet:
    entry: LotEntry
    test: GerminationTest | None
    brief: LabelLotAnswer


def _entries(session: Session, wanted: LabelsWanted, today: date) -> list[LotEntry]:
    if len(wanted.codes) > MOST_LABELS:
        raise _too_many(len(wanted.codes))
    if wanted.codes:
        numbers = [row_id(find_lot(session, code).id) for code in dict.fromkeys(wanted.codes)]
        found = lot_entries(session, numbers)
        return [found[number] for number in dict.fromkeys(numbers)]
    ids = None
    if wanted.place_id is not None:
        ids = lots_kept_in(session, wanted.place_id, today)
    if wanted.since is not None:
        fresh = _changed_since(session, wanted.since)
        ids = fresh if ids is None else ids & fresh
    with_seed = frozenset(number for number, held in balances(session).items() if held.any)
    ids = with_seed if ids is None else ids & with_seed
    lots = LotFilter(q=wanted.text)
    return find_lots(session, lots, Paging(MOST_LABELS), ids=ids).items


def _too_many(number: int) -> Refused:
    """More labels than are made at a time."""
    return Refused("too-many-lots-to-label", "lot", number, number=number, most=MOST_LABELS)


def _changed_since(session: Session, day: date) -> frozenset[int]:
    """Ids of the lots taken in, or whose test was finished, on a day or later."""
    first = datetime(day.year, day.month, day.day, tzinfo=UTC)
    new = session.exec(select(Lot.id).where(col(Lot.created_at) >= first))
    tested = session.exec(
        select(GerminationTest.lot_id).where(col(GerminationTest.finished_on) >= day)
    )
    return frozenset([row_id(number) for number in new]) | frozenset(tested)


def _packets(session: Session, entries: Sequence[LotEntry], today: date) -> list[_Packet]:
    numbers = [row_id(entry.lot.id) for entry in entries]
    held, history = balances(session, numbers), stays(session, numbers)
    tests = _last_tests(session, numbers)
    packets = []
    for number, entry in zip(numbers, entries, strict=True):
        test = tests.get(number)
        begun = [stay for stay in history[number] if stay.stay.from_date <= today]
        brief = LabelLotAnswer(
            lot=entry.lot.code,
            variety=entry.variety.name,
            kind=entry.kind.name,
            harvest_year=entry.lot.harvest_year,
            harvest_estimated=entry.lot.harvest_estimated,
            seeds=held[number].seeds,
            place=PlaceBrief.model_validate(begun[-1].place) if begun else None,
            tested_on=None if test is None else test.finished_on,
        )
        packets.append(_Packet(entry, test, brief))
    return packets


def _last_tests(session: Session, numbers: Collection[int]) -> dict[int, GerminationTest]:
    """Each lot's last finished test with which nothing went wrong."""
    query = (
        select(GerminationTest)
        .where(
            col(GerminationTest.lot_id).in_(numbers),
            col(GerminationTest.finished_on).is_not(None),
            col(GerminationTest.fault).is_(None),
        )
        .order_by(col(GerminationTest.finished_on), col(GerminationTest.id))
    )
    return {test.lot_id: test for test in session.exec(query)}


def _label(
    packet: _Packet, facts: KindFacts, judged: dict[int, list[ReplicateTotal]]
) -> LabelAnswer:
    test, test_shown = packet.test, None
    pieces = facts.is_planting_stock(packet.entry.lot.kept_as)
    if test is not None and test.finished_on is not None and not pieces:
        evaluation = evaluate(test, judged[row_id(test.id)], (), packet.entry.lot, facts)
        test_shown = LabelTestAnswer(
            finished_on=test.finished_on, seeds=evaluation.seeds, germination=evaluation.germination
        )
    return LabelAnswer(
        **dict(packet.brief),
        test=test_shown,
        treated=packet.entry.lot.treated,
        poisonous=bool(facts.poisonous and facts.poisonous.value),
        keeps=not facts.cannot_be_stored,
    )
