"""The commands, one module each. This room knows no geometry; what a command needs is imported inside it.

Exit codes: 0 done and all required rules hold, 1 a required rule fails, 2 bad input or usage,
3 a fault of the program itself.
"""

from __future__ import annotations

import importlib
import os
import sys
import traceback
from collections.abc import Sequence
from typing import NoReturn

import click

from detailgen._version import __version__
from detailgen.cli.shared import BAD, FAULT, HOLDS, STOPPED, errors_said, say
from detailgen.errors import InputError

# Name of the command → its module and its function there. A new command is one module and one row.
COMMANDS = {
    "draw": "draw:draw",
    "batch": "batch:batch",
    "watch": "watch:watch",
    "check": "check:check",
    "explain": "explain:explain",
    "measure": "measure:measure",
    "compare": "compare:compare",
    "water": "numbers:water",
    "weight": "numbers:weight",
    "warmth": "numbers:warmth",
    "quantities": "quantities:quantities",
    "start": "start:start",
    "list": "listing:list_",
    "schema": "schema:schema",
}


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Runs one command and leaves with its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a terminal without ≥ shows a question mark, not a traceback
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")  # else every installed package is searched for one: 8 ms
    sys.exit(run(arguments))


def run(arguments: Sequence[str] | None = None) -> int:
    """Runs one command and returns its exit code."""
    try:
        code = commands.main(arguments, prog_name="detailgen", standalone_mode=False)
        return code if isinstance(code, int) else HOLDS
    except InputError as error:
        return errors_said(error.problems)
    except click.ClickException as error:
        error.show()
        return BAD
    except (click.Abort, KeyboardInterrupt):
        return STOPPED
    except Exception as error:  # not 1, which would say that a rule fails
        traceback.print_exc()
        say(f"error: a fault of this program, not of your file: {type(error).__name__}: {error}")
        return FAULT


# ------------------------------------------------------------------------------------------ the commands
class Lazy(click.Group):
    """A group whose commands are imported when they are asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names, in the order in which a user meets them."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name."""
        if cmd_name not in COMMANDS:
            return None
        module, function = COMMANDS[cmd_name].split(":")
        command: click.Command = getattr(importlib.import_module(f"detailgen.cli.{module}"), function)
        return command


@click.group(cls=Lazy, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, "--version", prog_name="detailgen", message="%(prog)s %(version)s")
def commands() -> None:
    """Draws and checks sections of low-slope roof details from a detail file.

    Begin with: detailgen start, then detailgen draw detail.toml.

    Exit codes: 0 all required rules hold, 1 a required rule fails, 2 bad input or usage.
    """
