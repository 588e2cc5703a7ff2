"""The command that starts the service again as it was started, for phones in the network."""

from __future__ import annotations

import shlex

import typer
from typer.core import TyperOption


def for_network(started: typer.Context) -> str:
    """Return a command that listens to all networks, its other options as they were given."""
    words = ["noonfare", str(started.info_name), "--host", "0.0.0.0"]  # it is shown
    for option in started.command.params:
        name = str(option.name)
        source = started.get_parameter_source(name)
        is_given = source is not None and source.name == "COMMANDLINE"
        if not isinstance(option, TyperOption) or name == "host" or not is_given:
            continue
        value = started.params[name]
        if option.is_flag:
            words += (option.opts if value else option.secondary_opts)[:1]
        else:
            given = value if option.multiple else [value]
            words += [word for one in given for word in (option.opts[0], str(one))]
    return shlex.join(words)
