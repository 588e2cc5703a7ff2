"""The command: noonfare window, plan, faults, sheet, schema, serve.

EVENT is a file, or the name of a sample. Exit status: 0 fine, 1 faults in the input, 2 usage,
3 a dish could not be placed, a group or an entry has no time.
"""

from __future__ import annotations

import gc
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer
from pydantic import TypeAdapter

from events.errors import FaultyEvent, NoonfareError
from events.reading.schema import event_schema
from service.cli.backup import archive, backup, export, link, restore
from service.cli.calibration import cooker_test, one_litre
from service.cli.event_argument import EventArg, event_named
from service.cli.output import AsJson, err, out, write_json
from service.cli.planning import sheet, show_plan, show_season, show_window
from service.cli.start_again import for_network
from service.text.error_words import error_text
from service.text.faults import fault_json, faults_text
from solver.plan import Plan, Window

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    help="Plan a day of sun-heated cooking. EVENT is an event file or a sample's name.",
)
app.command("window")(show_window)
app.command("plan")(show_plan)
app.command("sheet")(sheet)
app.command("season")(show_season)
app.command("cooker-test")(cooker_test)
app.command("litre-test")(one_litre)
app.command("backup")(backup)
app.command("restore")(restore)
app.command("export")(export)
app.command("link")(link)
app.command("archive")(archive)


@app.command()
def faults(name: EventArg, as_json: AsJson = False) -> None:
    """Say every fault in an event file, or that there is none."""
    try:
        event = event_named(name)
    except FaultyEvent as error:
        if as_json:
            write_json([fault_json(f, error) for f in error.faults])
            raise typer.Exit(1) from None
        raise
    if as_json:
        write_json([])
        return
    out.print(
        f"No faults. {len(event.dishes)} dishes, {len(event.cookers)} cookers, "
        f"{len(event.helpers)} helpers."
    )


@app.command()
def schema(what: Annotated[str, typer.Argument(help="event, plan or window")] = "event") -> None:
    """Print the JSON Schema of an event file, or of what --json prints."""
    schemas: dict[str, Callable[[], dict[str, object]]] = {
        "event": event_schema,
        "plan": Plan.model_json_schema,
        "window": TypeAdapter(list[Window]).json_schema,
    }
    if what not in schemas:
        raise typer.BadParameter(f"“{what}” is none of {', '.join(schemas)}.")
    write_json(schemas[what]())


@app.command()
def serve(
    started: typer.Context,
    demo: Annotated[bool, typer.Option(help="Put in a sample; the clock is on its day.")] = False,
    open_to_all: Annotated[
        bool, typer.Option("--open", help="Everybody here may see and change every event.")
    ] = False,
    host: Annotated[str, typer.Option(help="Address to listen on.")] = "127.0.0.1",
    name: Annotated[
        list[str] | None,
        typer.Option(help="With --open: a further name at which phones reach this machine."),
    ] = None,
    solvers: Annotated[int, typer.Option(min=1, help="Plans made at once.")] = 2,
    solver_memory_mb: Annotated[
        int, typer.Option(min=200, help="Memory that one solve may take.")
    ] = 2000,
    port: Annotated[int, typer.Option(min=0, max=65535, help="0 takes any free one.")] = 8008,
    data: Annotated[Path, typer.Option(help="Directory of the database.")] = Path("noonfare-data"),
    forecast: Annotated[
        bool, typer.Option("--forecast", help="Let organisers fetch an open public forecast.")
    ] = False,
) -> None:
    """Start the service."""
    from service.application.worker_process import load_ahead

    load_ahead(__name__)  # while this process loads the rest
    import uvicorn

    from service.app import create_app
    from service.asgi.request_log import log_as_lines
    from service.settings import OPEN_FEED, OPEN_FEED_CREDIT, Settings

    settings = Settings(
        data_dir=data / "demo" if demo else data,
        demo=demo,
        open=open_to_all,
        solvers=solvers,
        solver_memory_mb=solver_memory_mb,
        start_for_network=for_network(started),
    )
    settings = replace(settings, hosts=(*settings.hosts, host, *(name or ())))
    if forecast and not settings.forecast_url:
        settings = replace(settings, forecast_url=OPEN_FEED, forecast_credit=OPEN_FEED_CREDIT)
    log_as_lines()
    served = create_app(settings)
    # A look at all that is held stops every page for 0.1 s, and what is loaded is no garbage.
    gc.freeze()
    gc.set_threshold(10_000, 10, 10)
    err.print(f"Noonfare on http://{host}:{port}/ (Ctrl-C stops it)", highlight=False)
    uvicorn.run(
        served,
        host=host,
        port=port,
        log_level="warning",
        timeout_graceful_shutdown=2,
        server_header=False,
        http="h11",  # a head of 64 kB at most; other parsers take any
        access_log=False,  # links are secrets: none is ever written to a log
    )


@app.command()
def worker(
    solvers: Annotated[int, typer.Option(min=1, help="Plans made at once.")] = 2,
    solver_memory_mb: Annotated[
        int, typer.Option(min=200, help="Memory that one solve may take.")
    ] = 2000,
) -> None:
    """Make plans for services on the PostgreSQL that NOONFARE_DATABASE names."""
    from service.application.worker_process import load_ahead

    load_ahead(__name__)
    from service.application.queue_worker import work_at_queue
    from service.asgi.request_log import log_as_lines
    from service.clock import system_clock
    from service.settings import Settings

    settings = Settings(solvers=solvers, solver_memory_mb=solver_memory_mb)
    if not settings.on_postgres:
        raise typer.BadParameter("Set NOONFARE_DATABASE to postgresql+psycopg://… first.")
    log_as_lines()
    work_at_queue(settings, system_clock)


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
        err.print(error_text(error), highlight=False, markup=False, soft_wrap=True)
        raise SystemExit(1) from None
    except sqlite3.OperationalError as error:
        err.print(f"The database could not be opened: {error}", highlight=False, markup=False)
        raise SystemExit(1) from None
    except BrokenPipeError:
        raise SystemExit(0) from None
    except OSError as error:
        err.print(f"{error.filename or ''}: {error.strerror}", highlight=False, markup=False)
        raise SystemExit(1) from None
