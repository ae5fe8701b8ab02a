"""The whole collection, to be taken away."""

import tempfile
from collections.abc import Iterator
from typing import IO

from fastapi.responses import StreamingResponse

from seedbank.interchange.folder.export_archive import export_collection
from seedbank.web.api.deps import NowDep, SessionDep, TodayDep, api_router
from seedbank.web.api.responses import tells_file

router = api_router(prefix="/export", tags=["archive"])
_PIECE = 1 << 16


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
        size = file.tell()
    except BaseException:
        file.close()
        raise
    name = f"seedbank-{today.isoformat()}.zip"
    headers = {
        "Content-Disposition": f'attachment; filename="{name}"',
        "Content-Length": str(size),
    }
    return StreamingResponse(_pieces(file), media_type="application/zip", headers=headers)


def _pieces(file: IO[bytes]) -> Iterator[bytes]:
    with file:
        file.seek(0)
        while piece := file.read(_PIECE):
            yield piece
