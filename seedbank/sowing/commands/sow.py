"""``seedbank sow``: how thickly to sow a lot for the plants wanted."""

from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import bar
from seedbank.science.quantities import USUAL_CONFIDENCE
from seedbank.sowing.advise_sowing import advise_lot
from seedbank.sowing.commands.advice_on_screen import show
from seedbank.sowing.forms import SowingAsk
from seedbank.sowing.tables import Protection, SowingMethod
from seedbank.upkeep.command_session import opened

LotArgument = Annotated[str, typer.Argument(help="Code of the lot to sow.")]
PlantsOption = Annotated[int | None, typer.Option(help="Plants wanted; or what the variety is.")]
ConfidenceOption = Annotated[float, typer.Option(help="How sure to be of them, 0.5 to 0.99.")]
MethodOption = Annotated[SowingMethod | None, typer.Option(help="Left out: as is usual.")]
ProtectionOption = Annotated[Protection | None, typer.Option(help="Left out: open ground.")]
SoilOption = Annotated[float | None, typer.Option(help="Soil at sowing depth, °C.")]
DayOption = Annotated[str | None, typer.Option(help="Day of sowing; left out: today.")]
SpacingOption = Annotated[float | None, typer.Option(help="Final distance in the row, cm.")]
RowOption = Annotated[float | None, typer.Option(help="Row there is at most, m.")]
StationsOption = Annotated[int | None, typer.Option(help="Stations there are at most.")]
CellsOption = Annotated[int | None, typer.Option(help="Module cells there are at most.")]
ReserveOption = Annotated[bool, typer.Option("--use-reserve", help="Sow a rare one's reserve.")]


def run(
    lot: LotArgument,
    plants: PlantsOption = None,
    confidence: ConfidenceOption = USUAL_CONFIDENCE,
    method: MethodOption = None,
    protection: ProtectionOption = None,
    soil_temp_c: SoilOption = None,
    sow_on: DayOption = None,
    spacing_cm: SpacingOption = None,
    row_m: RowOption = None,
    stations: StationsOption = None,
    cells: CellsOption = None,
    use_reserve: ReserveOption = False,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Ask how thickly to sow a lot for the plants wanted."""
    ask = SowingAsk(
        plants=plants,
        confidence=confidence,
        method=method,
        protection=protection,
        soil_temp_c=soil_temp_c,
        sow_on=sow_on,
        spacing_cm=spacing_cm,
        row_m=row_m,
        stations=stations,
        cells=cells,
        use_reserve=use_reserve,
    )
    with opened(settings_for(database)) as collection, bar("Weighing it up"):
        answer = advise_lot(collection.session, lot, ask, today=collection.today)
    if json:
        print(answer.model_dump_json(indent=2))
    else:
        show(answer)
