"""Lots as they are answered, many at once at the cost of a handful of queries, a page at a time."""

import math
from collections.abc import Collection, Sequence
from datetime import date

from sqlalchemy import ColumnElement
from sqlmodel import Session, col, select

from seedbank.common.answers import AmountAnswer, CautionAnswer, VarietyBrief, distinct
from seedbank.database.find import about, row_id
from seedbank.database.queries import Page, Paging, in_parts
from seedbank.facts.cautions import Situation, cautions_for
from seedbank.facts.kinds import KindFacts
from seedbank.facts.sources import Confidence
from seedbank.kinds.answers import KindSummary, VarietyAnswer
from seedbank.kinds.edit_kinds import facts_for_kinds
from seedbank.kinds.tables import (
    Kind,
    KindFilter,
    Variety,
    VarietyEntry,
    VarietyFilter,
    find_kinds,
    find_varieties,
)
from seedbank.lots.answers import (
    LotAnswer,
    MixturePartAnswer,
    PlaceAnswer,
    PlaceBrief,
    SeedWeightAnswer,
    StayAnswer,
    StaysAnswer,
)
from seedbank.lots.tables.brought_in import labels_of
from seedbank.lots.tables.ledger import Balance, balances, grams_left
from seedbank.lots.tables.lot_search import LotEntry, LotFilter, entry_by_code, find_or_near
from seedbank.lots.tables.lots import Lot, Origin, SeedForm, find_lot, parents
from seedbank.lots.tables.mixtures import MixtureEntry, parts_of
from seedbank.lots.tables.places import StayEntry, find_places, stays
from seedbank.lots.weighing import SeedWeight, grams_of, seed_weight
from seedbank.science.quantities import Finding


def list_lots(
    session: Session,
    wanted: LotFilter,
    paging: Paging,
    *,
    today: date,
    ids: frozenset[int] | None = None,
    condition: ColumnElement[bool] | None = None,
) -> Page[LotAnswer]:
    """Lots by code, of those that other rooms' tables leave. Raises BadValue: the cursor."""
    page = find_or_near(session, wanted, paging, ids=ids, condition=condition)
    return Page(answer_lots(session, page.items, today=today), page.next, page.near)


def show_lot(session: Session, code: str, *, today: date) -> LotAnswer:
    """One lot. Raises MisreadCode, NotThere."""
    with about("code"):
        entry = entry_by_code(session, code)
    return answer_lots(session, [entry], today=today)[0]


def show_stays(session: Session, code: str) -> StaysAnswer:
    """Where a lot has been. Raises MisreadCode, NotThere."""
    lot = find_lot(session, code)
    history = stays(session, [row_id(lot.id)])[row_id(lot.id)]
    return StaysAnswer(items=[answer_stay(lot, entry) for entry in history])


def answer_stay(lot: Lot, entry: StayEntry) -> StayAnswer:
    """A stay as it is answered."""
    place = PlaceBrief.model_validate(entry.place)
    return StayAnswer(
        lot=lot.code,
        place=place,
        from_date=entry.stay.from_date,
        until=entry.until,
        sealed_anew=entry.stay.sealed_anew,
    )


def lot_entry(session: Session, lot: Lot) -> LotEntry:
    """A lot with its variety and kind."""
    variety = session.get_one(Variety, lot.variety_id)
    return LotEntry(lot, variety, session.get_one(Kind, variety.kind_id))


def lot_entries(session: Session, numbers: Collection[int]) -> dict[int, LotEntry]:
    """Lots with their varieties and kinds by the lot's id, ten thousand in one query."""
    query = (
        select(Lot, Variety, Kind)
        .join(Variety, col(Variety.id) == col(Lot.variety_id))
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
    )
    return {
        row_id(lot.id): LotEntry(lot, variety, kind)
        for part in in_parts(numbers)
        for lot, variety, kind in session.exec(query.where(col(Lot.id).in_(part)))
    }


def variety_brief(entry: LotEntry) -> VarietyBrief:
    """What a lot is of, in short."""
    return VarietyBrief(id=row_id(entry.variety.id), name=entry.variety.name, kind=entry.kind.slug)


def answer_lot(session: Session, lot: Lot, *, today: date) -> LotAnswer:
    """One lot as it is answered."""
    return answer_lots(session, [lot_entry(session, lot)], today=today)[0]


def answer_lots(session: Session, entries: Sequence[LotEntry], *, today: date) -> list[LotAnswer]:
    """Lots as they are answered, in order."""
    numbers = [row_id(entry.lot.id) for entry in entries]
    held = balances(session, numbers)
    weighed = grams_left(session, [number for number in numbers if held[number].seeds is None])
    history = stays(session, numbers)
    lines, labels = parents(session, numbers), labels_of(session, numbers)
    codes = _codes(session, {parent for line in lines.values() for parent in line})
    facts = facts_for_kinds(session, {entry.kind.slug: entry.kind for entry in entries}.values())
    answers = []
    for number, entry in zip(numbers, entries, strict=True):
        known = facts[row_id(entry.kind.id)]
        answers.append(
            _answer(
                entry,
                known,
                _amount(entry.lot, known, held[number], weighed.get(number)),
                [codes[parent] for parent in lines[number]],
                _place_on(history[number], today),
                labels.get(number, ""),
            )
        )
    mixtures = parts_of(session, numbers)
    return [
        answer.model_copy(update={"mixture": _parts(mixtures[number])})
        if number in mixtures
        else answer
        for number, answer in zip(numbers, answers, strict=True)
    ]


def _parts(mixture: Sequence[MixtureEntry]) -> list[MixturePartAnswer]:
    return [
        MixturePartAnswer(
            lot=one.lot.code if one.lot else None, name=one.part.name, share=one.part.share
        )
        for one in mixture
    ]


def lot_cautions(
    lot: Lot, facts: KindFacts, situations: tuple[Situation, ...] = ()
) -> list[CautionAnswer]:
    """What to beware of with this lot, and in the job at hand; the gravest first."""
    saved_here = lot.origin in (Origin.SELF_SAVED, Origin.COLLECTED)
    short_lived = lot.seed_form in (SeedForm.PELLETED, SeedForm.PRIMED)
    return kind_cautions(facts, lot.treated, saved_here, situations, short_lived=short_lived)


def kind_cautions(
    facts: KindFacts,
    treated: bool,
    saved_here: bool,
    situations: tuple[Situation, ...] = (),
    *,
    short_lived: bool = False,
) -> list[CautionAnswer]:
    """What to beware of with seed of a kind; ``treated``, ``saved_here``, ``short_lived`` if it is:
    the last of pelleted and primed seed.
    """
    own_word = facts.poisonous
    found = cautions_for(
        facts.slug,
        treated=treated,
        saved_here=saved_here,
        situations=situations,
        short_lived=short_lived,
        poisonous=own_word.value if own_word and own_word.confidence is Confidence.OWN else None,
    )
    return [CautionAnswer.of(caution) for caution in found]


def _amount(lot: Lot, facts: KindFacts, held: Balance, weighed_g: float | None) -> AmountAnswer:
    """What is left; ``weighed_g`` of seed that isn't counted."""
    pieces, seeds = facts.is_planting_stock(lot.kept_as), held.seeds
    return AmountAnswer.of(
        Finding(
            "amount-in-pieces" if pieces else "amount",
            {"seeds": math.nan if seeds is None else seeds},
        ),
        seeds=seeds,
        seeds_se=round(held.seeds_se, 1),
        grams=weighed_g if seeds is None else grams_of(seeds, seed_weight(lot, facts)),
    )


def _answer(
    entry: LotEntry,
    facts: KindFacts,
    amount: AmountAnswer,
    parent_codes: list[str],
    place: PlaceBrief | None,
    label: str,
) -> LotAnswer:
    lot, weight = entry.lot, seed_weight(entry.lot, facts)
    pieces = facts.is_planting_stock(lot.kept_as)
    cautions = lot_cautions(lot, facts)
    shown = lot.model_dump(exclude={"id", "variety_id", "created_at"})
    sources = [weight.source] if weight else []
    return LotAnswer(
        **shown,
        variety=variety_brief(entry),
        planting_stock=pieces,
        amount=amount,
        thousand_seed_weight=_weight(weight),
        parents=parent_codes,
        place=place,
        label=label,
        cautions=cautions,
        sources=distinct([*sources, *(caution.source for caution in cautions)]),
    )


def _weight(weight: SeedWeight | None) -> SeedWeightAnswer | None:
    if weight is None:
        return None
    return SeedWeightAnswer(
        grams=weight.tsw_g,
        grams_se=float(f"{weight.tsw_se_g:.3g}"),
        measured=weight.measured,
        source=weight.source,
    )


def _place_on(history: list[StayEntry], today: date) -> PlaceBrief | None:
    begun = [entry for entry in history if entry.stay.from_date <= today]
    return PlaceBrief.model_validate(begun[-1].place) if begun else None


def _codes(session: Session, numbers: set[int]) -> dict[int, str]:
    found = session.exec(select(Lot.id, Lot.code).where(col(Lot.id).in_(numbers)))
    return {row_id(number): code for number, code in found}


def list_varieties(session: Session, wanted: VarietyFilter, paging: Paging) -> Page[VarietyAnswer]:
    """Varieties by name. Raises BadValue: the cursor."""

    def answer(entry: VarietyEntry) -> VarietyAnswer:
        return VarietyAnswer.model_validate({**entry.variety.model_dump(), "kind": entry.kind.slug})

    page = find_varieties(session, wanted, paging)
    return Page([answer(entry) for entry in page.items], page.next)


def list_places(session: Session, paging: Paging) -> Page[PlaceAnswer]:
    """Places by name. Raises BadValue: the cursor."""
    page = find_places(session, paging)
    return Page([PlaceAnswer.model_validate(place) for place in page.items], page.next)


def list_kinds(session: Session, wanted: KindFilter, paging: Paging) -> Page[KindSummary]:
    """Kinds by name, without their facts. Raises BadValue: the cursor."""
    page = find_kinds(session, wanted, paging)
    return Page([KindSummary.model_validate(kind) for kind in page.items], page.next)
