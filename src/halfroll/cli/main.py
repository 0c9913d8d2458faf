"""The group of commands, and what happens to errors: no traceback reaches a person."""

from __future__ import annotations

import importlib
import json
import os
import re
import sys
import traceback
from pathlib import Path
from typing import Any

import click

from halfroll import __version__
from halfroll.cli.common import in_lines
from halfroll.core.errors import CancelledError, HalfrollError, InputError, OwnFaultError

COMMANDS = {
    "init": "halfroll.cli.init:init",
    "add": "halfroll.cli.add:add",
    "rig": "halfroll.cli.rig:rig",
    "parts": "halfroll.cli.parts:parts",
    "catalogue": "halfroll.cli.catalogue:catalogue",
    "calibrate": "halfroll.cli.calibrate:calibrate",
    "motor": "halfroll.cli.motor:motor",
    "windings": "halfroll.cli.windings:windings",
    "suspension": "halfroll.cli.suspension:suspension",
    "models": "halfroll.cli.models:models",
    "predict": "halfroll.cli.predict:predict",
    "update": "halfroll.cli.update:update",
    "cabinet": "halfroll.cli.cabinet:cabinet",
    "crossover": "halfroll.cli.crossover:crossover",
    "devices": "halfroll.cli.devices:devices",
    "sweep": "halfroll.cli.sweep:sweep",
    "measure": "halfroll.cli.measure:measure",
    "import": "halfroll.cli.importing:import_",
    "analyse": "halfroll.cli.analyse:analyse",
    "residue": "halfroll.cli.residue:residue",
    "tones": "halfroll.cli.tones:tones",
    "levels": "halfroll.cli.levels:levels",
    "power": "halfroll.cli.power:power",
    "impedance": "halfroll.cli.impedance:impedance",
    "parameters": "halfroll.cli.parameters:parameters",
    "join": "halfroll.cli.join:join",
    "figures": "halfroll.cli.figures:figures",
    "compare": "halfroll.cli.compare:compare",
    "unit": "halfroll.cli.unit:unit",
    "bill": "halfroll.cli.bill:bill",
    "carry-over": "halfroll.cli.bill:carry_over",
    "stock": "halfroll.cli.stock:stock",
    "kits": "halfroll.cli.kits:kits",
    "guide": "halfroll.cli.guide:guide",
    "sheet": "halfroll.cli.sheet:sheet",
    "mark": "halfroll.cli.mark:mark",
    "claim": "halfroll.cli.claim:claim",
    "picture": "halfroll.cli.picture:picture",
    "build-up": "halfroll.cli.build_up:build_up",
    "site": "halfroll.cli.site:site",
    "release": "halfroll.cli.release:release",
    "check": "halfroll.cli.check:check",
    "serve": "halfroll.cli.serve:serve",
    "demo": "halfroll.cli.demo:demo",
}
"""Commands in the order of the work, each loaded when it is called or listed."""

OURS, INPUT, STOPPED = 1, 2, 130

KINDS = {"float": "is not a number", "integer": "is not a whole number"}


class Bench(click.Group):
    """A group that loads a command's file only when it is needed."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order of the work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of a name, or None."""
        if cmd_name not in COMMANDS:
            return None
        module, attribute = COMMANDS[cmd_name].split(":")
        command: click.Command = getattr(importlib.import_module(module), attribute)
        return command


@click.group(cls=Bench, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="halfroll")
@click.option(
    "--workshop",
    "folder",
    type=click.Path(file_okay=False, path_type=Path),
    default=None,
    help="Folder of the workshop. Default: the folder you are in, or one above it.",
)
@click.pass_context
def halfroll(ctx: click.Context, folder: Path | None) -> None:
    """Develop printed loudspeaker drivers: design, measure, compare fairly, publish.

    Begin with "halfroll demo FOLDER" for a workshop full of examples, or with "halfroll init FOLDER" for your own.
    """
    ctx.obj = folder


def main() -> None:
    """Entry point: run the command, turn every error into a sentence and an exit code."""
    sys.exit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """Run one command line and return its exit code; texts go to stderr, results to stdout."""
    as_json = "--json" in arguments
    try:
        result = halfroll.main(args=arguments, prog_name="halfroll", standalone_mode=False)
    except click.exceptions.Exit as stop:
        return stop.exit_code
    except click.ClickException as fault:
        return _say(_usage_text(fault), INPUT, as_json, _usage_detail(fault), usage=_usage(fault))
    except (click.Abort, KeyboardInterrupt):
        return _say("Stopped. Nothing half-done was left.", STOPPED, as_json)
    except CancelledError as stop:
        return _say(str(stop), STOPPED, as_json)
    except InputError as fault:
        return _say(str(fault), INPUT, as_json, fault.as_dict())
    except OwnFaultError as fault:
        return _say(str(fault), OURS, as_json)
    except HalfrollError as fault:
        return _say(str(fault), INPUT, as_json)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as fault:
        return _say(_system_fault(fault), INPUT, as_json)
    except (
        Exception
    ) as fault:  # the last net: a fault of ours is said in a sentence, the trace is kept in a file
        return _say(_own_fault(fault), OURS, as_json)
    return result if isinstance(result, int) else 0


def _usage_text(fault: click.ClickException) -> str:
    """What is wrong with the command line, without the words of programmers."""
    text = re.sub(r"is not a valid (float|integer)\b", lambda kind: KINDS[kind[1]], fault.format_message())
    if isinstance(fault, click.NoSuchOption) and re.fullmatch(r"-\d*\.?\d+", fault.option_name):
        return f"{fault.option_name} is below 0, and no number here may be."
    comma = re.search(r"'([-+]?\d+),(\d+)' is not a number", text)
    return text if comma is None else f"{text} Write it with a decimal point: {comma[1]}.{comma[2]}."


def _usage(fault: click.ClickException) -> str:
    context = getattr(fault, "ctx", None)
    return "" if context is None else f"Try: {context.command_path} --help"


def _usage_detail(fault: click.ClickException) -> dict[str, Any]:
    """A fault of the command line for a program: what is wrong, and the option or argument that is."""
    detail: dict[str, Any] = {"message": fault.format_message()}
    param = getattr(fault, "param", None)
    name = getattr(fault, "option_name", None) or (
        param and (param.opts[-1] if param.param_type_name == "option" else param.human_readable_name)
    )
    return detail if name is None else {**detail, "key": name}


def _say(text: str, code: int, as_json: bool, detail: dict[str, Any] | None = None, usage: str = "") -> int:
    click.echo(in_lines(text, sys.stderr), err=True)
    if usage:
        click.echo(usage, err=True)
    if as_json:
        click.echo(json.dumps({"error": detail or {"message": text}}, ensure_ascii=False))
    return code


def _system_fault(fault: OSError) -> str:
    where = f"{fault.filename}: " if fault.filename else ""
    return f"{where}{fault.strerror or fault}. Nothing was changed there."


def _own_fault(fault: Exception) -> str:
    """Say that it is our fault, and keep the trace where it can be sent on."""
    import tempfile

    with tempfile.NamedTemporaryFile("w", prefix="halfroll-fault-", suffix=".txt", delete=False) as file:
        file.write("".join(traceback.format_exception(fault)))
    return (
        f"This is a fault in halfroll, not yours: {type(fault).__name__}. "
        f"Your files are as they were. Details for a report: {file.name}"
    )
