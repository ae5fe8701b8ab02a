"""Every table in one import, for migrations and for those who need the whole schema."""

from seedbank.stock.access_tokens import AccessToken
from seedbank.stock.audit import AuditEntry
from seedbank.stock.flowering import Flowering, FloweringWindow
from seedbank.stock.garden_limits import GardenLimits
from seedbank.stock.germination_tests import Count, GerminationTest, Replicate
from seedbank.stock.isolation_gear import IsolationGear
from seedbank.stock.kinds import Kind, KindFact
from seedbank.stock.ledger import Movement
from seedbank.stock.lots import CodeCounter, Lot, LotParent
from seedbank.stock.places import Place, Stay
from seedbank.stock.plan_pins import PlanPin
from seedbank.stock.plan_runs import PlanRun
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
    "Replicate",
    "SeedCrop",
    "Site",
    "SiteDistance",
    "Sowing",
    "Stay",
    "Variety",
]
