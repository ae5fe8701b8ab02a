"""Lots told in the genebanks' passport descriptors, and lots made from them."""

from pydantic import Field

from seedbank.common.answers import AnswerModel, CautionAnswer, Source
from seedbank.lots.answers.lots import LotAnswer

_RECORD = {
    "ACCENUMB": "6X3K8",
    "GENUS": "Daucus",
    "SPECIES": "carota",
    "CROPNAME": "carrot",
    "ACCENAME": "Purple Lantern",
    "STORAGE": "10",
}


class DescriptorsAnswer(AnswerModel):
    """One lot as a record of the standard. Fields not known are left out, never guessed."""

    standard: str = Field(examples=["FAO/Bioversity Multi-Crop Passport Descriptors V.2.1 (2015)"])
    record: dict[str, str] = Field(
        description="values by field name, in the standard's order", examples=[_RECORD]
    )
    notes: list[str] = Field(
        description="what to know before handing it on",
        examples=[["INSTCODE is left out: give the code of the institute that keeps it."]],
    )
    cautions: list[CautionAnswer]
    sources: list[Source]


class RecordsTakenIn(AnswerModel):
    """The lots made from records of the standard."""

    lots: list[LotAnswer]
