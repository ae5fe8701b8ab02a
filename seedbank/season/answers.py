"""Answers about the season: what needs doing now, days to come, lists to print."""

from datetime import date, datetime
from enum import StrEnum

from pydantic import Field

from seedbank.climate.answers import SpanAnswer
from seedbank.climate.tables import Known
from seedbank.common.answers import AnswerModel, FindingAnswer, VarietyBrief
from seedbank.facts.variety_season import VarietySeason
from seedbank.plan.answers import PlanStandingAnswer, StopFloweringAnswer
from seedbank.saving.answers import SeedCropAnswer, StepAnswer
from seedbank.science.season.sowing_windows import Method
from seedbank.science.verdicts.verdict import Verdict
from seedbank.verdicts.answers import SeedToSaveAnswer, When


class Coming(StrEnum):
    """What falls on a day."""

    FIRST_COUNT = "first-count"
    FINAL_COUNT = "final-count"
    RETEST = "retest"
    SOW = "sow"
    ISOLATE = "isolate"
    STOP_FLOWERING = "stop-flowering"
    HARVEST = "harvest"
    SOWING_WINDOW = "sowing-window"
    RIPE_SEED = "ripe-seed"


class ComingDate(AnswerModel):
    """One thing to do on a day.

    ``name`` is stable: the same thing keeps it when its day moves. ``changed_at`` is when the
    record behind it was made, ``revision`` how often it was edited since.
    """

    name: str = Field(examples=["final-count-130"])
    on: date = Field(examples=["2027-03-01"])
    until: date | None = Field(
        default=None, description="last day it can be done; null: a day alone", examples=[None]
    )
    coming: Coming = Field(examples=["final-count"])
    title: FindingAnswer
    reason: FindingAnswer
    variety: VarietyBrief | None = Field(description="null: of several")
    kind: str | None = Field(
        default=None, description="slug, of what holds for a kind in stock", examples=["carrot"]
    )
    lot: str | None = Field(description="code of the lot", examples=["4K7PM"])
    test: int | None = Field(default=None, description="its number", examples=[130])
    seed_crop: int | None = Field(default=None, description="its number", examples=[1])
    changed_at: datetime = Field(examples=["2027-02-15T12:00:00Z"])
    revision: int = Field(examples=[0])


class ComingDatesAnswer(AnswerModel):
    """What is to be done, by day; what is late stands with the day it was due."""

    on: date = Field(examples=["2027-02-20"])
    items: list[ComingDate]
    remarks: list[FindingAnswer]


class CropOfSeason(AnswerModel):
    """A seed crop and what comes next of it; null: it is over."""

    crop: SeedCropAnswer
    next: StepAnswer | None


class SeasonAnswer(AnswerModel):
    """The season at a glance."""

    year: int = Field(examples=[2027])
    verdicts: dict[Verdict, int] = Field(description="lots by verdict")
    save: SeedToSaveAnswer
    crops: list[CropOfSeason]
    must_not_flower: list[StopFloweringAnswer]
    plan: PlanStandingAnswer | None = Field(description="null: none was made yet")


class CropLineAnswer(AnswerModel):
    """One line of the year: a kind that is sown to eat, or a variety grown for seed.

    Spans are days of the year of ``on``; of a seed crop those that fall into it.
    """

    kind: str = Field(description="slug", examples=["carrot"])
    kind_name: str = Field(examples=["carrot"])
    season: VarietySeason | None = Field(description="what its varieties are for", examples=[None])
    varieties: list[str] = Field(
        description="in stock, or the one for seed", examples=[["Purple Lantern"]]
    )
    for_seed: bool = Field(examples=[True])
    state: Verdict | None = Field(
        description="why for seed; null: begun, or not for seed", examples=["grow-for-seed"]
    )
    seed_crop: int | None = Field(default=None, description="number of one begun")
    method: Method | None = Field(
        description="of sowing; null: sown already, or not known", examples=["open"]
    )
    sow: list[SpanAnswer]
    grows: SpanAnswer | None = Field(description="from sowing until it is eaten or gives seed")
    eat: SpanAnswer | None
    keep_apart: SpanAnswer | None = Field(description="from what it would cross with")
    flowers: SpanAnswer | None
    ripe: SpanAnswer | None = Field(description="seed: harvest, clean and dry it")
    seed_in: int | None = Field(
        description="year it gives seed; null: not grown for seed", examples=[2028]
    )
    when: When = Field(description="when it can be sown", examples=["now"])
    from_on: date | None = Field(
        description="next first day to sow; null: not known, or sown", examples=["2027-04-02"]
    )
    until_on: date | None = Field(
        description="last day to sow, while it can be", examples=["2027-06-14"]
    )
    reasons: list[FindingAnswer]


class YearAnswer(AnswerModel):
    """The year in this garden, a line a crop: seed crops first, then by the next day to sow."""

    on: date = Field(examples=["2027-02-20"])
    known: Known = Field(description="how much is known of the climate", examples=["months"])
    crops: list[CropLineAnswer]
    remarks: list[FindingAnswer]


class Listed(StrEnum):
    """What a list is of."""

    TEST = "test"
    SAVE = "save"
    LAST_CHANCE = "last-chance"
    SOW = "sow"
    BUY = "buy"


class ListedItem(AnswerModel):
    """One line: what, from which packet and where that is, how much, and why."""

    name: str = Field(examples=["Purple Lantern (carrot)"])
    lots: list[str] = Field(description="codes", examples=[["4K7PM"]])
    place: str = Field(description="empty: not known, or several", examples=["Shed shelf"])
    what: FindingAnswer
    reasons: list[FindingAnswer]


class SeasonListAnswer(AnswerModel):
    """A list of the season, the most pressing first."""

    listed: Listed = Field(examples=["test"])
    on: date = Field(examples=["2027-02-20"])
    items: list[ListedItem]
    remarks: list[FindingAnswer]
    cautions: list[str] = Field(examples=[["Do not eat treated seed."]])


class Do(StrEnum):
    """What is to be done, the most pressing first; the words are our choice."""

    COUNT = "count"
    EMERGENCE = "emergence"
    LAST_CHANCE = "last-chance"
    GROW_FOR_SEED = "grow-for-seed"
    TOWEL_FIRST = "towel-first"
    SEED_CROP = "seed-crop"
    STOP_FLOWERING = "stop-flowering"
    RUNNING_OUT = "running-out"
    GET_FRESH = "get-fresh"
    CHECK_ENTRY = "check-entry"


class ToDoItem(AnswerModel):
    """One thing to do, why, and what it is about: the first of test, sowing, crop, lot, variety."""

    name: str = Field(examples=["Purple Lantern"])
    kind: str = Field(description="slug; empty: none", examples=["carrot"])
    why: FindingAnswer
    brief: FindingAnswer | None = Field(default=None, description="why in a few words")
    when: When | None = Field(default=None, description="when it can be sown")
    opens_on: date | None = Field(default=None, description="first day, if not now")
    due: date | None = Field(default=None, examples=["2027-02-13"])
    late: bool = Field(default=False, examples=[True])
    test: int | None = Field(default=None, examples=[130])
    sowing: int | None = Field(default=None, examples=[120])
    seed_crop: int | None = Field(default=None, examples=[58])
    lot: str | None = Field(default=None, examples=["4K7PM"])
    variety_id: int | None = Field(default=None, examples=[1])


class ToDoGroup(AnswerModel):
    """Things to do of one sort, the most pressing first; ``total`` counts those not listed too."""

    do: Do = Field(examples=["count"])
    total: int = Field(examples=[4])
    items: list[ToDoItem]


class ToDoAnswer(AnswerModel):
    """What needs doing now: groups with something in them, the most pressing first."""

    on: date = Field(examples=["2027-02-20"])
    groups: list[ToDoGroup]
    plan: PlanStandingAnswer | None = Field(description="null: none was made yet")


class JobAnswer(AnswerModel):
    """One job of this week: what to do and why, in a few words each."""

    job: str = Field(description="its name, the same from day to day", examples=["count-130"])
    do: Do = Field(examples=["count"])
    title: FindingAnswer
    kind_name: str = Field(description="empty: none", examples=["carrot"])
    state: Verdict | None = Field(description="of the lot; null: about no one lot")
    item: ToDoItem
    until: date | None = Field(default=None, description="put off until then")


class BegunAnswer(AnswerModel):
    """Something begun that asks for nothing yet: the first of test, sowing and crop is named."""

    title: FindingAnswer
    mark: FindingAnswer
    look: FindingAnswer
    look_on: date | None = Field(description="null: no set day", examples=["2027-04-06"])
    state: Verdict | None
    test: int | None = None
    sowing: int | None = None
    seed_crop: int | None = None


class ThisWeekAnswer(AnswerModel):
    """A few jobs, the most urgent first; what can wait, what is begun, and the shelf by state."""

    on: date
    jobs: list[JobAnswer]
    late: int = Field(description="of the jobs, those whose day is past")
    waiting: dict[Do, int]
    put_off: list[JobAnswer]
    begun: list[BegunAnswer]
    next_on: date | None = Field(description="next day that something asks for a look")
    states: dict[Verdict, int]
    lots_begun: int
