"""The season's lists for paper: to test, to grow for seed, last chances, to sow, to get."""

import math
from collections.abc import Iterable, Sequence
from datetime import date

from sqlmodel import Session

from seedbank.common.answers import FindingAnswer, VarietyBrief, finding_answers
from seedbank.database.queries import Paging
from seedbank.kinds.tables import OtherKeepers
from seedbank.labels.label_facts import MOST_LABELS, LabelsWanted, list_label_lots
from seedbank.plan.answers import OrderAnswer, ToSowAnswer
from seedbank.plan.last_plan import LastPlanCrop, last_plan_crops, unbegun
from seedbank.plan.list_orders import list_orders
from seedbank.plan.plan_supply import work_out_supplies
from seedbank.plan.tables import latest_plan_run
from seedbank.saving.edit_flowerings import variety_briefs
from seedbank.science.quantities import SAYS_LITTLE, Finding, Value
from seedbank.science.verdicts.verdict import Verdict
from seedbank.season.answers import Coming, Listed, ListedItem, SeasonListAnswer
from seedbank.season.coming_dates import list_coming_dates
from seedbank.verdicts.answers import SeedToSaveAnswer, SeedToSaveItem, VerdictAnswer
from seedbank.verdicts.list_verdicts import VerdictFilter, list_seed_to_save, list_verdicts

_ALL = 100_000
_MOST_REASONS = 2
_PARENTS = Finding("parents-raised-under-cover")


def season_list(session: Session, listed: Listed, *, today: date) -> SeasonListAnswer:
    """One of the lists. That of seed to sow may take seconds to work out."""
    if listed is Listed.TEST:
        return _to_test(session, today)
    if listed is Listed.SAVE:
        return _to_save(session, today)
    if listed is Listed.LAST_CHANCE:
        return _last_chances(session, today)
    if listed is Listed.BUY:
        items = [_get(one) for one in list_orders(session, today=today).items]
        return SeasonListAnswer(listed=listed, on=today, items=items, remarks=[], cautions=[])
    supplies = work_out_supplies(session, today=today)
    return SeasonListAnswer(
        listed=listed,
        on=today,
        items=[*_crops_this_month(session, today), *_sowings(session, supplies.sow, today)],
        remarks=supplies.remarks[:1],
        cautions=_distinct(one.text for one in supplies.cautions),
    )


def _to_test(session: Session, today: date) -> SeasonListAnswer:
    found = _with_verdict(session, Verdict.TOWEL_FIRST, today)
    places = _places(session, [one.lot for one in found], today)
    items = [
        ListedItem(
            name=_name(one.variety),
            lots=[one.lot],
            place=places.get(one.lot, ""),
            what=_found(
                "listed-test",
                seeds=_or_unknown(one.balance_seeds),
                low_pct=one.viability.low_90_pct,
                high_pct=one.viability.high_90_pct,
            ),
            reasons=_why(one.reasons),
        )
        for one in found
    ]
    return SeasonListAnswer(
        listed=Listed.TEST,
        on=today,
        items=items,
        remarks=[],
        cautions=_distinct(caution.text for one in found for caution in one.cautions),
    )


def _to_save(session: Session, today: date) -> SeasonListAnswer:
    """Varieties whose lots ask for it, then those that only the plan kept last grows this year."""
    answer = list_seed_to_save(session, today=today, other_keepers=tuple(OtherKeepers))
    wanted = [one for one in answer.items if one.verdict is Verdict.GROW_FOR_SEED and not one.begun]
    asked = {one.variety.id for one in answer.items}
    planned = [
        one
        for one in unbegun(session, last_plan_crops(latest_plan_run(session)))
        if one.sow_in == today.year and one.variety_id not in asked
    ]
    items = [*_saved(session, wanted, today), *_planned(session, planned)]
    return _saving(Listed.SAVE, answer, items, today)


def _last_chances(session: Session, today: date) -> SeasonListAnswer:
    answer = list_seed_to_save(session, today=today, other_keepers=tuple(OtherKeepers))
    last_hope = [
        one for one in answer.items if one.verdict is Verdict.LAST_CHANCE and not one.begun
    ]
    spent = _with_verdict(session, Verdict.GET_FRESH, today)
    places = _places(session, [one.lot for one in spent], today)
    replaced = [
        ListedItem(
            name=_name(one.variety),
            lots=[one.lot],
            place=places.get(one.lot, ""),
            what=_found("listed-replace", seeds=_or_unknown(one.balance_seeds)),
            reasons=_why(one.reasons),
        )
        for one in spent
    ]
    items = [*_saved(session, last_hope, today), *replaced]
    return _saving(Listed.LAST_CHANCE, answer, items, today)


def _saving(
    listed: Listed, answer: SeedToSaveAnswer, items: list[ListedItem], today: date
) -> SeasonListAnswer:
    return SeasonListAnswer(
        listed=listed,
        on=today,
        items=items,
        remarks=finding_answers([_PARENTS] if items else []),
        cautions=_distinct(one.text for one in answer.cautions),
    )


def _with_verdict(session: Session, verdict: Verdict, today: date) -> list[VerdictAnswer]:
    wanted = VerdictFilter(verdict=verdict)
    found = list_verdicts(session, wanted, Paging(_ALL), today=today).items
    return [one for one in found if not (verdict is Verdict.TOWEL_FIRST and one.begun)]


def _saved(session: Session, found: Sequence[SeedToSaveItem], today: date) -> list[ListedItem]:
    places = _places(session, [one.sow_lot for one in found], today)
    return [
        ListedItem(
            name=_name(one.variety),
            lots=[one.sow_lot],
            place=places.get(one.sow_lot, ""),
            what=_found(
                "listed-save",
                sow_seeds=_or_unknown(one.seeds_to_sow),
                held_seeds=_or_unknown(one.seeds_held),
                parents=one.seed_parents.plants,
                year=one.flowers_in,
                at_earliest=one.flowers_at_earliest,
            ),
            reasons=[one.advice, *_why(one.reasons)[:1]],
        )
        for one in found
    ]


def _planned(session: Session, crops: Sequence[LastPlanCrop]) -> list[ListedItem]:
    whose = variety_briefs(session, {one.variety_id for one in crops})
    return [
        ListedItem(
            name=_name(whose[one.variety_id]),
            lots=[],
            place="",
            what=_found("listed-planned", year=one.flowers_in),
            reasons=[_found("listed-in-plan")],
        )
        for one in crops
        if one.variety_id in whose
    ]


def _crops_this_month(session: Session, today: date) -> list[ListedItem]:
    """Seed crops with a day to be sown that is past, or within this month."""
    return [
        ListedItem(
            name=_name(one.variety) if one.variety else one.title.text,
            lots=[one.lot] if one.lot else [],
            place="",
            what=_found("listed-sow-by", on=one.on),
            reasons=[one.reason],
        )
        for one in list_coming_dates(session, today=today).items
        if one.coming is Coming.SOW
        and (one.on <= today or (one.on.year, one.on.month) == (today.year, today.month))
    ]


def _sowings(session: Session, sow: Sequence[ToSowAnswer], today: date) -> list[ListedItem]:
    places = _places(session, [lot.lot for one in sow for lot in one.lots], today)
    items = []
    for one in sow:
        chance = one.chance_of_enough
        shares = tuple(Finding("listed-share", {"seeds": x.seeds, "lot": x.lot}) for x in one.lots)
        kept_in = {places.get(lot.lot, "") for lot in one.lots}
        items.append(
            ListedItem(
                name=_name(one.variety),
                lots=[lot.lot for lot in one.lots],
                place=kept_in.pop() if len(kept_in) == 1 else "",
                what=_found(
                    "listed-sow",
                    seeds=one.seeds,
                    plants=one.plants_wanted,
                    lots=len(one.lots),
                    shares=shares,
                ),
                reasons=[
                    _found(
                        "listed-enough",
                        enough=one.enough,
                        chance=chance.pct / 100.0,
                        low=chance.low_pct / 100.0,
                        high=chance.high_pct / 100.0,
                    )
                ],
            )
        )
    return items


def _get(one: OrderAnswer) -> ListedItem:
    return ListedItem(
        name=_name(one.variety),
        lots=[],
        place="",
        what=_found("listed-get", get_by=one.get_by, plants=one.plants_wanted),
        reasons=[one],
    )


def _places(session: Session, codes: Sequence[str], today: date) -> dict[str, str]:
    found: dict[str, str] = {}
    for start in range(0, len(codes), MOST_LABELS):
        wanted = LabelsWanted(codes=tuple(codes[start : start + MOST_LABELS]))
        for one in list_label_lots(session, wanted, today=today) if wanted.codes else ():
            found[one.lot] = one.place.name if one.place else ""
    return found


def _found(code: str, **values: Value) -> FindingAnswer:
    return FindingAnswer.of(Finding(code, values))


def _or_unknown(seeds: int | None) -> float:
    return math.nan if seeds is None else seeds


def _why(reasons: Sequence[FindingAnswer]) -> list[FindingAnswer]:
    """The first and the last reason that say more than how many others keep the variety."""
    telling = [one for one in reasons if one.code not in SAYS_LITTLE]
    return telling if len(telling) <= _MOST_REASONS else [telling[0], telling[-1]]


def _name(brief: VarietyBrief) -> str:
    return f"{brief.name} ({brief.kind})"


def _distinct(texts: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(texts))
