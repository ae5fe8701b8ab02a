"""Records of the genebanks' passport descriptors that came with seed."""

from typing import Annotated

from pydantic import Field

from seedbank.common.forms import Day, Form

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
