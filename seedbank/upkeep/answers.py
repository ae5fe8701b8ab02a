"""What the service tells of itself."""

from typing import Literal

from pydantic import BaseModel, Field


class HealthAnswer(BaseModel):
    """The service is alive and can use its collection; where it can't, a problem says why."""

    status: Literal["ok"] = Field(default="ok", examples=["ok"])
    version: str = Field(description="of the program", examples=["0.1.0"])
    schema_revision: str = Field(
        description="of the database, the newest this program knows", examples=["0024"]
    )
