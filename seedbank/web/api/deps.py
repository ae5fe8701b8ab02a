"""What routes are handed, named once."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Depends, Path, Response
from fastapi.routing import APIRoute
from sqlmodel import Session

from seedbank.database.run_once import Answer, run_once
from seedbank.web.api.preconditions import FingerprintDep, KeyDep
from seedbank.web.api.query_names import plain_address
from seedbank.web.wiring import NowDep, SessionDep, TodayDep, WiringDep

SlugPath = Annotated[str, Path(max_length=80, description="Its slug.", examples=["carrot"])]


__all__ = [
    "CodePath", "IdPath", "NowDep", "Once", "OnceDep", "SessionDep", "TodayDep", "WiringDep",
]  # fmt: skip

IdPath = Annotated[int, Path(ge=1, le=2_147_483_647, description="Its number.", examples=[1])]
CodePath = Annotated[
    str,
    Path(
        max_length=40,
        description="Lot code; case, spaces and dashes don't matter.",
        examples=["4K7PM"],
    ),
]


@dataclass(frozen=True, slots=True)
class Once:
    """Runs a route's work once for its key, and shapes the answer, first telling or replay."""

    session: Session
    key: str
    fingerprint: str
    now: datetime

    def __call__(self, action: Callable[[], Answer]) -> Response:
        done = run_once(
            self.session,
            key=self.key,
            fingerprint=self.fingerprint,
            now=self.now,
            action=action,
        )
        answer = done.answer
        headers = {"Location": answer.location, "ETag": answer.etag}
        response = Response(answer.body, answer.status, media_type="application/json")
        response.headers.update({name: value for name, value in headers.items() if value})
        if done.replayed:
            response.headers["Idempotent-Replay"] = "true"
        return response


def get_once(session: SessionDep, key: KeyDep, asked: FingerprintDep, now: NowDep) -> Once:
    """The runner of a keyed request."""
    return Once(session, key, asked, now)


OnceDep = Annotated[Once, Depends(get_once)]


def api_router(*, tags: list[str], prefix: str = "") -> APIRouter:
    """A router of the API: addresses are read strictly, operations are named ``tag-function``."""
    return APIRouter(
        prefix=prefix,
        tags=[*tags],
        dependencies=[Depends(plain_address)],
        generate_unique_id_function=_operation_id,
    )


def _operation_id(route: APIRoute) -> str:
    return f"{route.tags[0]}-{route.name}"
