"""Lots, tests and sowings as a workbook, to be taken away."""

import tempfile

from fastapi.responses import StreamingResponse

from seedbank.interchange.workbook.write_workbook import write_workbook
from seedbank.web.api.deps import NowDep, SessionDep, TodayDep, api_router
from seedbank.web.api.responses import sent_file, tells_file

router = api_router(prefix="/export", tags=["archive"])
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@router.get(
    "/workbook",
    response_class=StreamingResponse,
    responses=tells_file(XLSX, "A workbook of three sheets."),
)
def workbook(session: SessionDep, today: TodayDep, now: NowDep) -> StreamingResponse:
    """Export lots, tests and sowings as a workbook, a sheet each, with real dates and numbers.

    It is for looking at and reckoning with; what can be taken in again is the archive. Like it,
    the workbook names donors, and is the owner's alone.
    """
    file = tempfile.TemporaryFile()  # noqa: SIM115 - closed once it is sent
    try:
        write_workbook(session, file, today=today, now=now)
    except BaseException:
        file.close()
        raise
    return sent_file(file, f"seedbank-{today.isoformat()}.xlsx", XLSX)
