"""Commands that plan: sun windows, the plan, the run sheet and all paper, the year."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.markup import escape
from rich.progress import BarColumn, Progress, TextColumn
from rich.table import Table

from events.identity import slug
from events.model import Event
from service.application.event_analyses import make_plan, season, sun_windows
from service.cli.event_argument import EventArg, event_named
from service.cli.output import AsJson, OutFile, at_work, err, out, write, write_json
from service.clock import system_clock
from service.text import contest as contest_words
from service.text import formatting, messages, notices, turn_orders
from service.text import rota as rota_words
from service.text import season as season_words
from service.text import talks as talk_words
from service.text.run_sheet import RunSheetItem, run_sheet_items
from service.text.sun import site_sun
from service.text.warnings import warning_lines
from solver.contest_plan import ContestPlan
from solver.feasibility.season import Season
from solver.plan import EVERYBODY, Plan
from solver.programme import RotaPlan

NOT_ALL_PLACED = 3  # exit status


def show_window(name: EventArg, as_json: AsJson = False, file: OutFile = None) -> None:
    """Show when the site and each cooker have usable sun."""
    event = event_named(name)
    windows = sun_windows(event)
    if as_json:
        write_json([w.model_dump(mode="json") for w in windows], file)
        return
    table = Table(
        title=f"{escape(event.title)}, {formatting.long_date(event.date)}", title_justify="left"
    )
    table.add_column("Where")
    table.add_column("Usable sun")
    for w in windows:
        where = escape(event.cooker(w.cooker_id).name) if w.cooker_id else "The site"
        table.add_row(where, formatting.stretches(event, w.stretches))
    out.print(table)


def show_plan(name: EventArg, as_json: AsJson = False, file: OutFile = None) -> None:
    """Plan the day: what goes where and when, checked before it is shown."""
    event = event_named(name)
    plan = at_work("Planning", lambda: make_plan(event))
    if as_json or file is not None:
        write(plan.model_dump_json(indent=1), file)
    if not as_json:
        _print_plan(event, plan)
    no_rota = plan.rota is not None and not plan.rota.visits
    if plan.unplaced or no_rota or (plan.contest is not None and plan.contest.not_tasted):
        raise typer.Exit(NOT_ALL_PLACED)


def sheet(
    name: EventArg,
    file: OutFile = None,
    pdf_file: Annotated[Path | None, typer.Option("--pdf", help="All paper, as a PDF.")] = None,
    letter: Annotated[bool, typer.Option("--letter", help="US letter instead of A4.")] = False,
    part: Annotated[
        list[str] | None, typer.Option(help="Only this part of the paper; may be repeated.")
    ] = None,
    pages: Annotated[
        Path | None, typer.Option(help="A folder for pages that need no network, calendars, CSV.")
    ] = None,
    base_url: Annotated[str, typer.Option(help="Address for the cards' codes.")] = "",
) -> None:
    """Print the run sheet in time order, or write all the paper."""
    # Slow to import, and planning needs none of it.
    from service.paper.content import PARTS
    from service.paper.pdf import Paper, pdf
    from service.paper.standalone_pages import write_pages

    event = event_named(name)
    plan = at_work("Planning", lambda: make_plan(event))
    if pdf_file is not None:
        size: Paper = "us-letter" if letter else "a4"
        if unknown := [name for name in part or () if name not in PARTS]:
            raise typer.BadParameter(f"no part {unknown[0]!r}: {', '.join(PARTS)}")
        parts = [name for name in PARTS if not part or name in part]
        pdf_file.write_bytes(pdf(event, plan, paper=size, parts=parts, base_url=base_url))
        err.print(f"{pdf_file} written", highlight=False)
    if pages is not None:
        written = write_pages(event, plan, pages, name=slug(event), made_at=system_clock())
        err.print(f"{len(written)} files written to {pages}", highlight=False)
    if pdf_file is None and pages is None:
        write(_text_sheet(event, plan), file)
    if plan.unplaced:
        raise typer.Exit(NOT_ALL_PLACED)


def show_season(
    name: EventArg,
    year: Annotated[int, typer.Option(min=0, max=2150, help="0: the event's.")] = 0,
    as_json: AsJson = False,
) -> None:
    """Show by what hour the sun has each dish ready, week by week on a clear day."""
    event = event_named(name)
    with Progress(TextColumn("The year"), BarColumn(), console=err, transient=True) as bar:
        task = bar.add_task("", total=1.0)
        weeks = season(
            event, year or event.date.year, report_progress=lambda f: bar.update(task, completed=f)
        )
    if as_json:
        write(weeks.model_dump_json(indent=1))
    else:
        _print_season(event, weeks)


def _print_plan(event: Event, plan: Plan) -> None:
    out.print(_plan_table(event, plan))
    out.print(f"{len(plan.turns)} turns on {len(plan.walks)} walks; {len(plan.jobs)} jobs.")
    for level in plan.levels:
        sure = "proven" if level.proven else f"best possible {level.bound}, not proven"
        out.print(f"  {notices.LEVEL[level.key]}: {level.value} ({sure})")
    for g in plan.talks.given if plan.talks else ():
        line = f"{formatting.clock(event, g.at)} {event.talk(g.talk_id).name}"
        out.print(escape(f"{line}. {talk_words.shown(event, g)}"), highlight=False)
    for n in plan.talks.not_given if plan.talks else ():
        out.print(f"[bold]{escape(talk_words.not_given(event, n))}[/bold]")
    if plan.rota is not None:
        _print_rota(event, plan, plan.rota)
    if plan.contest is not None:
        _print_contest(event, plan.contest)
    for u in plan.unplaced:
        out.print(f"[bold]Not placed: {escape(event.dish(u.dish_id).name)}[/bold]")
        for where, why in notices.refusals(event, u):
            out.print(f"  {escape(where)}: {escape(why)}")
    warnings = warning_lines(event, plan.warnings)
    for warning in (*warnings, messages.PROBE, messages.LOCAL):
        out.print(f"! {escape(warning)}", highlight=False)


def _plan_table(event: Event, plan: Plan) -> Table:
    sun = site_sun(event, plan.windows[0].stretches)
    title = f"{escape(event.title)}, {formatting.long_date(event.date)}. {sun}"
    table = Table(title=title, title_justify="left")
    for head in ("Dish", "Cooker", "Load", "Done", "Poor sky", "Lift", "Serve", "To spare"):
        table.add_column(head)
    for p in plan.placements:
        table.add_row(
            escape(event.dish(p.dish_id).name + formatting.part(p)),
            escape(event.cooker(p.cooker_id).name),
            *(formatting.clock(event, t) for t in (p.loaded_at, p.done_at)),
            formatting.clock(event, p.cautious_at) if p.cautious_at else "not in time",
            formatting.lift_time(event, p, after="\n"),  # 80 columns are few
            formatting.clock(event, p.served_at),
            f"{p.margin_min} min",
        )
    return table


def _print_rota(event: Event, plan: Plan, rota: RotaPlan) -> None:
    table = Table(title="Rota", title_justify="left")
    for head in ("Group", "From", "Until", "Where", "To see"):
        table.add_column(head)
    for group in event.groups:
        for n, line in enumerate(rota_words.round_of(event, plan, group.id)):
            hours = (formatting.clock(event, t) for t in (line.at, line.ends_at))
            name = "" if n else escape(group.name)
            table.add_row(name, *hours, escape(line.title), escape("; ".join(line.sees)))
    refused = rota_words.refused(rota)
    out.print(f"[bold]{refused}[/bold]" if refused else table)
    for text in rota_words.level_lines(event, rota):
        out.print(f"  {text}")


def _print_contest(event: Event, contest: ContestPlan) -> None:
    table = Table(title="Tastings", title_justify="left")
    for head in ("Tasted", "Entry", "Place", "Cooker", "Load", "Ready", "Sure", "Waits"):
        table.add_column(head)
    stations = {p.entry_id: p.station_id for p in contest.draw.places} if contest.draw else {}
    for t in contest.tastings:
        table.add_row(
            formatting.clock(event, t.at),
            escape(event.entry(t.entry_id).name),
            escape(event.station(stations[t.entry_id]).name),
            escape(event.contest_cooker(t.cooker_id).name),
            *(formatting.clock(event, at) for at in (t.loaded_at, t.ready_at)),
            f"{t.of_100} of 100",
            f"{t.held_min} min",
        )
    out.print(table)
    for n in contest.not_tasted:
        name = escape(event.entry(n.entry_id).name)
        out.print(f"[bold]No tasting: {name}[/bold] {contest_words.not_tasted(n)}")
    if contest.draw is None:
        out.print("Places are not drawn yet: give [contest] a seed.", markup=False)
    out.print(contest_words.sun_line(event, contest))
    for text in contest_words.level_lines(contest):
        out.print(f"  {text}")


def _print_season(event: Event, season: Season) -> None:
    table = Table(title=f"{escape(event.title)}: ready by, clear sky", title_justify="left")
    table.add_column("Week of")
    for dish in event.dishes:
        table.add_column(escape(dish.name))
    table.add_column("Sunny, of 100 hours")
    table.add_column("All in time, of 100 days")
    for week in season.weeks:
        hours = [week.ready_by[d.id] for d in event.dishes]
        cells = [f"{int(h):02d}:{int(h % 1 * 60):02d}" if h is not None else "no" for h in hours]
        cells += [str(week.sunlit_pct), str(week.all_of_100)]
        table.add_row(week.monday.isoformat(), *cells)
    out.print(table)
    out.print(season_words.source(season), markup=False)


def _text_sheet(event: Event, plan: Plan) -> str:
    lines = [
        f"{event.title}, {formatting.long_date(event.date)}",
        f"Plan {plan.event_id}. {site_sun(event, plan.windows[0].stretches)}.",
        messages.CARD_READ,
        "",
    ]
    for item in run_sheet_items(event, plan):
        lines += _item_lines(event, item)
    for u in plan.unplaced:
        why = " ".join(f"{where}: {why}" for where, why in notices.refusals(event, u))
        lines.append(f"Not placed: {event.dish(u.dish_id).name}. {why}")
    warnings = warning_lines(event, plan.warnings)
    lines += ["", *warnings]
    lines += [messages.PROBE, messages.CHILDREN, messages.BURNS, messages.LOCAL]
    if event.site.emergency:
        lines.append(f"Help: {event.site.emergency}")
    return "\n".join(lines)


def _item_lines(event: Event, item: RunSheetItem) -> list[str]:
    """Return a line to tick, and one for its caution."""
    everybody = item.kind in EVERYBODY
    who = "all" if everybody else ", ".join(event.helper(h).name for h in item.helper_ids)
    parts = [item.title + (f" {item.food}" if item.food else "")]
    if item.kind == "walk":
        parts += turn_orders.turn_lines(event, item.turns)
    else:
        parts += [text for text in (item.how, item.second) if text]
    reading = f"  [____ {'°F' if event.units == 'us' else '°C'}]" if item.reading else ""
    at = formatting.clock(event, item.at)
    line = f"[ ] {at}  {who:<14}  {'. '.join(parts)}{reading}"
    return [line, f"{'':28}! {item.caution}"] if item.caution else [line]
