"""Lots told in the genebanks' passport descriptors, and lots made from such records."""

from typing import Annotated

from pydantic import Field

from seedbank.common.answers import AnswerModel, CautionAnswer, FindingAnswer, Source
from seedbank.common.forms import Day, Form
from seedbank.lots.answers import LotAnswer

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
    notes: list[FindingAnswer] = Field(description="what to know before handing it on")
    cautions: list[CautionAnswer]
    sources: list[Source]


class RecordsTakenIn(AnswerModel):
    """The lots made from records of the standard."""

    lots: list[LotAnswer]


Value = Annotated[str, Field(max_length=2000)]
FieldName = Annotated[str, Field(pattern=r"^[A-Z]{4,16}$")]
# Pydantic checks every name; its JSON schema alone would leave other names open.
Record = Annotated[dict[FieldName, Value], Field(json_schema_extra={"additionalProperties": False})]
MOST_RECORDS = 200
_EXAMPLE = {
    "INSTCODE": "AAA001",
    "ACCENUMB": "PI 000001",
    "GENUS": "Daucus",
    "SPECIES": "carota",
    "CROPNAME": "carrot",
    "ACCENAME": "Purple Lantern",
    "SAMPSTAT": "300",
}


class RecordsArrival(Form):
    """Seed of one or more accessions that came here."""

    records: list[Record] = Field(
        min_length=1,
        max_length=MOST_RECORDS,
        description="One an accession: values by the standard's field names.",
        examples=[[_EXAMPLE]],
    )
    received_on: Day | None = Field(
        default=None, description="Day they came here; today if left out.", examples=["2027-02-20"]
    )
