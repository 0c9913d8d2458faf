"""Write the pages of the reference that are made from the code.

    python docs/generate.py

writes reference/commands.md from the command line, reference/files.md from the models of the records with the words of
meanings.toml, and reference/figures.md from the table of rules. Tests hold that what stands there is current.
"""

from __future__ import annotations

import re
import sys
import textwrap
import tomllib
import types
from collections.abc import Callable, Iterator
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import click
from annotated_types import Ge, Gt, Le, Lt, MinLen
from pydantic import AfterValidator, BeforeValidator
from pydantic.fields import FieldInfo

from halfroll.cli.main import halfroll
from halfroll.core.errors import InputError
from halfroll.figures.rules import docs_table
from halfroll.measure.sweep import Sweep
from halfroll.workshop import records
from halfroll.workshop.builder_record import BuilderRecord
from halfroll.workshop.cabinet_record import CabinetRecord
from halfroll.workshop.crossover_record import CrossoverRecord
from halfroll.workshop.fields import FORMAT, Table
from halfroll.workshop.guide_record import GuideRecord
from halfroll.workshop.impedance_record import ImpedanceRecord
from halfroll.workshop.joined_record import JoinedRecord
from halfroll.workshop.kit_record import KitRecord
from halfroll.workshop.material_record import MaterialRecord
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.power_record import PowerRecord
from halfroll.workshop.release_record import ReleaseRecord
from halfroll.workshop.stock_record import StockRecord
from halfroll.workshop.tones_record import TonesRecord

DOCS = Path(__file__).resolve().parent
MADE = "<!-- Made by docs/generate.py; edit {source}. -->"

# Commands --------------------------------------------------------------------------------------------------------

COMMANDS_HEAD = f"""# Commands

{MADE.format(source="the commands in src/halfroll/cli")}

`halfroll` works in the workshop of the folder you are in, or of one above it; `--workshop FOLDER` before the command names another.
Options can stand in any order after the command; `-h` or `--help` there explains it.
What a command found goes to standard output; messages, progress and errors go to standard error.

| exit code | meaning |
| --- | --- |
| 0 | Done. |
| 1 | A fault in halfroll. Your files are as they were; the message names a file with details for a report. |
| 2 | Something that was given is wrong. The message says what, where, and what to do. |
| 130 | Stopped by you. Nothing half-done is left. |

"""


def commands_page() -> str:
    """The page of all commands with every option."""
    context = click.Context(halfroll, info_name="halfroll")
    sections = [_command("halfroll", halfroll, context)]
    sections += [_command(name, command, inner) for name, command, inner in walk(halfroll, context)]
    return COMMANDS_HEAD + "\n".join(sections)


def walk(group: click.Group, context: click.Context) -> Iterator[tuple[str, click.Command, click.Context]]:
    """Every command below a group with its full name, in the order of the help."""
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        inner = click.Context(command, info_name=name, parent=context)
        yield inner.command_path, command, inner
        if isinstance(command, click.Group):
            yield from walk(command, inner)


def _command(name: str, command: click.Command, context: click.Context) -> str:
    usage = " ".join([name, *command.collect_usage_pieces(context)])
    text, example = _help(command)
    parts = [f"## {name}\n", f"    {usage}\n", text]
    if example:
        parts.append("\n".join(f"    {line}" for line in example) + "\n")
    options = [p for p in command.get_params(context) if isinstance(p, click.Option) and not p.hidden]
    rows = [_option(option, context) for option in options if "--help" not in option.opts]
    if rows:
        parts.append("| option | default | meaning |\n| --- | --- | --- |\n" + "".join(rows))
    return "\n".join(parts)


def _help(command: click.Command) -> tuple[str, list[str]]:
    """The help's paragraphs, one sentence a line, and the lines of its example."""
    paragraphs, example = [], []
    for paragraph in re.split(r"\n\s*\n", (command.help or "").strip()):
        lines = paragraph.strip().split("\n")
        if lines[0].strip() == "\b":
            example = textwrap.dedent("\n".join(lines[2:])).split("\n")
        else:
            paragraphs.append(_sentences(" ".join(line.strip() for line in lines)))
    return "\n\n".join(paragraphs) + "\n", example


def _sentences(text: str) -> str:
    return re.sub(r"(?<=[.:]) (?=[A-Z])", "\n", text)


def _option(option: click.Option, context: click.Context) -> str:
    names = " / ".join(f"`{word}`" for word in [*option.opts, *option.secondary_opts])
    takes = "" if option.is_flag else f" {option.make_metavar(context)}"
    name = f"{names}{_cell(takes)}"
    return f"| {name} | {_option_default(option, context)} | {_cell(option.help or '')} |\n"


def _option_default(option: click.Option, context: click.Context) -> str:
    if option.required:
        return "required"
    if option.is_flag and not option.secondary_opts:
        return ""
    default = option.get_default(context)
    if default is None or default == "" or not isinstance(default, str | int | float):
        return ""
    if option.secondary_opts:
        return f"`{(option.opts if default else option.secondary_opts)[0]}`"
    return f"`{default}`"


def _cell(text: str) -> str:
    """Text fit for a cell: brackets and bars of a metavar as they are."""
    return text.replace("|", "\\|").replace("<", "\\<")


# Files -----------------------------------------------------------------------------------------------------------

FILES_HEAD = f"""# Files and records

{MADE.format(source="src/halfroll/workshop/records.py and docs/meanings.toml")}

A workshop is a folder of plain files, and the files are the truth.
The folder `.halfroll` holds only results that can be worked out again; delete it whenever you like.
A folder or file whose name begins with a dot is work in progress and not read.

    workshop.toml
    rigs/<rig>.toml
    parts/<part>.toml
    materials/<material>.toml, and B-H tables
    enclosures/<cabinet>.toml
    crossovers/<crossover>.toml
    kits/<kit>.toml
    stock/<year>.toml
    drivers/<driver>/driver.toml
    drivers/<driver>/<version>/version.toml, and guide.toml
    drivers/<driver>/<version>/units/<unit>/unit.toml, and photographs/
    drivers/<driver>/<version>/units/<unit>/takes/<take>/take.toml, and its audio
    releases/marks/<mark>.json    what stands behind a printed number
    releases/<release>/release.toml, the licence's text, and bundles that were built
    drafts/          what was typed into a page and not yet saved
    .halfroll/       derived results

The names of the folders are the ids: `avocet/v2` is a version, `avocet/v2/01` a unit, `avocet/v2/01/tuesday-a` a take.
A name holds small letters a to z, digits, and - _ . inside; it starts with a letter or digit and has at most 80 characters.

Records are TOML in UTF-8.
The unit of a number stands in its key.
Every record says `format = {FORMAT}`.
An unknown key is kept and not used; one that is nearly a known key is refused as a slip of the pen, unless it begins with `own_`.
[Edit records by hand](../how-to/edit-records-by-hand.md) says how saves, comments and mistakes are treated.

"""

RECORDS = (
    records.WorkshopRecord,
    records.DriverRecord,
    records.VersionRecord,
    GuideRecord,
    records.UnitRecord,
    records.TakeRecord,
    records.RigRecord,
    records.SweepRecord,
    ImpedanceRecord,
    TonesRecord,
    JoinedRecord,
    PowerRecord,
    PartRecord,
    MaterialRecord,
    CabinetRecord,
    CrossoverRecord,
    BuilderRecord,
    StockRecord,
    KitRecord,
    ReleaseRecord,
)

UNITS = (
    ("_uf", "µF"), ("_mh", "mH"),
    ("_kg_m3", "kg/m³"), ("_g_l", "g/l"), ("_mm_per_n", "mm/N"), ("_ns_per_m", "N s/m"), ("_um", "µm"), ("_ka_m", "kA/m"), ("_a_m", "A/m"), ("_s_m", "S/m"), ("_ohm_m", "Ω m"), ("_j_kg_k", "J/(kg K)"),
    ("_percent_per_k", "%/K"), ("_per_k", "1/K"), ("_mpa", "MPa"), ("_mm", "mm"), ("_t", "T"),
    ("_hz", "Hz"), ("_db", "dB"), ("_ohm", "Ω"), ("_cm2", "cm²"), ("_ms", "ms"), ("_w", "W"), ("_v", "V"), ("_m", "m"),
    ("_c", "°C"), ("_g", "g"), ("_cm", "cm"), ("_mm", "mm"), ("_a", "A"), ("_l", "l"), ("_percent", "%"), ("_s", "s"), ("_us", "µs"), ("_days", "days"), ("_deg", "°"), ("samples", "samples"),
)  # fmt: skip
SCALES = {"pa_per_full_scale": "Pa", "v_per_full_scale": "V", "a_per_full_scale": "A"}

VALIDATORS = {
    "_file_name": "plain name of a file in the same folder",
    "_gate": '`"auto"`, `"none"` or 0.5 to 1000',
    "_band": "two ascending frequencies above 0: `[low, high]`",
    "check_roles": "list, one word a channel, each but `unused` once: {choices}",
    "_currency": "three capital letters (ISO 4217)",
    "_date": "date, such as `2026-03-31`",
    "_moment": "date and time, such as `2026-03-31T14:05:00`",
    "_fixed_offset": "",
    "_area": "number from 0.1 to 10000",
    "_mass": "number from 0.05 to 1000",
    "_volume": "number from 0.05 to 2000",
    "_amount": "",
    "_quantity": "",
    "_audience": "small letters, digits and hyphens, up to 40",
    "_day": "1980-01-01 to 2107-12-31",
    "_licence": "SPDX identifier, or `LicenseRef-` and a name of your own",
}
"""What a validator lets pass, by the name of its function; braces stand for the choices of the type."""


def files_page() -> str:
    """The page of all records and their keys; raises `ValueError` when a key has no meaning or a meaning no key."""
    meanings = tomllib.loads((DOCS / "meanings.toml").read_text(encoding="utf-8"))
    sections = [section for model in RECORDS for section in _record(model, meanings.pop(model.kind))]
    if meanings:
        raise ValueError(f"meanings.toml speaks of {', '.join(meanings)}, which is no record")
    return FILES_HEAD + "\n".join(sections)


def _record(model: type[Any], meanings: dict[str, Any]) -> Iterator[str]:
    yield f"## {model.kind}\n\n{meanings.pop('where')}\n\n{meanings.pop('about')}\n"
    yield from _table(model, meanings, model.kind, (), {})


def _table(
    model: type[Any],
    meanings: dict[str, Any],
    place: str,
    told: tuple[type[Any], ...],
    paths: dict[type[Any], str],
) -> Iterator[str]:
    """A table of the plain keys of a model, then the tables in it; takes what it says out of `meanings`.

    Tables in `told` were described before, in the same record, and are not described again; a table of a kind in `paths` that another key
    of the record has is said to hold the same keys when nothing is said of its own.
    """
    inner, rows = [], []
    for key, field in model.model_fields.items():
        table, is_list = _inner(field)
        if table in told:
            continue
        if table is not None:
            inner.append((key, table, is_list, _taken(meanings, key, place)))
        elif key != "format":
            rows.append(_key(key, field, _taken(meanings, key, place), _range_of(model, key, field)))
    if meanings:
        raise ValueError(f"meanings.toml speaks of {', '.join(meanings)} in {place}, which is no key")
    yield (
        "| key | unit | what may stand there | default | meaning |\n| --- | --- | --- | --- | --- |\n"
        + "".join(rows)
    )
    for key, table, is_list, inside in inner:
        path = ".".join([*place.split(".")[1:], key])
        yield f"### {place.split('.')[0]}: {f'[[{path}]]' if is_list else f'[{path}]'}\n\n{inside.pop('about')}\n"
        if table in paths and not inside:
            yield f"The keys of `[{paths[table]}]`.\n"
            continue
        paths.setdefault(table, path)
        yield from _table(table, inside, f"{place}.{key}", tuple(table for _, table, _, _ in inner), paths)


def _taken(meanings: dict[str, Any], key: str, place: str) -> Any:
    if key not in meanings:
        raise ValueError(f"meanings.toml does not say what {key} in {place} means")
    return meanings.pop(key)


def _key(key: str, field: FieldInfo, meaning: str, allowed: str) -> str:
    unit = SCALES.get(key) or next((unit for ending, unit in UNITS if key.endswith(ending)), "")
    return f"| `{key}` | {unit} | {allowed} | {_default(field)} | {meaning} |\n"


def _default(field: FieldInfo) -> str:
    if field.is_required():
        return "required"
    value = field.get_default(call_default_factory=True)
    if value is None or value in ("", {}, ()):
        return "–"
    if isinstance(value, tuple):
        return f"`{list(value)}`"
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    return f'`"{value}"`' if isinstance(value, str) else f"`{value}`"


def _inner(field: FieldInfo) -> tuple[type[Any] | None, bool]:
    """The table model in a field, and whether the field is a list of them."""
    bases, _ = _taken_apart(field.annotation, [])
    for base in bases:
        if isinstance(base, type) and issubclass(base, Table):
            return base, False
        if (
            get_origin(base) is tuple
            and isinstance(first := get_args(base)[0], type)
            and issubclass(first, Table)
        ):
            return first, True
    return None, False


def _taken_apart(annotation: Any, metadata: list[Any]) -> tuple[list[Any], list[Any]]:
    """The types a value may have, without None, and all marks on them."""
    if isinstance(annotation, FieldInfo):
        return _taken_apart(annotation.annotation, [*annotation.metadata, *metadata])
    if get_origin(annotation) is Annotated:
        marks = [
            m
            for mark in annotation.__metadata__
            for m in (mark.metadata if isinstance(mark, FieldInfo) else [mark])
        ]
        return _taken_apart(annotation.__origin__, [*metadata, *marks])
    if get_origin(annotation) in (Union, types.UnionType):
        bases: list[Any] = []
        for part in get_args(annotation):
            if part is not type(None):
                inner, metadata = _taken_apart(part, metadata)
                bases += inner
        return bases, metadata
    return [annotation], metadata


def _range_of(model: type[Any], key: str, field: FieldInfo) -> str:
    if issubclass(model, records.SweepTable):
        return _sweep_range(key)
    bases, marks = _taken_apart(field, [])
    choices = ", ".join(f"`{word}`" for base in bases for word in _choices(base))
    told = [_validator(mark, choices) for mark in marks if isinstance(mark, AfterValidator | BeforeValidator)]
    if any(told):
        return ", ".join(word for word in told if word)
    return choices or ", ".join(_plain_word(base, marks) for base in bases)


def _validator(mark: AfterValidator | BeforeValidator, choices: str) -> str:
    name = getattr(mark.func, "__name__", "")
    if name not in VALIDATORS:
        raise ValueError(f"docs/generate.py does not know what the validator {name} lets pass")
    return VALIDATORS[name].format(choices=choices)


def _choices(base: Any) -> list[str]:
    if get_origin(base) is Literal:
        return [str(word) for word in get_args(base)]
    if get_origin(base) is tuple:
        inner, _ = _taken_apart(get_args(base)[0], [])
        return [word for part in inner for word in _choices(part)]
    return [str(word) for word in base] if isinstance(base, type) and issubclass(base, StrEnum) else []


def _plain_word(base: Any, marks: list[Any]) -> str:
    if base is float:
        return f"number{_bounds(marks)}"
    if base is str:
        pattern = any(getattr(mark, "pattern", None) for mark in marks)
        return "64 hexadecimal digits" if pattern else "text, not empty" if _has(marks, MinLen) else "text"
    if base is bool:
        return "`true` or `false`"
    if base is int:
        return f"whole number{_bounds(marks)}"
    if base == tuple[str, str]:
        return "two texts"
    if get_origin(base) is tuple:
        (inner, *_), _ = _taken_apart(get_args(base)[0], [])
        return {float: "list of numbers", str: "list of texts"}.get(inner, "list of `[r, z]`")
    return "table of numbers" if get_args(base)[1:] == (float,) else "table of your own keys"


def _has(marks: list[Any], kind: type[Any]) -> bool:
    return any(isinstance(mark, kind) for mark in marks)


def _bounds(marks: list[Any]) -> str:
    words: tuple[tuple[type[Any], str, Callable[[Any], float]], ...] = (
        (Gt, "above", lambda m: float(m.gt)),
        (Ge, "from", lambda m: float(m.ge)),
        (Lt, "below", lambda m: float(m.lt)),
        (Le, "to", lambda m: float(m.le)),
    )
    found = [
        f"{word} {value(mark):g}" for kind, word, value in words for mark in marks if isinstance(mark, kind)
    ]
    return " " + " ".join(found) if found else ""


def _sweep_range(key: str) -> str:
    """What the sweep itself says is allowed, asked by giving it something that is not."""
    wrong = 1e9 if key == "stop_hz" else -1.0
    try:
        Sweep(**{key: wrong})  # type: ignore[arg-type]
    except InputError as fault:
        if fault.place.key == key and fault.allowed:
            number = "whole number" if key == "rate_hz" else "number"
            return f"{number}, {re.sub(r', [0-9.]+ Hz$', '', fault.allowed)}"
    raise ValueError(f"the sweep does not say what is allowed for {key}")


# All -------------------------------------------------------------------------------------------------------------

PAGES: dict[str, Callable[[], str]] = {
    "reference/commands.md": commands_page,
    "reference/files.md": files_page,
    "reference/figures.md": docs_table,
}
"""Pages by their place in docs/, each with what makes it."""


def main() -> None:
    """Write every page that is made from the code, and say which changed."""
    for name, make in PAGES.items():
        path = DOCS / name
        text = make()
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            path.write_text(text, encoding="utf-8", newline="\n")
            sys.stdout.write(f"Wrote {name}\n")


if __name__ == "__main__":
    main()
