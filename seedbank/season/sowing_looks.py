"""When each open sowing next needs a look: once its first seedlings should be up, then weekly."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from sqlmodel import Session, col, select

from seedbank.database.find import row_id
from seedbank.database.queries import Paging
from seedbank.emergence.tables import Emergence, SowingFilter
from seedbank.kinds.edit_kinds import facts_for_kinds
from seedbank.kinds.tables import Kind
from seedbank.science.quantities import Finding
from seedbank.sowing.answers import SowingSummary
from seedbank.sowing.show_sowings import list_sowings
from seedbank.viability.past_sowings import sowing_conditions

# Our choices: where no soil temperature tells, and from one count to the next.
LOOK_AFTER_DAYS, LOOK_AGAIN_DAYS = 21, 7
LOOKED_AT_DAYS = 60  # from the day it was due to be up: what comes later isn't waited for
_MOST_OPEN = 500


@dataclass(frozen=True, slots=True)
class SowingLook:
    """An open sowing, the day of its next look, and the day it was last counted, if ever."""

    sowing: SowingSummary
    on: date
    counted_on: date | None

    def is_due(self, today: date) -> bool:
        """Whether its day has come."""
        return self.on <= today

    def found(self, today: date) -> Finding:
        """What there is to see, and when."""
        when = "due" if self.is_due(today) else "coming"
        if self.counted_on is None:
            return Finding("look-first-up", {"when": when, "on": self.on})
        up, counted_on = self.sowing.units_emerged or 0, self.counted_on
        return Finding(
            "look-up-so-far", {"when": when, "on": self.on, "up": up, "counted_on": counted_on}
        )


def looks_at_sowings(session: Session, today: date) -> Iterator[SowingLook]:
    """The next look at each open sowing, unless it was due to be up long ago."""
    sowings = list_sowings(session, SowingFilter(open=True), Paging(_MOST_OPEN)).items
    slugs = {one.variety.kind for one in sowings}
    kinds = session.exec(select(Kind).where(col(Kind.slug).in_(slugs))).all()
    facts = facts_for_kinds(session, kinds)
    of_kind = {kind.slug: facts[row_id(kind.id)] for kind in kinds}
    counted = _last_counts(session, [one.id for one in sowings])
    for one in sowings:
        if one.id in counted:
            on = counted[one.id] + timedelta(days=LOOK_AGAIN_DAYS)
        else:
            _, soil = sowing_conditions(
                of_kind[one.variety.kind], one.method, one.protection, one.sown_on, one.soil_temp_c
            )
            days = LOOK_AFTER_DAYS if soil.days is None else round(soil.days)
            on = one.sown_on + timedelta(days=days)
        if (today - on).days <= LOOKED_AT_DAYS:
            yield SowingLook(one, on, counted.get(one.id))


def _last_counts(session: Session, sowings: list[int]) -> dict[int, date]:
    query = (
        select(col(Emergence.sowing_id), col(Emergence.on_date))
        .where(col(Emergence.sowing_id).in_(sowings))
        .order_by(col(Emergence.on_date))
    )
    return {row[0]: row[1] for row in session.exec(query)}
