"""Commands that measure a cooker: cooker-test from a log, litre-test from two readings."""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from datetime import date, time
from pathlib import Path
from typing import Annotated
from zoneinfo import ZoneInfo

import typer
from rich.table import Table

from events.errors import NOT_UTF8, FaultyEvent, NotFound
from events.model import Cooker, Event
from events.reading.cooker_log import gaps, read_log
from service.application.event_analyses import fit, litre_test, water_test
from service.cli.event_argument import event_named
from service.cli.output import out
from solver.thermal.water_test import WaterTest

EventOpt = Annotated[str, typer.Option("--event", help="An event file or sample: the place.")]
CookerOpt = Annotated[str, typer.Option("--cooker", help="A cooker's id in that event.")]


def _cooker(event: Event, name: str) -> Cooker:
    for cooker in event.cookers:
        if cooker.id == name:
            return cooker
    known = ", ".join(c.id for c in event.cookers)
    raise NotFound(f"No cooker “{name}” in this event. There are: {known}.")


def cooker_test(
    log: Annotated[Path, typer.Argument(help="CSV: time,water_c,air_c,wind_m_s,sun_w_m2")],
    event: EventOpt,
    cooker: CookerOpt,
    litres: Annotated[float, typer.Option(min=0.2, max=50, help="Water in the pot.")],
    day: Annotated[str, typer.Option(help="Date of the log, where it has times only.")] = "",
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON document.")] = False,
) -> None:
    """Work out the standard water test of a log, and an entry for the event file."""
    where = event_named(event)
    zone, tested = where.zone, _cooker(where, cooker)
    try:
        text = log.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise FaultyEvent(str(log), [NOT_UTF8]) from None
    on = date.fromisoformat(day) if day else None
    rows = read_log(text, source=str(log), zone=zone, day=on)
    area = tested.aperture_m2
    if area is None:
        raise NotFound(f"{tested.name} has no opening to the sun: the test is for sun cookers.")
    test = water_test(rows, where, aperture_m2=area, water_kg=litres, source=str(log))
    efficiency, loss, rms = fit(rows, where, tested, litres=litres)
    if as_json:
        fitted = {"optical_efficiency": efficiency, "loss_factor": loss, "rms_c": rms}
        sys.stdout.write(json.dumps(asdict(test) | {"fit": fitted}, default=str, indent=1) + "\n")
        return
    _print(test, zone)
    for start, end in gaps(rows):
        out.print(f"! gap from {start.astimezone(zone):%H:%M} to {end.astimezone(zone):%H:%M}")
    out.print(
        f"A fit of the whole log: {efficiency:.3f} of the light becomes heat, losses "
        f"{loss:.2f} times those assumed, {rms:.1f} °C off on average."
    )
    out.print("\nFor the event file:\n", highlight=False)
    print(
        f'[[cooker]]\nid = "{tested.id}"\nlike = "{tested.like or ""}"\n'
        f"aperture_m2 = {area:g}\nline_intercept_w = {test.intercept_w:.1f}\n"
        f"line_slope_w_k = {test.slope_w_k:.3f}\nline_sun_w_m2 = {test.sun_w_m2:.0f}\n"
        f"line_litres = {litres:g}\nline_air_c = {test.air_c:.0f}"
        + ("" if test.wind_m_s is None else f"\nline_wind_m_s = {test.wind_m_s:.1f}")
    )


def _print(test: WaterTest, zone: ZoneInfo) -> None:
    table = Table(title="Intervals of ten minutes", title_justify="left")
    for head in ("At", "Above air", "Sun W/m²", "P W", "P_s W", "Breaks"):
        table.add_column(head)
    for i in test.intervals:
        table.add_row(
            f"{i.at.astimezone(zone):%H:%M}" + ("" if i.used else " (out)"),
            f"{i.above_c:.1f}",
            f"{i.sun_w_m2:.0f}",
            f"{i.power_w:.0f}",
            f"{i.standard_w:.0f}",
            "; ".join(i.broken) or "-",
        )
    out.print(table)
    out.print(
        f"P_s = {test.intercept_w:.1f} {test.slope_w_k:+.3f} · T_d  (r² {test.r2:.3f}); "
        f"P_s(50) = {test.at_50_w:.1f} W",
        highlight=False,
    )
    for remark in test.remarks:
        out.print(f"! {remark}", highlight=False)


def one_litre(
    event: EventOpt,
    cooker: CookerOpt,
    at: Annotated[str, typer.Option(help="When the first reading was taken: HH:MM.")],
    minutes: Annotated[int, typer.Option(min=5, max=240)],
    from_c: Annotated[float, typer.Option(help="Water at the start, °C.")],
    to_c: Annotated[float, typer.Option(help="Water at the end, °C.")],
    day: Annotated[str, typer.Option(help="YYYY-MM-DD; the event's date if not given.")] = "",
    litres: Annotated[float, typer.Option(min=0.2, max=20)] = 1.0,
    air_c: Annotated[float, typer.Option(min=-20, max=50)] = 25.0,
    cloud_pct: Annotated[float, typer.Option(min=0, max=100, help="The sky as seen.")] = 0.0,
) -> None:
    """Work out a cooker's strength from two readings of some water."""
    where = event_named(event)
    tested = _cooker(where, cooker)
    try:
        began, on = time.fromisoformat(at), date.fromisoformat(day) if day else where.date
    except ValueError as error:
        raise typer.BadParameter(str(error)) from None
    result = litre_test(
        where,
        tested,
        day=on,
        at=began,
        minutes=minutes,
        from_c=from_c,
        to_c=to_c,
        litres=litres,
        air_c=air_c,
        cloud_pct=cloud_pct,
    )
    band = round(100 * result.band_fraction)
    out.print(
        f"{tested.name}: {result.factor:.2f} times as strong as assumed, ±{band} %. "
        f"{result.power_w:.0f} W went into the water in {result.sun_w_m2:.0f} W/m² of sun.",
        highlight=False,
    )
    print(
        f"optical_efficiency = {result.optical_efficiency:.3f}\n"
        f"strength_band_fraction = {result.band_fraction:.2f}\n"
        'provenance = { optical_efficiency = "measured", strength_band_fraction = "measured" }'
    )
    if tested.measured is not None:
        out.print("! Take out its line_, empty_ and heat_ keys: they go before these figures.")
