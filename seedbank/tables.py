"""Every table in one import, for migrations and for those who need the whole schema.

Tables made from the metadata have the indexes that words are found by, as migrated ones do.
"""

from typing import Any

from sqlalchemy import Connection, event
from sqlmodel import SQLModel

from seedbank.access.tables import AccessToken
from seedbank.climate.tables import GardenClimate
from seedbank.database import word_index
from seedbank.database.audit import AnsweredRequest, AuditEntry
from seedbank.database.change_counters import ChangeCounter
from seedbank.database.stored_answers import StoredAnswer
from seedbank.emergence.tables import Emergence, Loss, Sowing
from seedbank.germination.tables import Count, GerminationTest, Replicate
from seedbank.kinds.tables import Kind, KindFact, Variety
from seedbank.lots.tables.brought_in import BroughtIn
from seedbank.lots.tables.entry_doubts import EntryDoubt
from seedbank.lots.tables.ledger import Movement
from seedbank.lots.tables.lots import CodeCounter, Lot, LotParent
from seedbank.lots.tables.photos import LotPhoto
from seedbank.lots.tables.places import Place, Stay
from seedbank.overview.tables import Batch
from seedbank.plan.tables import PlanPin, PlanReport, PlanRun
from seedbank.saving.tables import (
    Flowering,
    FloweringWindow,
    GardenLimits,
    IsolationGear,
    SeedCrop,
    Site,
    SiteDistance,
)
from seedbank.season.tables import PostponedJob
from seedbank.viability.tables.forecasts import ViabilityForecast

__all__ = [
    "AccessToken",
    "AnsweredRequest",
    "AuditEntry",
    "Batch",
    "BroughtIn",
    "ChangeCounter",
    "CodeCounter",
    "Count",
    "Emergence",
    "EntryDoubt",
    "Flowering",
    "FloweringWindow",
    "GardenClimate",
    "GardenLimits",
    "GerminationTest",
    "IsolationGear",
    "Kind",
    "KindFact",
    "Loss",
    "Lot",
    "LotParent",
    "LotPhoto",
    "Movement",
    "Place",
    "PlanPin",
    "PlanReport",
    "PlanRun",
    "PostponedJob",
    "Replicate",
    "SeedCrop",
    "Site",
    "SiteDistance",
    "Sowing",
    "Stay",
    "StoredAnswer",
    "Variety",
    "ViabilityForecast",
]


def _make_indexes(_: Any, connection: Connection, **_rest: Any) -> None:
    word_index.make(connection)


def _drop_indexes(_: Any, connection: Connection, **_rest: Any) -> None:
    word_index.drop(connection)


event.listen(SQLModel.metadata, "after_create", _make_indexes)
event.listen(SQLModel.metadata, "before_drop", _drop_indexes)
