"""The rare varieties to grow for seed, which the program that starts next needn't judge anew."""

from collections.abc import Iterable
from datetime import date

from sqlmodel import Session

from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import changes
from seedbank.kinds.tables import OtherKeepers
from seedbank.verdicts.answers import SeedToSaveAnswer
from seedbank.verdicts.change_topics import judged_by

_SEED_TO_SAVE: CacheRegion[SeedToSaveAnswer] = CacheRegion(4, stored=SeedToSaveAnswer)


def show_seed_to_save(
    session: Session,
    *,
    today: date,
    other_keepers: Iterable[OtherKeepers] = (OtherKeepers.NONE, OtherKeepers.FEW),
) -> SeedToSaveAnswer:
    """As ``list_seed_to_save``; kept, also for the next program, until a verdict may change."""
    wanted = tuple(dict.fromkeys(other_keepers))

    def work() -> SeedToSaveAnswer:
        from seedbank.verdicts.list_verdicts import list_seed_to_save  # judging takes much else

        return list_seed_to_save(session, today=today, other_keepers=wanted)

    state = (today, *changes(session, judged_by()))
    return _SEED_TO_SAVE.get(session, state, work, asked=wanted)
