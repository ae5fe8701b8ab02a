"""Every table in one import, for migrations and for those who need the whole schema."""

from seedbank.stock.germination_tests import Count, GerminationTest, Replicate
from seedbank.stock.kinds import Kind, KindFact
from seedbank.stock.ledger import Movement
from seedbank.stock.lots import CodeCounter, Lot, LotParent
from seedbank.stock.places import Place, Stay
from seedbank.stock.requests import AnsweredRequest
from seedbank.stock.sowings import Emergence, Loss, Sowing
from seedbank.stock.varieties import Variety

__all__ = [
    "AnsweredRequest",
    "CodeCounter",
    "Count",
    "Emergence",
    "GerminationTest",
    "Kind",
    "KindFact",
    "Loss",
    "Lot",
    "LotParent",
    "Movement",
    "Place",
    "Replicate",
    "Sowing",
    "Stay",
    "Variety",
]
