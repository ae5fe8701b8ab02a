"""The whole collection, to be taken away."""

import tempfile

from fastapi.responses import StreamingResponse

from seedbank.interchange.folder.export_archive import export_collection
from seedbank.web.api.deps import NowDep, SessionDep, TodayDep, api_router
from seedbank.web.api.responses import sent_file, tells_file

router = api_router(prefix="/export", tags=["archive"])


@router.get(
    "",
    response_class=StreamingResponse,
    responses=tells_file("application/zip", "A zip archive of CSV files."),
)
def export(session: SessionDep, today: TodayDep, now: NowDep) -> StreamingResponse:
    """Export everything as CSV files in one zip archive, as it is at this moment.

    With a data dictionary, and a manifest of row counts and digests. `seedbank import` takes it
    into an empty collection again.
    """
    file = tempfile.TemporaryFile()  # noqa: SIM115 - closed once it is sent
    try:
        export_collection(session, file, now=now)
    except BaseException:
        file.close()
        raise
    return sent_file(file, f"seedbank-{today.isoformat()}.zip", "application/zip")
