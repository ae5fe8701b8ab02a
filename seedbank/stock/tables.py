"""Every table in one import, for migrations and for those who need the whole schema.

Tables made from the metadata have the indexes that words are found by, as migrated ones do.
"""

from typing import Any

from sqlalchemy import Connection, event
from sqlmodel import SQLModel

from seedbank.stock import word_index
from seedbank.stock.access_tokens import AccessToken
from seedbank.stock.audit import AuditEntry
from seedbank.stock.entry_doubts import EntryDoubt
from seedbank.stock.flowering import Flowering, FloweringWindow
from seedbank.stock.garden_limits import GardenLimits
from seedbank.stock.germination_tests import Count, GerminationTest, Replicate
from seedbank.stock.isolation_gear import IsolationGear
from seedbank.stock.kinds import Kind, KindFact
from seedbank.stock.ledger import Movement
from seedbank.stock.lots import CodeCounter, Lot, LotParent
from seedbank.stock.places import Place, Stay
from seedbank.stock.plan_pins import PlanPin
from seedbank.stock.plan_runs import PlanRun, PlanTold
from seedbank.stock.requests import AnsweredRequest
from seedbank.stock.seed_crops import SeedCrop
from seedbank.stock.sites import Site, SiteDistance
from seedbank.stock.sowings import Emergence, Loss, Sowing
from seedbank.stock.varieties import Variety

__all__ = [
    "AccessToken",
    "AnsweredRequest",
    "AuditEntry",
    "CodeCounter",
    "Count",
    "Emergence",
    "EntryDoubt",
    "Flowering",
    "FloweringWindow",
    "GardenLimits",
    "GerminationTest",
    "IsolationGear",
    "Kind",
    "KindFact",
    "Loss",
    "Lot",
    "LotParent",
    "Movement",
    "Place",
    "PlanPin",
    "PlanRun",
    "PlanTold",
    "Replicate",
    "SeedCrop",
    "Site",
    "SiteDistance",
    "Sowing",
    "Stay",
    "Variety",
]


def _make_indexes(_: Any, connection: Connection, **_rest: Any) -> None:
    word_index.make(connection)


def _drop_indexes(_: Any, connection: Connection, **_rest: Any) -> None:
    word_index.drop(connection)


event.listen(SQLModel.metadata, "after_create", _make_indexes)
event.listen(SQLModel.metadata, "before_drop", _drop_indexes)
