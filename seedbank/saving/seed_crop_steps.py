"""What comes next of a seed crop, from seed parents to the new lot."""

from datetime import date

from seedbank.common.dates import days_words
from seedbank.lots.tables.lots import Isolation
from seedbank.saving.answers.seed_crops import SeedCropAnswer, Stage, StepAnswer

_SEE_TO_IT = {
    Isolation.DISTANCE: "keep what crosses with it from flowering within reach",
    Isolation.TIME: "see that nothing that crosses with it flowers at the same time",
    Isolation.CAGE: "put up its cage",
    Isolation.BAG: "bag its flowers",
    Isolation.HAND_POLLINATION: "close the flowers to be pollinated by hand",
    Isolation.ONLY_VARIETY: "see that no other variety of it flowers",
}
_UNSAID = "say how it is kept from crossing"


def next_step(crop: SeedCropAnswer, today: date) -> StepAnswer | None:
    """The next thing to do for a seed crop; None: it is over."""
    if crop.stage is Stage.PLANNED:
        return _sow(crop, today)
    if crop.stage is not Stage.SOWN:
        return None
    if crop.flower_year > today.year:
        text = f"Sown; it flowers in {crop.flower_year}. See the plants through the winter."
        return StepAnswer(text=text, due=None, pressing=False)
    if crop.flower_year < today.year:
        text = f"It flowered in {crop.flower_year}: record its harvest, or that it failed."
        return StepAnswer(text=text, due=None, pressing=True)
    return _through_the_summer(crop, today)


def _sow(crop: SeedCropAnswer, today: date) -> StepAnswer:
    if crop.sow_on is None:
        return StepAnswer(text="Planned and not sown yet.", due=None, pressing=True)
    ahead = (crop.sow_on - today).days
    if ahead > 0:
        text, pressing = f"To be sown in {days_words(ahead)}.", False
    elif ahead == 0:
        text, pressing = "To be sown today.", True
    else:
        text, pressing = f"It was to be sown {days_words(-ahead)} ago.", True
    return StepAnswer(text=text, due=crop.sow_on, pressing=pressing)


def _through_the_summer(crop: SeedCropAnswer, today: date) -> StepAnswer:
    if crop.flower_to is not None and crop.flower_to <= today:
        text = "Its flowering is over: harvest it as the seed ripens."
    elif crop.flower_from is not None and crop.flower_from <= today:
        text = "It is in flower: mind its isolation, and pull out what isn't true."
    else:
        mind = _SEE_TO_IT.get(crop.isolation, _UNSAID)
        text = (
            f"It flowers this year: before the first flower opens pull out untrue plants, {mind}."
        )
    return StepAnswer(text=text, due=None, pressing=True)
