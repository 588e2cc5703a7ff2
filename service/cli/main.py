"""The command: noonfare window, plan, faults, sheet, schema, serve.

EVENT is a file, or the name of a sample. Exit status: 0 fine, 1 faults in the input, 2 usage,
3 not every dish could be placed.
"""

from __future__ import annotations

import json
import logging
import sqlite3
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path
from time import monotonic
from typing import Annotated, TypeVar

import typer
from pydantic import TypeAdapter
from rich.console import Console
from rich.markup import escape
from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn
from rich.table import Table

from events.errors import FaultyEvent, NoonfareError
from events.identity import slug
from events.model import Event
from events.reading.schema import event_schema
from service.cli.backup import backup, export, restore
from service.cli.calibration import cooker_test, one_litre
from service.cli.event_argument import event_named
from service.text import formatting, notices, turn_orders
from service.text import messages as words
from service.text.faults import fault_json, faults_text
from service.text.run_sheet import doings
from solver.feasibility.season import season
from solver.plan import EVERYBODY, Plan, Window
from solver.planning.pipeline import make_plan
from solver.solar.windows import windows

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    help="Plan a day of sun-heated cooking. EVENT is an event file or a sample's name.",
)
out = Console()
err = Console(stderr=True)
T = TypeVar("T")
PATIENCE_S = 1.0  # anything longer shows that it is at work

EventArg = Annotated[str, typer.Argument(metavar="EVENT", help="A file, or a sample's name.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]
OutFile = Annotated[Path | None, typer.Option("--out", help="Write to a file instead.")]


def _patiently(words: str, work: Callable[[], T]) -> T:
    """Run something; after a second, show on the error stream that it is at work."""
    began = monotonic()
    with ThreadPoolExecutor(1) as pool:
        future = pool.submit(work)
        with suppress(TimeoutError):
            return future.result(timeout=PATIENCE_S)
        columns = (SpinnerColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
        with Progress(*columns, console=err, transient=True) as bar:
            task = bar.add_task(words, total=None)
            while not future.done():
                with suppress(TimeoutError):
                    future.result(timeout=0.2)
                bar.update(task, description=f"{words} {monotonic() - began:.0f} s")
        return future.result()


def _write(text: str, file: Path | None) -> None:
    if file is None:
        sys.stdout.write(text + "\n")
    else:
        file.write_text(text + "\n", encoding="utf-8")


def _spans(event: Event, window: Window) -> str:
    return (
        ", ".join(
            f"{formatting.clock(event, s.starts_at)}–{formatting.clock(event, s.ends_at)}"
            for s in window.stretches
        )
        or "none on this day"
    )


app.command("cooker-test")(cooker_test)
app.command("litre-test")(one_litre)
for keeper in (backup, restore, export):
    app.command()(keeper)


@app.command("window")
def show_window(event: EventArg, as_json: AsJson = False, file: OutFile = None) -> None:
    """Show when the site and each cooker have usable sun."""
    read = event_named(event)
    found = windows(read)
    if as_json:
        _write(json.dumps([w.model_dump(mode="json") for w in found], indent=1), file)
        return
    table = Table(
        title=f"{escape(read.title)}, {formatting.long_date(read.date)}", title_justify="left"
    )
    table.add_column("Where")
    table.add_column("Usable sun")
    for w in found:
        table.add_row(
            escape(read.cooker(w.cooker_id).name) if w.cooker_id else "The site", _spans(read, w)
        )
    out.print(table)


@app.command("plan")
def show_plan(event: EventArg, as_json: AsJson = False, file: OutFile = None) -> None:
    """Plan the day: what goes where and when, checked before it is shown."""
    read = event_named(event)
    plan = _patiently("Planning", lambda: make_plan(read))
    if as_json or file is not None:
        _write(plan.model_dump_json(indent=1), file)
    if not as_json:
        _print_plan(read, plan)
    if plan.unplaced:
        raise typer.Exit(3)


def _print_plan(event: Event, plan: Plan) -> None:
    sun = _spans(event, plan.windows[0])
    title = f"{escape(event.title)}, {formatting.long_date(event.date)}. Sun {sun}"
    table = Table(title=title, title_justify="left")
    for head in ("Dish", "Cooker", "Load", "Done", "Poor sky", "Lift", "Serve", "To spare"):
        table.add_column(head)
    for p in plan.placements:
        table.add_row(
            escape(event.dish(p.dish_id).name + formatting.part(p)),
            escape(event.cooker(p.cooker_id).name),
            *(formatting.clock(event, t) for t in (p.loaded_at, p.done_at)),
            formatting.clock(event, p.cautious_at) if p.cautious_at else "not in time",
            *(formatting.clock(event, t) for t in (p.lifted_at, p.served_at)),
            f"{p.margin_min} min",
        )
    out.print(table)
    out.print(f"{len(plan.turns)} turns on {len(plan.walks)} walks; {len(plan.jobs)} jobs.")
    for level in plan.levels:
        sure = "proven" if level.proven else f"best possible {level.bound}, not proven"
        out.print(f"  {notices.LEVEL[level.key]}: {level.value} ({sure})")
    for u in plan.unplaced:
        out.print(f"[bold]Not placed: {escape(event.dish(u.dish_id).name)}[/bold]")
        for r in u.reasons:
            where = event.cooker(r.cooker_id).name if r.cooker_id else "The day"
            out.print(f"  {escape(where)}: {escape(notices.refusal(event, r))}")
    warned = [notices.warning(event, w) for w in plan.warnings]
    for warning in (*warned, words.PROBE, words.LOCAL):
        out.print(f"! {escape(warning)}", highlight=False)


@app.command()
def faults(event: EventArg, as_json: AsJson = False) -> None:
    """Say every fault in an event file, or that there is none."""
    try:
        read = event_named(event)
    except FaultyEvent as error:
        if as_json:
            sys.stdout.write(json.dumps([fault_json(f) for f in error.faults], indent=1) + "\n")
            raise typer.Exit(1) from None
        raise
    if as_json:
        sys.stdout.write("[]\n")
        return
    out.print(
        f"No faults. {len(read.dishes)} dishes, {len(read.cookers)} cookers, "
        f"{len(read.helpers)} helpers."
    )


@app.command()
def sheet(
    event: EventArg,
    file: OutFile = None,
    pdf_file: Annotated[Path | None, typer.Option("--pdf", help="All paper, as a PDF.")] = None,
    letter: Annotated[bool, typer.Option("--letter", help="US letter instead of A4.")] = False,
    pages: Annotated[
        Path | None, typer.Option(help="A folder for pages that need no network, calendars, CSV.")
    ] = None,
    base_url: Annotated[str, typer.Option(help="Address for the cards' codes.")] = "",
) -> None:
    """Print the run sheet in time order, or write all the paper."""
    # Slow to import, and planning needs none of it.
    from service.paper.pdf import Paper, pdf
    from service.paper.standalone_pages import write_pages

    read = event_named(event)
    plan = _patiently("Planning", lambda: make_plan(read))
    if pdf_file is not None:
        size: Paper = "us-letter" if letter else "a4"
        pdf_file.write_bytes(pdf(read, plan, paper=size, base_url=base_url))
        err.print(f"{pdf_file} written", highlight=False)
    if pages is not None:
        written = write_pages(read, plan, pages, name=slug(read))
        err.print(f"{len(written)} files written to {pages}", highlight=False)
    if pdf_file is None and pages is None:
        _write(_text_sheet(read, plan), file)
    if plan.unplaced:
        raise typer.Exit(3)


def _text_sheet(read: Event, plan: Plan) -> str:
    lines = [
        f"{read.title}, {formatting.long_date(read.date)}",
        f"Plan {plan.event_id}. Sun {_spans(read, plan.windows[0])}. Shadow tips: ahead side.",
        "",
    ]
    for d in doings(read, plan):
        who = "all" if d.kind in EVERYBODY else ", ".join(read.helper(h).name for h in d.helper_ids)
        told = [d.title + (f" {d.food}" if d.food else "")]
        if d.kind == "walk":
            told += [
                f"{c.name}: {', '.join(turn_orders.how_to_turn(read, t))}, "
                f"{turn_orders.ring(read, t)}"
                for t, c in zip(d.turns, d.cookers, strict=True)
            ]
        else:
            told += [w for w in (d.how, d.second) if w]
        reading = f"  [____ {'°F' if read.units == 'us' else '°C'}]" if d.reading else ""
        lines.append(f"[ ] {formatting.clock(read, d.at)}  {who:<14}  {'. '.join(told)}{reading}")
        if d.caution:
            lines.append(f"{'':28}! {d.caution}")
    for u in plan.unplaced:
        why = " ".join(notices.refusal(read, r) for r in u.reasons)
        lines.append(f"Not placed: {read.dish(u.dish_id).name}. {why}")
    warned = [notices.warning(read, w) for w in plan.warnings]
    lines += ["", *warned, words.PROBE, words.CHILDREN, words.BURNS, words.LOCAL]
    if read.site.emergency:
        lines.append(f"Help: {read.site.emergency}")
    return "\n".join(lines)


@app.command("season")
def show_season(
    event: EventArg,
    year: Annotated[int, typer.Option(min=0, max=2150, help="0: the event's.")] = 0,
    as_json: AsJson = False,
) -> None:
    """Show by what hour the sun has each dish ready, week by week on a clear day."""
    read = event_named(event)
    with Progress(TextColumn("The year"), BarColumn(), console=err, transient=True) as bar:
        task = bar.add_task("", total=1.0)
        found = season(
            read, year or read.date.year, report_progress=lambda f: bar.update(task, completed=f)
        )
    if as_json:
        sys.stdout.write(found.model_dump_json(indent=1) + "\n")
        return
    names = [d.name for d in read.dishes]
    table = Table(title=f"{escape(read.title)}: ready by, clear sky", title_justify="left")
    table.add_column("Week of")
    for name in names:
        table.add_column(escape(name))
    if read.site.sunlit_pct:
        table.add_column("Sunny, of 100 hours")
    for week in found.weeks:
        hours = [week.ready_by[d.id] for d in read.dishes]
        cells = [f"{int(h):02d}:{int(h % 1 * 60):02d}" if h is not None else "no" for h in hours]
        cells += [str(week.sunlit_pct)] if week.sunlit_pct is not None else []
        table.add_row(week.monday.isoformat(), *cells)
    out.print(table)


@app.command()
def schema(what: Annotated[str, typer.Argument(help="event, plan or window")] = "event") -> None:
    """Print the JSON Schema of an event file, or of what --json prints."""
    found: dict[str, Callable[[], dict[str, object]]] = {
        "event": event_schema,
        "plan": Plan.model_json_schema,
        "window": TypeAdapter(list[Window]).json_schema,
    }
    if what not in found:
        raise typer.BadParameter(f"“{what}” is none of {', '.join(found)}.")
    sys.stdout.write(json.dumps(found[what](), indent=1) + "\n")


@app.command()
def serve(
    demo: Annotated[bool, typer.Option(help="Put in a sample; the clock is on its day.")] = False,
    open_to_all: Annotated[
        bool, typer.Option("--open", help="Everybody here may see and change every event.")
    ] = False,
    host: Annotated[str, typer.Option(help="Address to listen on.")] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=0, max=65535, help="0 takes any free one.")] = 8008,
    data: Annotated[Path, typer.Option(help="Directory of the database.")] = Path("noonfare-data"),
) -> None:
    """Start the service."""
    import uvicorn

    from service.app import create_app
    from service.settings import Settings

    settings = Settings(data_dir=data / "demo" if demo else data, demo=demo, open=open_to_all)
    logging.basicConfig(level=logging.INFO, format="%(levelname)s %(name)s: %(message)s")
    logging.getLogger("alembic").setLevel(logging.WARNING)
    err.print(f"Noonfare on http://{host}:{port}/ (Ctrl-C stops it)", highlight=False)
    uvicorn.run(
        create_app(settings),
        host=host,
        port=port,
        log_level="warning",
        timeout_graceful_shutdown=2,
        server_header=False,
        access_log=False,  # links are secrets: none is ever written to a log
    )


def _ours() -> str | None:
    """Return what is wrong if a public package of the same name was imported instead of ours."""
    import events
    import service
    import solver

    home = Path(__file__).resolve().parents[2]
    for package in (events, solver, service):
        where = Path(package.__file__ or "/").resolve().parent.parent
        if where != home:
            return (
                f"the package “{package.__name__}” comes from {where}, not from {home}. "
                "Install Noonfare in an environment of its own."
            )
    return None


def main() -> None:
    """Run the command; refusals are one clear message and a status, never a stack trace."""
    wrong = _ours()
    if wrong:
        err.print(f"noonfare: {wrong}", highlight=False, markup=False)
        raise SystemExit(1)
    try:
        app()
    except FaultyEvent as error:
        for line in faults_text(error):
            err.print(line, highlight=False, markup=False, soft_wrap=True)
        raise SystemExit(1) from None
    except NoonfareError as error:
        err.print(str(error), highlight=False, markup=False, soft_wrap=True)
        raise SystemExit(1) from None
    except sqlite3.OperationalError as error:
        err.print(f"The database could not be opened: {error}", highlight=False, markup=False)
        raise SystemExit(1) from None
    except BrokenPipeError:
        raise SystemExit(0) from None
    except OSError as error:
        err.print(f"{error.filename or ''}: {error.strerror}", highlight=False, markup=False)
        raise SystemExit(1) from None
