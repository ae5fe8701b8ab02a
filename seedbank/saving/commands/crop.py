"""``seedbank crop begin``, ``sow``, ``harvest``: a seed crop from its lot to the lot it gives.

A crop is named by its number, or by the code of the lot whose only open crop it is.
"""

from functools import partial
from typing import Annotated, Any

import typer
from sqlmodel import Session

from seedbank.cli.answer_lists import JsonLinesOption, every_page, known, print_json, print_table
from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import Given, fill_form, options_of
from seedbank.cli.screen import bullets, heading, name_of, screen, show_sources, words
from seedbank.lots.edit_places import place_called
from seedbank.lots.named_by_lot import number_meant
from seedbank.saving.answers import SeedCropAnswer, Stage
from seedbank.saving.check_crossing import check_seed_crop
from seedbank.saving.edit_sites import site_called
from seedbank.saving.forms import (
    SeedCropChange,
    SeedCropCreate,
    SeedCropFail,
    SeedCropHarvest,
    SeedCropSow,
)
from seedbank.saving.grow_seed_crops import (
    change_seed_crop,
    delete_seed_crop,
    fail_seed_crop,
    harvest_seed_crop,
    sow_seed_crop,
    start_seed_crop,
)
from seedbank.saving.show_seed_crops import list_seed_crops, show_seed_crop
from seedbank.saving.tables import SeedCropFilter
from seedbank.upkeep.command_session import Opened, opened

LotArgument = Annotated[str, typer.Argument(help="Code of the lot to sow.", metavar="CODE")]
CropArgument = Annotated[
    str, typer.Argument(help="Code of the lot sown, or number of the seed crop.", metavar="CODE")
]
SiteOption = Annotated[
    str | None,
    typer.Option(help="Site it flowers on, by name or number; left out: the only one there is."),
]
PlaceOption = Annotated[
    str | None, typer.Option(help="Place the seed is put in, by name or number.")
]


@options_of(SeedCropCreate, leave_out=("lot", "variety_id", "site_id", "sow"))
def begin(
    lot: LotArgument,
    given: Given,
    site: SiteOption = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Begin a seed crop of a lot."""
    with opened(settings_for(database)) as collection:
        number = site_called(collection.session, site)
        form = SeedCropCreate.model_validate({"lot": lot, "site_id": number, **given})
        crop = start_seed_crop(collection.session, form, today=collection.today, now=collection.now)
    _show(crop, json)


@options_of(SeedCropSow, leave_out=("lot",))
def sow(
    crop: CropArgument, given: Given, database: DatabaseOption = None, json: JsonOption = False
) -> None:
    """Sow a seed crop; seeds given leave its lot as a sowing."""
    form = SeedCropSow.model_validate(given)
    with opened(settings_for(database)) as collection:
        session, today, now = collection.session, collection.today, collection.now
        sown = sow_seed_crop(session, crop_meant(session, crop), form, today=today, now=now)
    _show(sown, json)


@options_of(SeedCropChange, leave_out=("lot", "site_id"))
def change(
    crop: CropArgument, given: Given, database: DatabaseOption = None, json: JsonOption = False
) -> None:
    """Change what is known of a seed crop: parents started, rogued, kept, and the rest."""
    form = SeedCropChange.model_validate(given)
    with opened(settings_for(database)) as collection:
        found = _found(collection, crop)
        expected = [found.version]
        changed = change_seed_crop(collection.session, found.id, form, expected=expected)
    _show(changed, json)


@options_of(SeedCropHarvest, leave_out=("place_id",))
def harvest(
    crop: CropArgument,
    given: Given,
    place: PlaceOption = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Harvest a seed crop: its seed becomes a lot."""
    with opened(settings_for(database)) as collection:
        session, today, now = collection.session, collection.today, collection.now
        told: dict[str, Any] = dict(given)
        if place is not None:
            told["place_id"] = place_called(session, place)
        form = SeedCropHarvest.model_validate(told)
        number = crop_meant(session, crop)
        done = harvest_seed_crop(session, number, form, today=today, now=now)
    if json:
        print(done.model_dump_json(indent=2))
        return
    of = {"variety": name_of(done.lot.variety), "amount": done.lot.amount.text}
    screen().print(words("crop-harvested", crop=str(number), lot=done.lot.code, **of))
    bullets([done.lot.purity_note] if done.lot.purity_note else [])


def fail(
    crop: CropArgument,
    why: Annotated[str, typer.Option(help="What happened.")],
    failed_on: Annotated[str | None, typer.Option(help="The day; today if left out.")] = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Say that a seed crop gave no seed, and why."""
    form = SeedCropFail.model_validate({"why": why, "failed_on": failed_on})
    with opened(settings_for(database)) as collection:
        number = crop_meant(collection.session, crop)
        failed = fail_seed_crop(collection.session, number, form, today=collection.today)
    _show(failed, json)


@fill_form
def show_list(
    wanted: SeedCropFilter,
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """List seed crops by the year they flower."""
    with opened(settings_for(database)) as collection:
        session = collection.session
        found = list(every_page(lambda paging: list_seed_crops(session, wanted, paging)))
    if not print_json(found, json=json, json_lines=json_lines):
        columns = ("number", "variety", "lot", "site", "flowers", "stage", "result")
        print_table(columns, map(_row, found))


def show(crop: CropArgument, database: DatabaseOption = None, json: JsonOption = False) -> None:
    """Show a seed crop."""
    with opened(settings_for(database)) as collection:
        found = _found(collection, crop)
    _show(found, json)


def check(crop: CropArgument, database: DatabaseOption = None, json: JsonOption = False) -> None:
    """Tell what may cross with a seed crop, and what would mend it."""
    with opened(settings_for(database)) as collection:
        answer = check_seed_crop(collection.session, crop_meant(collection.session, crop))
    if json:
        print(answer.model_dump_json(indent=2))
        return
    screen().print(answer.purity_note.text)
    for one in answer.may_cross:
        heading(one.name)
        told = [part.text for part in (one.flowers, one.overlap) if part is not None]
        bullets([*told, *(mend.text for mend in one.mends)])
    bullets(one.text for one in answer.cautions)
    show_sources(answer.sources)


def undo(crop: CropArgument, database: DatabaseOption = None, json: JsonOption = False) -> None:
    """Take out a seed crop recorded by mistake; its sowing stays."""
    with opened(settings_for(database)) as collection:
        found = _found(collection, crop)
        delete_seed_crop(collection.session, found.id, expected=[found.version])
    if json:
        print(found.model_dump_json(indent=2))
    else:
        variety = name_of(found.variety)
        screen().print(words("crop-undone", crop=str(found.id), variety=variety))


def crop_meant(session: Session, typed: str) -> int:
    """The number of the seed crop named (``number_meant``)."""
    every = partial(list_seed_crops, session, SeedCropFilter())
    return number_meant(
        "crop",
        typed,
        lambda code: (one for one in every_page(every) if one.lot == code),
        lambda crop: crop.stage in (Stage.PLANNED, Stage.SOWN),
    )


def _found(collection: Opened, crop: str) -> SeedCropAnswer:
    return show_seed_crop(collection.session, crop_meant(collection.session, crop))


def _show(crop: SeedCropAnswer, json: bool) -> None:
    if json:
        print(crop.model_dump_json(indent=2))
        return
    screen().print(
        words(
            "crop-told",
            crop=str(crop.id),
            variety=name_of(crop.variety),
            lot=crop.lot or "none",
            site=crop.site.name,
            year=crop.flower_year,
            stage=crop.stage,
            sown_on=known(crop.sown_on),
            harvested_on=known(crop.harvested_on),
            failed_on=known(crop.failed_on),
            result=crop.result_lot or "none",
        )
    )
    bullets(one.text for one in crop.warnings)


def _row(crop: SeedCropAnswer) -> tuple[str, ...]:
    return (
        str(crop.id),
        name_of(crop.variety),
        crop.lot or "",
        crop.site.name,
        str(crop.flower_year),
        words("crop-stage", choice=crop.stage),
        crop.result_lot or "",
    )
