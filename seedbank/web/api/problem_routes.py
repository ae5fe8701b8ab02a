"""The types of problem an answer may report, so that their addresses lead somewhere."""

from typing import Annotated

from fastapi import Path, Response
from pydantic import BaseModel, Field

from seedbank.common.errors import NotThere
from seedbank.web.api.deps import api_router
from seedbank.web.api.problem_types import PROBLEM_TYPES, ProblemType
from seedbank.web.api.responses import tells

router = api_router(prefix="/problems", tags=["problems"])


class ProblemTypeAnswer(BaseModel):
    """One type of problem."""

    slug: str = Field(examples=["stale-version"])
    status: int = Field(examples=[412])
    title: str = Field(examples=["Changed meanwhile"])
    meaning: str = Field(examples=["If-Match names a version that is no longer current."])

    @classmethod
    def of(cls, kind: ProblemType) -> "ProblemTypeAnswer":
        """From the table of problem types."""
        return cls(slug=kind.slug, status=kind.status, title=kind.title, meaning=kind.meaning)


class ProblemTypesAnswer(BaseModel):
    """Every type of problem."""

    items: list[ProblemTypeAnswer]


@router.get("", responses=tells(ProblemTypesAnswer))
def browse() -> Response:
    """List every type of problem."""
    types = ProblemTypesAnswer(items=[ProblemTypeAnswer.of(kind) for kind in PROBLEM_TYPES])
    return Response(types.model_dump_json(), media_type="application/json")


@router.get("/{slug}", responses=tells(ProblemTypeAnswer, problems=(404, 422)))
def show(slug: Annotated[str, Path(max_length=40, examples=["stale-version"])]) -> Response:
    """Explain one type of problem."""
    for kind in PROBLEM_TYPES:
        if kind.slug == slug:
            body = ProblemTypeAnswer.of(kind).model_dump_json()
            return Response(body, media_type="application/json")
    raise NotThere("type of problem", slug, field="slug")
