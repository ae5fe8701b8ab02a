"""What a collection asks of its keeper this year: seed to save, tests, what may go, the plan."""

from collections.abc import Sequence
from datetime import date
from time import monotonic

from seedbank.cli.screen import heading, name_of, screen, table, words
from seedbank.common.answers import AnswerModel
from seedbank.database.queries import Paging
from seedbank.germination.answers import TestSummary
from seedbank.germination.show_tests import list_tests
from seedbank.germination.tables import TestFilter
from seedbank.kinds.tables import OtherKeepers
from seedbank.plan.answers import SavingPlanAnswer
from seedbank.plan.forms import PlanAsk
from seedbank.plan.make_plan import plan_saving
from seedbank.science.verdicts.verdict import Verdict
from seedbank.season.commands.lots_on_screen import alive_words, amount_words, seed_to_save_table
from seedbank.season.commands.plan_on_screen import show_this_year
from seedbank.upkeep.command_session import Opened
from seedbank.verdicts.answers import SeedToSaveAnswer, VerdictAnswer
from seedbank.verdicts.list_verdicts import VerdictFilter, list_seed_to_save, list_verdicts

_ALL = 100_000
_SHOWN = 8
_TITLES = {
    Verdict.TOWEL_FIRST: "year-heading-towel-first",
    Verdict.GET_FRESH: "year-heading-get-fresh",
    Verdict.SOW_THICKER: "year-heading-sow-thicker",
    Verdict.CAN_GO: "year-heading-can-go",
}


class Year(AnswerModel):
    """What needs doing, as of a day."""

    on: date
    seed_to_save: SeedToSaveAnswer
    tests_due: list[TestSummary]
    verdicts: list[VerdictAnswer]
    saving_plan: SavingPlanAnswer


def look_at_year(collection: Opened) -> Year:
    """Judge every lot of the collection, and plan its seed crops."""
    session, today = collection.session, collection.today
    due = TestFilter(open=True, due_by=today)
    return Year(
        on=today,
        seed_to_save=list_seed_to_save(session, today=today, other_keepers=tuple(OtherKeepers)),
        tests_due=list(list_tests(session, due, Paging(_ALL)).items),
        verdicts=list(list_verdicts(session, VerdictFilter(), Paging(_ALL), today=today).items),
        saving_plan=plan_saving(session, PlanAsk(), today=today, clock=monotonic),
    )


def show_year(year: Year) -> None:
    """What needs doing, for people."""
    heading(words("year-heading", year=year.on.year, on=year.on))
    seed_to_save_table(year.seed_to_save.items)
    if year.tests_due:
        heading(words("year-heading-counts"))
        table(
            ("lot", "variety", "set", "final-count-due"),
            [
                (one.lot, name_of(one.variety), f"{one.started_on}", f"{one.final_count_due or ''}")
                for one in year.tests_due
            ],
        )
    for verdict, code in _TITLES.items():
        _verdict_table(code, [one for one in year.verdicts if one.verdict is verdict])
    kept = sum(one.verdict is Verdict.SOW_AS_USUAL for one in year.verdicts)
    screen().print()
    screen().print(words("year-others-stay", lots=kept))
    show_this_year(year.saving_plan)


def _verdict_table(code: str, found: Sequence[VerdictAnswer]) -> None:
    if not found:
        return
    heading(words(code, lots=len(found)))
    rows = [
        (
            name_of(one.variety),
            one.lot,
            _clincher(one),
            amount_words(one.balance_seeds),
            alive_words(one.viability),
        )
        for one in found[:_SHOWN]
    ]
    table(("variety", "lot", "why", "seeds", "alive"), rows, numbers=2)
    if len(found) > _SHOWN:
        screen().print(words("and-more", more=len(found) - _SHOWN))


def _clincher(one: VerdictAnswer) -> str:
    """The reason that says most."""
    return one.reasons[0].text if one.reasons else ""
