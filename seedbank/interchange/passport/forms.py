"""The lot passport: what travels with given-away seed, so that its past isn't lost.

A format of our own: its model, what tells one from another (a digest of all it says), whether what
it says can be true, and its JSON Schemas in ``api_docs/lot-passport-N.schema.json``, written by
``python -m seedbank.interchange.passport.forms FOLDER``. Version 2 has what packets say besides;
version 1 is read for ever, and its digest is over what version 1 has.
"""

import hashlib
import json
import sys
from collections.abc import Iterator
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Annotated, Any, Final, Literal, Self

from pydantic import Field, model_validator

from seedbank.common.answers import AnswerModel
from seedbank.common.dates import in_order, not_to_come
from seedbank.common.errors import Misfit, Refused
from seedbank.common.forms import (
    Celsius,
    Day,
    Flag,
    Form,
    Line,
    Name,
    Notes,
    Percent,
    Real,
    Remark,
    RoughDay,
    RowId,
    SomeSeeds,
)
from seedbank.germination.forms import SetSeeds
from seedbank.germination.tables import Counted, Pretreatment, Substratum, TestFault
from seedbank.kinds.tables import Breeding, Slug
from seedbank.lots.answers import LotAnswer
from seedbank.lots.days import check_packet
from seedbank.lots.tables.lots import (
    Generation,
    Isolation,
    Lot,
    LotFields,
    Origin,
    Purity,
    SeedForm,
    Weight,
    WeightError,
    Year,
)
from seedbank.lots.tables.places import Humidity, Moisture

FORMAT: Final = "seedbank-lot-passport"
VERSION: Final = 2
_SINCE_2: Final = frozenset(
    {"sow_by", "packed_on", "packed_for", "printed_germination_pct", "printed_test_on", "seed_form"}
)

Age = Annotated[Real, Field(ge=0, le=400)]
Digest = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
Code = Annotated[str, Field(pattern=r"^[0-9A-Z]{3,12}$")]


class PassportVariety(Form):
    """What the seed is."""

    name: Name = Field(description="Name of the variety.", examples=["Purple Lantern"])
    kind: Slug = Field(description="Slug of its kind.", examples=["carrot"])
    kind_name: Name = Field(description="Name of its kind.", examples=["carrot"])
    botanical: Line = Field(
        default="", description="Botanical name; empty: not known.", examples=["Daucus carota"]
    )
    breeding: Breeding = Field(description="How it was bred.", examples=["open-pollinated"])


class PassportPlace(Form):
    """Conditions the seed was kept in; what isn't known is null."""

    name: Name = Field(description="The giver's name for it.", examples=["shed shelf"])
    temp_winter_c: Celsius | None = Field(description="In midwinter, °C.", examples=[4.0])
    temp_summer_c: Celsius | None = Field(description="At midsummer, °C.", examples=[22.0])
    rh_winter_pct: Humidity | None = Field(description="Of the air, midwinter, %.", examples=[70.0])
    rh_summer_pct: Humidity | None = Field(description="Of the air, midsummer, %.", examples=[55.0])
    seed_moisture_pct: Moisture | None = Field(
        description="Moisture of sealed seed, % of fresh weight.", examples=[None]
    )
    sealed: Flag = Field(description="Kept sealed.", examples=[False])


class PassportStay(Form):
    """The seed in one place, until its next stay or until it was given."""

    from_date: Day = Field(description="Day it was put there.", examples=["2025-11-02"])
    place: PassportPlace = Field(description="Where.")
    sealed_anew: Flag = Field(
        default=False,
        description="It was sealed anew, or its seed dried again, that day; left out: no.",
        examples=[True],
        exclude_if=lambda anew: not anew,  # passports without are as they were before
    )


class PassportCount(Form):
    """Seeds of one replicate judged, and taken out, on one day."""

    on_date: Day = Field(description="Day of the count.", examples=["2026-02-15"])
    normal: Counted = Field(description="Normal seedlings.", examples=[19])
    abnormal: Counted = Field(description="Abnormal seedlings.", examples=[1])
    hard: Counted = Field(description="Hard seeds.", examples=[0])
    fresh: Counted = Field(description="Fresh seeds.", examples=[2])
    dead: Counted = Field(description="Dead seeds.", examples=[3])


class PassportReplicate(Form):
    """A replicate, every seed of it judged."""

    seeds_set: SetSeeds = Field(description="Seeds set.", examples=[25])
    counts: list[PassportCount] = Field(
        min_length=1, max_length=100, description="Counts by day, as they stand."
    )


class PassportTest(Form):
    """A finished germination test."""

    started_on: Day = Field(description="Day the seed was set.", examples=["2026-02-01"])
    finished_on: Day = Field(description="Day of the last count.", examples=["2026-02-15"])
    substratum: Substratum = Field(description="What it lay on or in.", examples=["paper-towel"])
    pretreatment: Pretreatment = Field(description="Against dormancy.", examples=["none"])
    temp_c: Celsius | None = Field(description="Temperature, °C.", examples=[21.0])
    in_light: Flag | None = Field(description="In light, or in the dark.", examples=[False])
    fault: TestFault | None = Field(
        default=None,
        description="What went wrong with it; left out: nothing.",
        examples=["mould"],
        exclude_if=lambda fault: fault is None,  # passports without are as they were before
    )
    replicates: list[PassportReplicate] = Field(
        min_length=1, max_length=100, description="Its replicates."
    )


class PassportAncestor(Form):
    """A lot this one descends from, and through which."""

    code: Code = Field(description="The giver's code of it.", examples=["4K7PM"])
    child: Code = Field(description="The lot that came of it.", examples=["6X3K8"])
    variety: Name = Field(description="Name of its variety.", examples=["Purple Lantern"])
    kind: Slug = Field(description="Slug of its kind.", examples=["carrot"])
    harvest_year: Year | None = Field(description="Year of its harvest.", examples=[2020])
    isolation: Isolation = Field(description="What isolated its parents.", examples=["cage"])


class PassportCaution(Form):
    """What to beware of, as the giver's program told it."""

    text: Notes = Field(description="The caution.", examples=["Wear gloves, wash hands."])
    who_decides: Line = Field(description="Whom to ask; may be empty.", examples=[""])
    source: Remark = Field(description="Where it is from.", examples=["US 21 CFR 2.25"])
    confidence: Literal["read", "memory", "computed", "own"] = Field(
        description="How far the source was checked.", examples=["read"]
    )


class Passport(Form):
    """One gift of seed of one lot, with everything known that tells how good it is.

    ``digest`` is the SHA-256 of all the rest (see the guide): it tells one passport from another
    and that none was changed on the way, not who wrote it.
    """

    format: Literal["seedbank-lot-passport"] = Field(description="What it is.", examples=[FORMAT])
    version: Literal[1, 2] = Field(description="Of the format.", examples=[VERSION])
    digest: Digest = Field(description="SHA-256 of the rest.", examples=["0" * 64])
    keeper: Line = Field(
        default="", description="Who gives it, if that may be told.", examples=["garden no. 9"]
    )
    given_on: Day = Field(description="Day it left the giver's store.", examples=["2026-11-02"])
    given_seeds: SomeSeeds | None = Field(
        description="Seeds given, as they are sown; null: some, not counted.", examples=[50]
    )
    given_seeds_se: Annotated[Real, Field(ge=0, le=10_000_000)] = Field(
        default=0.0, description="Standard error of that number.", examples=[0.0]
    )
    code: Code = Field(description="The giver's code of the lot.", examples=["6X3K8"])
    variety: PassportVariety = Field(description="What it is.")
    origin: Origin = Field(description="How it came to the giver.", examples=["self-saved"])
    harvest_year: Year | None = Field(description="Year of harvest.", examples=[2023])
    harvest_date: Day | None = Field(description="Day of harvest.", examples=["2023-09-10"])
    harvest_estimated: Flag = Field(description="The harvest is a guess.", examples=[False])
    age_years_least: Age | None = Field(
        description="Least age when given, years; null: nothing is known.", examples=[3.15]
    )
    age_years_greatest: Age | None = Field(description="Greatest age, years.", examples=[3.15])
    acquired_on: Day | None = Field(description="Day the giver got it.", examples=["2023-10-01"])
    first_seen_on: Day = Field(
        description="First day it is on record as seed.", examples=["2023-10-01"]
    )
    generation: Generation | None = Field(
        description="Generations the giver saved it.", examples=[3]
    )
    seed_parents: SomeSeeds | None = Field(
        description="Plants the seed was taken from.", examples=[24]
    )
    isolation: Isolation = Field(description="What isolated them.", examples=["cage"])
    purity: Purity = Field(description="Whether it can have crossed.", examples=["isolated"])
    purity_note: Remark = Field(description="Why.", examples=["Isolated by a cage."])
    treated: Flag = Field(description="It carries a chemical treatment.", examples=[False])
    sow_by: Day | None = Field(
        default=None, description="Day its packet says to sow it by.", examples=["2026-12-31"]
    )
    packed_on: RoughDay | None = Field(
        default=None, description="Day, month or year it was packed.", examples=["2023-11"]
    )
    packed_for: Year | None = Field(
        default=None, description="Year of the season it was packed for.", examples=[2024]
    )
    printed_germination_pct: Percent | None = Field(
        default=None, description="Germination printed on its packet, %.", examples=[88]
    )
    printed_test_on: RoughDay | None = Field(
        default=None, description="Day, month or year of that test.", examples=["2023-10"]
    )
    seed_form: SeedForm | None = Field(
        default=None, description="Raw, pelleted or primed.", examples=["raw"]
    )
    thousand_seed_weight_g: Weight | None = Field(description="As measured, g.", examples=[1.35])
    thousand_seed_weight_se_g: WeightError | None = Field(
        description="Standard error of it, g.", examples=[0.05]
    )
    stays: list[PassportStay] = Field(max_length=200, description="Where it was kept, in order.")
    tests: list[PassportTest] = Field(max_length=200, description="Finished tests, in order.")
    ancestors: list[PassportAncestor] = Field(max_length=200, description="Its pedigree.")
    cautions: list[PassportCaution] = Field(max_length=100, description="What to beware of.")

    @model_validator(mode="after")
    def _agrees(self) -> Self:
        later = any(getattr(self, name) is not None for name in _SINCE_2)
        later |= any(test.fault for test in self.tests)
        if self.version == 1 and (later or any(stay.sealed_anew for stay in self.stays)):
            raise Misfit("passport-before-packets")
        if self.thousand_seed_weight_se_g is not None and self.thousand_seed_weight_g is None:
            raise Misfit("weight-error-without-weight")
        if self.harvest_date and self.harvest_year not in (None, self.harvest_date.year):
            raise Misfit("harvest-years-differ")
        return self


class PassportArrival(Form):
    """A passport that came with seed, and what became of the seed here."""

    passport: Passport = Field(description="As it came, unchanged.")
    received_on: Day | None = Field(
        default=None, description="Day it came here; today if left out.", examples=["2026-11-05"]
    )
    place_id: RowId | None = Field(
        default=None,
        description="Number of the place it is put in; left out: not put away yet.",
        examples=[1],
    )


class PassportTakenIn(AnswerModel):
    """The lot made from a passport."""

    lot: LotAnswer
    already: bool = Field(
        description="this very passport was taken in before, and nothing was booked again",
        examples=[False],
    )
    tests: int = Field(description="tests that came with it", examples=[2])
    stays: int = Field(description="stays that came with it", examples=[3])
    said: list[str] = Field(
        description="what to know about it",
        examples=[["Put it away: until a place is given, its store counts as not known."]],
    )


_NONE = "0" * 64


def digest_of(passport: Passport) -> str:
    """SHA-256, in hexadecimal, of the passport without its digest.

    Over its JSON in UTF-8 with the names of each object in order and no blanks; of version 1
    without what came with version 2.
    """
    later = _SINCE_2 if passport.version == 1 else frozenset()
    text = json.dumps(
        passport.model_dump(mode="json", exclude={"digest", *later}),
        ensure_ascii=False,
        sort_keys=True,
        separators=(",", ":"),
    )
    return hashlib.sha256(text.encode()).hexdigest()


def sealed(parts: dict[str, Any]) -> Passport:
    """A passport of these parts, with its digest. Raises ValidationError: one can't be told."""
    passport = Passport.model_validate(parts | {"digest": _NONE})
    return passport.model_copy(update={"digest": digest_of(passport)})


_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def passport_schema(version: int) -> dict[str, Any]:
    """The schema (draft 2020-12) that every passport of a version meets."""
    schema = Passport.model_json_schema()
    properties, parts = schema["properties"], schema["$defs"]
    told = properties["version"]
    del told["enum"]
    told |= {"const": version, "examples": [version]}
    if version == 1:
        for name in _SINCE_2:
            del properties[name]
        del parts[SeedForm.__name__], parts[TestFault.__name__]
        del parts[PassportTest.__name__]["properties"]["fault"]
        del parts[PassportStay.__name__]["properties"]["sealed_anew"]
    return {"$schema": _DIALECT, "$id": schema_file(version), **schema}


def schema_file(version: int) -> str:
    """The name of the file that a version's schema is kept in."""
    return f"lot-passport-{version}.schema.json"


def write_schemas(folder: Path) -> None:
    """Write the schemas as they are kept in ``api_docs``."""
    for version in range(1, VERSION + 1):
        text = json.dumps(passport_schema(version), indent=2, ensure_ascii=False)
        (folder / schema_file(version)).write_text(text + "\n", "utf-8")


def check_passport(arrival: PassportArrival, *, today: date) -> None:
    """Raises Refused: the field that can't be true, named from the passport down."""
    passport, at = arrival.passport, "passport."
    if passport.digest != digest_of(passport):
        raise Refused("passport-changed", f"{at}digest", passport.digest)
    not_to_come(passport.given_on, field=f"{at}given_on", today=today)
    received = arrival.received_on or today
    not_to_come(received, field="received_on", today=today)
    in_order(
        passport.given_on,
        received,
        "received-before-given",
        field="received_on",
    )
    _check_harvest(passport, f"{at}harvest_date")
    _check_packet(passport)
    for before, after, field in _in_order(passport):
        in_order(before, after, "passport-days-disordered", field=at + field)
    for number, test in enumerate(passport.tests):
        _check_test(passport, test, f"{at}tests[{number}]")


def _check_harvest(passport: Passport, field: str) -> None:
    in_order(
        passport.harvest_date,
        passport.given_on,
        "passport-days-disordered",
        field=f"{field}",
    )
    year = passport.harvest_year
    if year is not None and year > passport.given_on.year:
        raise Refused("harvested-after-given", "passport.harvest_year", year)


def _check_packet(passport: Passport) -> None:
    told = passport.model_dump(include=set(LotFields.model_fields))
    try:
        check_packet(Lot(**told, code=passport.code), passport.given_on)
    except Refused as fault:
        fault.field = f"passport.{fault.field}"
        raise


def _in_order(passport: Passport) -> Iterator[tuple[date | None, date | None, str]]:
    """Pairs of days that must follow one another, each with the field of the later."""
    given = passport.given_on
    yield passport.acquired_on, given, "acquired_on"
    yield passport.first_seen_on, given, "first_seen_on"
    for number, (stay, after) in enumerate(pairwise(passport.stays)):
        yield stay.from_date, after.from_date, f"stays[{number + 1}].from_date"
    for number, stay in enumerate(passport.stays):
        yield passport.first_seen_on, stay.from_date, f"stays[{number}].from_date"
        yield stay.from_date, given, f"stays[{number}].from_date"
    for number, test in enumerate(passport.tests):
        yield passport.first_seen_on, test.started_on, f"tests[{number}].started_on"
        yield test.started_on, test.finished_on, f"tests[{number}].finished_on"
        yield test.finished_on, given, f"tests[{number}].finished_on"


def _check_test(passport: Passport, test: PassportTest, at: str) -> None:
    if not passport.harvest_estimated:
        year = passport.harvest_year
        first = passport.harvest_date or (date(year, 1, 1) if year else None)
        in_order(first, test.started_on, "tested-before-harvest", field=f"{at}.started_on")
    for number, replicate in enumerate(test.replicates):
        where = f"{at}.replicates[{number}]"
        days = [count.on_date for count in replicate.counts]
        judged = 0
        for row, count in enumerate(replicate.counts):
            field = f"{where}.counts[{row}].on_date"
            in_order(test.started_on, count.on_date, "passport-days-disordered", field=field)
            in_order(count.on_date, test.finished_on, "passport-days-disordered", field=field)
            if days.count(count.on_date) > 1:
                raise Refused("day-counted-twice", field, count.on_date.isoformat())
            judged += sum(count.model_dump(exclude={"on_date"}).values())
        if judged != replicate.seeds_set:
            field, seeds_set = f"{where}.seeds_set", replicate.seeds_set
            raise Refused("passport-judged-not-as-set", field, seeds_set, judged=judged)


if __name__ == "__main__":
    write_schemas(Path(sys.argv[1]))
