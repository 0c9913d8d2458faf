"""``halfroll crossover``: join drivers by coils and capacitors, see what comes of it, make the sum flat."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import (
    InOrder,
    check_ending,
    json_option,
    open_workshop,
    print_json,
    print_rows,
    progress_bar,
    say,
    say_verdicts,
    write_file,
)
from halfroll.core.errors import InputError

if TYPE_CHECKING:
    from halfroll.driver.crossover.results import Result

CHART_NAMES = ("circuit", "sum", "horizontal", "vertical", "impedance", "volts", "phase", "directivity")


@click.group(cls=InOrder)
def crossover() -> None:
    """Join drivers by a passive crossover, with their real impedances.

    A crossover is a file in the folder crossovers; the page /crossovers shows its circuit.
    """


@crossover.command("list")
@json_option
def list_(as_json: bool) -> None:
    """List all crossovers.

    \b
    Example:
      halfroll crossover list
    """
    from halfroll.publish.parameter_rows import Rows
    from halfroll.workshop.crossovers import crossover_ids, crossover_record

    workshop = open_workshop()
    found = []
    faults: list[InputError] = []
    for name in crossover_ids(workshop):
        try:
            found.append((name, crossover_record(workshop, name).record))
        except InputError as fault:
            faults.append(fault)
    if as_json:
        print_json({
            "crossovers": [{"crossover": name, "title": record.title, "rated_ohm": record.rated_impedance_ohm,
                            "ways": [{"name": way.name, "driver": way.driver} for way in record.ways]} for name, record in found],
            "faults": [one.as_dict() for one in faults],
        })  # fmt: skip
        return
    rows = tuple(
        (name, record.title, ", ".join(f"{way.name}: {way.driver}" for way in record.ways))
        for name, record in found
    )
    note = () if rows else ("There is no crossover yet. Make one with: halfroll crossover new",)
    print_rows(Rows(head=("Crossover", "Title", "Ways"), rows=rows, notes=note))
    for one in faults:
        say(str(one))


@crossover.command("show")
@click.argument("name", metavar="CROSSOVER")
@click.option(
    "--aside",
    "horizontal_deg",
    type=float,
    default=0.0,
    show_default=True,
    help="Angle of the listener to the right, degrees.",
)
@click.option(
    "--up",
    "vertical_deg",
    type=float,
    default=0.0,
    show_default=True,
    help="Angle of the listener upwards, degrees.",
)
@click.option(
    "--chart",
    type=click.Choice(CHART_NAMES),
    default="sum",
    show_default=True,
    help="What is drawn into the file.",
)
@click.option(
    "--svg",
    type=click.Path(dir_okay=False, path_type=Path),
    default=None,
    help="Write the circuit or a chart to this SVG file.",
)
@click.option(
    "--theme",
    type=click.Choice(["print", "light", "dark", "slide"]),
    default="print",
    show_default=True,
    help="Look of the picture.",
)
@click.option(
    "--width",
    type=click.IntRange(300, 4000),
    default=1000,
    show_default=True,
    help="Width of the picture, pixels.",
)
@json_option
def show(
    name: str,
    horizontal_deg: float,
    vertical_deg: float,
    chart: str,
    svg: Path | None,
    theme: str,
    width: int,
    as_json: bool,
) -> None:
    """Show a crossover: what its elements bear, its impedance, what must be said, and the sum as a curve in a file.

    \b
    Example:
      halfroll crossover show hide-one --svg sum.svg
    """
    from halfroll.publish.crossover_rows import crossover_json
    from halfroll.workshop.crossovers import crossover_record, in_record, work_out

    check_ending(svg, ".svg", "--svg")
    workshop = open_workshop()
    loaded = crossover_record(workshop, name)
    with progress_bar("Working the crossover out") as progress, in_record(loaded.path, loaded.record):
        result = work_out(
            workshop, loaded.record, progress, horizontal_deg=horizontal_deg, vertical_deg=vertical_deg
        )
    if svg is not None:
        write_file(svg, _picture(result, chart, theme, width))
    if as_json:
        print_json(crossover_json(name, result))
    else:
        _print(result)


@crossover.command("new")
@click.argument("name", metavar="CROSSOVER")
@click.option("--way", "ways", multiple=True, required=True, metavar="NAME=DRIVER/VERSION",
              help="A way and its driver; once for each, from the lowest to the highest.")  # fmt: skip
@click.option(
    "--frequency",
    "frequency_hz",
    type=float,
    multiple=True,
    required=True,
    help="Where neighbours cross, Hz; once for each crossing.",
)
@click.option("--start", type=click.Choice(["filters", "one-capacitor"]), default="filters", show_default=True,
              help="A filter before each way, or only one capacitor before the higher.")  # fmt: skip
@click.option("--alignment", type=click.Choice(["butterworth", "bessel", "linkwitz-riley"]), default="linkwitz-riley", show_default=True,
              help="Shape of the filters.")  # fmt: skip
@click.option(
    "--order",
    type=click.IntRange(1, 4),
    default=2,
    show_default=True,
    help="Order of the filters: 6 dB an octave each.",
)
@click.option(
    "--lower",
    "lower_db",
    type=click.FloatRange(0, 40),
    default=0.0,
    show_default=True,
    help="Lower the highest way by an L-pad, dB.",
)
@click.option(
    "--level",
    "level",
    multiple=True,
    metavar="WAY=WHAT",
    help="Level the inductance or the resonance of a way by elements across it, such as low=inductance.",
)
@click.option("--title", default="", help="A title.")
@json_option
def new(
    name: str, ways: tuple[str, ...], frequency_hz: tuple[float, ...], start: Any, alignment: str, order: int, lower_db: float, level: tuple[str, ...], title: str,
    as_json: bool,
) -> None:  # fmt: skip
    """Make a crossover with starting values for the drivers' rated impedances.

    Real impedances move the result: look at it with show, and bring it back with tune.

    \b
    Example:
      halfroll crossover new hide --way low=avocet/v8 --way high=dunlin/v2 --frequency 2000
    """
    from halfroll.workshop.crossover_start import start_record
    from halfroll.workshop.crossovers import new_crossover

    workshop = open_workshop()
    with progress_bar("Finding values") as progress:
        record = start_record(workshop, [_pair(way) for way in ways], frequency_hz, start=start, alignment=alignment, order=order, lower_db=lower_db, level=[_pair(one, "--level", "WAY=WHAT", "low=inductance") for one in level],
                              title=title, progress=progress)  # fmt: skip
    loaded = new_crossover(workshop, name, record)
    if as_json:
        print_json({"crossover": loaded.id, "file": str(loaded.path)})
        return
    say(f"Made {loaded.path}")
    say(f"See it with: halfroll crossover show {loaded.id}")


@crossover.command("tune")
@click.argument("name", metavar="CROSSOVER")
@click.option(
    "--from", "low_hz", type=float, required=True, help="Lower end of the band to be made flat, Hz."
)
@click.option("--to", "high_hz", type=float, required=True, help="Upper end, Hz.")
@click.option(
    "--row",
    type=click.Choice(["E12", "E24", "free"]),
    default="E12",
    show_default=True,
    help="Row of values to end on (IEC 60063).",
)
@click.option(
    "--only", multiple=True, metavar="ELEMENT", help="Move only these elements; once for each. Default: all."
)
@click.option("--save", is_flag=True, help="Save the values. Without it the file stays as it is.")
@json_option
def tune(
    name: str, low_hz: float, high_hz: float, row: Any, only: tuple[str, ...], save: bool, as_json: bool
) -> None:
    """Move the values so that the sum is flat in a band, with the real impedances, and the impedance not below 80 % of the rated one.

    \b
    Example:
      halfroll crossover tune hide-two --from 200 --to 8000
    """
    from halfroll.publish.crossover_rows import tuned_json, tuned_rows
    from halfroll.workshop.crossovers import crossover_record, in_record, save_crossover, tuned

    workshop = open_workshop()
    loaded = crossover_record(workshop, name)
    with progress_bar("Tuning") as progress, in_record(loaded.path, loaded.record):
        found, record = tuned(
            workshop, loaded.record, (low_hz, high_hz), row=row, only=only, progress=progress
        )
    if save:
        save_crossover(workshop, loaded, record)
    if as_json:
        print_json({"crossover": name, "saved": save, **tuned_json(found)})
        return
    print_rows(tuned_rows(found))
    say(f"Saved in {loaded.path}" if save else "Nothing was saved. Add --save to keep these values.")


def _pair(
    text: str, key: str = "--way", form: str = "NAME=DRIVER/VERSION", example: str = "low=avocet/v8"
) -> tuple[str, str]:
    """``low=avocet/v8`` as two words."""
    name, _, driver = text.partition("=")
    if not name or not driver:
        raise InputError(
            f"It must be given as {form}", key=key, found=text, remedy=f"For example {key} {example}"
        )
    return name, driver


def _picture(result: Result, chart: str, look: str, width_px: int) -> str:
    from halfroll.publish.crossover import CHARTS
    from halfroll.publish.crossover_circuit import circuit_svg
    from halfroll.publish.render import to_svg
    from halfroll.publish.theme import theme

    if chart == "circuit":
        return circuit_svg(result.crossover, theme=theme(look), width_px=width_px)
    return to_svg(CHARTS[chart](result, theme=theme(look), width_px=width_px))


def _print(result: Result) -> None:
    from halfroll.publish.crossover_rows import element_rows, standing, way_rows

    print_rows(way_rows(result))
    click.echo()
    print_rows(element_rows(result))
    click.echo()
    click.echo(standing(result))
    say_verdicts(result.verdicts)
