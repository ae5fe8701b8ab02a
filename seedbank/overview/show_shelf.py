"""The shelf a page at a time, for page, API and command alike."""

from datetime import date

from sqlmodel import Session

from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import all_changes
from seedbank.overview.answers import ShelfAnswer
from seedbank.overview.forms import ShelfQuestion, ShelfView

_SHELF: CacheRegion[ShelfAnswer] = CacheRegion(stored=ShelfAnswer)


def show_shelf(
    session: Session, asked: ShelfQuestion, view: ShelfView, *, today: date
) -> ShelfAnswer:
    """Packets that answer to what is asked, a page of them. Raises Refused: no such place.

    The first page of all there are is kept, also for the next program, until anything is written.
    """

    def work() -> ShelfAnswer:
        from seedbank.overview.answer_shelf import answer_shelf  # judging takes much else

        return answer_shelf(session, asked, view, today=today)

    if (asked, view) != (ShelfQuestion(), ShelfView()):
        return work()
    return _SHELF.get(session, (today, *all_changes(session)), work)
