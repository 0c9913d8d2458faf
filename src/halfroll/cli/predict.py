"""``halfroll predict``: the driver that a design will make, before it is printed."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import click

from halfroll.cli.common import (
    check_ending,
    drawing_options,
    in_lines,
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
from halfroll.core.progress import Progress, part

if TYPE_CHECKING:
    from halfroll.acoustics.load import AcousticLoad
    from halfroll.core.verdicts import Verdict
    from halfroll.driver.predicted.types import PredictedDriver
    from halfroll.driver.predicted.uncertainty import MonteCarlo
    from halfroll.figures.types import Figure, TakeReadings
    from halfroll.workshop import Workshop
    from halfroll.workshop.prediction import Source
    from halfroll.workshop.virtual_takes import PredictedTake


@click.command()
@click.argument("version_id", metavar="DRIVER/VERSION")
@click.option("--source", type=click.Choice(["auto", "predicted", "measured", "entered"]), default="auto", show_default=True,
              help="Where the driver comes from: its design, parameters measured on its units, or [parameters] of its record.")  # fmt: skip
@click.option(
    "--level",
    type=float,
    default=None,
    help="Power into the rated impedance that figures are told for, W. Default: as in the workshop.",
)
@click.option(
    "--in",
    "cabinet",
    metavar="CABINET",
    default=None,
    help="Cabinet it plays in. Default: an infinite baffle.",
)
@click.option(
    "--unit",
    default=None,
    metavar="UNIT",
    help="The driver as this unit was built: its readings move the prediction.",
)
@click.option("--tables", is_flag=True, help="Also everything that was assumed, and what Rms is made of.")
@click.option(
    "--monte-carlo",
    "drawn",
    type=click.IntRange(10, 100_000),
    default=None,
    metavar="N",
    help="Also draw N drivers within the assumptions, 10 to 100000.",
)
@click.option("--causes", is_flag=True, help="Also which cause makes the distortion.")
@click.option("--limits", is_flag=True, help="Also how loud it may play, and what ends that.")
@click.option("--what-next", is_flag=True, help="Also what a small change of each dimension would do.")
@click.option("--svg", type=click.Path(dir_okay=False, path_type=Path), default=None,
              help="Write Bl, stiffness and inductance over displacement with their bands to three SVG files named after this one; with --causes, those too.")  # fmt: skip
@drawing_options
@json_option
def predict(
    version_id: str, source: str, level: float | None, cabinet: str | None, unit: str | None, tables: bool, drawn: int | None, causes: bool, limits: bool,
    what_next: bool, svg: Path | None, theme: str, width: int, as_json: bool,
) -> None:  # fmt: skip
    """Predict a driver from its design.

    Motor, coil, suspension and moving parts are computed and put together: the trade's parameters with their uncertainty, what makes
    them unsure, the figures a measurement would give, and what is missing. Results are kept until the design changes.

    \b
    Example:
      halfroll predict avocet/v8
      halfroll predict avocet/v8 --tables --monte-carlo 1000
      halfroll predict avocet/v8 --svg curves.svg
      halfroll predict avocet/v8 --unit 01
    """
    workshop = open_workshop()
    if unit is not None and (source != "auto" or cabinet is not None or causes or limits or what_next):
        raise InputError(
            "A unit as built is shown alone",
            key="--unit",
            found="another question with it",
            allowed="--tables, --monte-carlo, --svg, --json",
        )
    check_ending(svg, ".svg", "--svg")
    with progress_bar("predicting") as progress:
        asked = _Asked(workshop, version_id, cast("Source", source), level, cabinet, unit)
        found = asked.driver(part(progress, 0.0, 0.5))
        draws = asked.draws(found, drawn)
        figures = asked.figures(part(progress, 0.5, 0.7))
        extras = asked.extras(
            found, {"causes": causes, "limits": limits, "what_next": what_next}, part(progress, 0.7, 1.0)
        )
    found = replace(
        found, verdicts=(*found.verdicts, *(one for one in asked.said if one not in found.verdicts))
    )
    if svg is not None:
        _write_curves(found, svg, theme, width)
        for extra in extras:
            if extra.picture is not None:
                write_file(svg.with_name(f"{svg.stem}-{extra.name}.svg"), extra.picture(theme, width))
    if as_json:
        print_json({**_object(version_id, source, cabinet, found, draws, figures, extras), "unit": unit})
        return
    _print(
        version_id if unit is None else f"{version_id}, unit {unit} as built",
        source,
        found,
        draws,
        figures,
        asked.where(),
        tables=tables,
    )
    for extra in extras:
        extra.show()
    if not tables:
        say(f"Everything that was assumed: halfroll predict {version_id} --tables")


def _write_curves(found: PredictedDriver, path: Path, theme: str, width: int) -> None:
    from halfroll.publish.predicted_curves import CURVES, curve_chart
    from halfroll.publish.render import to_svg
    from halfroll.publish.theme import theme as look

    for name in CURVES:
        write_file(
            path.with_stem(f"{path.stem}-{name}"),
            to_svg(curve_chart(found, name, theme=look(theme), width_px=float(width))),
        )


class _Asked:
    """What is asked of one version."""

    def __init__(
        self,
        workshop: Workshop,
        version_id: str,
        source: Source,
        level: float | None,
        cabinet: str | None,
        unit: str | None = None,
    ) -> None:
        self.unit = unit
        self.workshop, self.version_id, self.source, self.level, self.cabinet = (
            workshop,
            version_id,
            source,
            level,
            cabinet,
        )

    said: tuple[Verdict, ...] = ()
    """What is said of the computed take, once its figures were asked for."""

    def driver(self, progress: Progress) -> PredictedDriver:
        """The driver itself."""
        if self.unit is not None:
            from halfroll.workshop.as_built import as_built_driver

            return as_built_driver(self.workshop, f"{self.version_id}/{self.unit}", progress)
        from halfroll.workshop.prediction import driver_model

        return driver_model(self.workshop, self.version_id, self.source, progress)

    def draws(self, found: PredictedDriver, drawn: int | None) -> MonteCarlo | None:
        """Drawn drivers, where they are asked for."""
        from halfroll.driver.predicted.uncertainty import monte_carlo

        return None if drawn is None else monte_carlo(found, drawn)

    def load(self) -> AcousticLoad | None:
        """The cabinet behind it."""
        from halfroll.workshop.virtual_takes import load_in

        return load_in(self.workshop, self.version_id, self.cabinet)

    def where(self) -> str:
        """Where and how the computed take stands, in words."""
        level = self.workshop.settings.level_w if self.level is None else self.level
        place = "in a large baffle" if self.cabinet is None else f"in the cabinet {self.cabinet}"
        return f"{place}, at 1 m and {level:g} W into the rated impedance"

    def figures(self, progress: Progress) -> list[Figure]:
        """Figures of the computed take; of a driver that is predicted or entered, not of one unit."""
        if self.source == "measured" or self.unit is not None:
            return []
        from halfroll.cli.options import settings_of
        from halfroll.figures.combine import version_figures
        from halfroll.figures.rules import told_of
        from halfroll.workshop.virtual_takes import predicted_take

        settings = settings_of(self.workshop, self.level, None, None, None, None)
        take = predicted_take(
            self.workshop, self.version_id, progress, settings=settings, cabinet=self.cabinet
        )
        self.said = take.readings.verdicts
        told = {key: one.figure for key, one in version_figures(alike(take), settings).items()}
        return [
            told[rule.key]
            for rules in told_of([told], {one.kind for one in take.all}).values()
            for rule in rules
        ]

    def extras(self, found: PredictedDriver, wanted: dict[str, bool], progress: Progress) -> list[_Extra]:
        """The parts that were asked for, each of a module of its own."""
        makers = {"causes": _causes, "limits": _limits, "what_next": _what_next}
        return [makers[name](self, found, progress) for name, on in wanted.items() if on]


def alike(take: PredictedTake) -> list[TakeReadings]:
    """Readings that belong together: the take, and the parameters in the baffle for which the values above are told."""
    return [one for one in take.all if one.kind == "take" or one.mounting == "baffle"]


class _Extra:
    """One more part: how it is printed, what of it stands in the object, and its picture as SVG, of a theme and a width, where it has one."""

    def __init__(self, name: str, show: Any, value: Any, picture: Any = None) -> None:
        self.picture = picture
        self.name, self.show, self.value = name, show, value


def _limits(asked: _Asked, found: PredictedDriver, progress: Progress) -> _Extra:
    from halfroll.cli.predict_limits import find_limits, limits_json, print_limits

    limits = find_limits(asked.workshop, asked.version_id, found, asked.load(), progress)
    return _Extra("limits", lambda: print_limits(limits), limits_json(limits))


def _causes(asked: _Asked, found: PredictedDriver, progress: Progress) -> _Extra:
    from halfroll.cli.predict_causes import causes_json, causes_picture, find_causes, print_causes

    causes = find_causes(asked.workshop, asked.version_id, found, asked.load(), progress, level_w=asked.level)
    return _Extra(
        "causes", lambda: print_causes(causes), causes_json(causes), partial(causes_picture, causes)
    )


def _what_next(asked: _Asked, found: PredictedDriver, progress: Progress) -> _Extra:
    from halfroll.cli.predict_next import find_next, next_json, print_next

    effects = find_next(asked.workshop, asked.version_id, progress)
    return _Extra("what_next", lambda: print_next(effects), next_json(effects))


def _object(
    version_id: str, source: str, cabinet: str | None, found: PredictedDriver, draws: MonteCarlo | None, figures: list[Figure],
    extras: list[_Extra],
) -> dict[str, Any]:  # fmt: skip
    from halfroll.publish.predicted_json import predicted_dict

    told = {extra.name: extra.value for extra in extras}
    return {
        "version": version_id, "source": source, "cabinet": cabinet, **predicted_dict(found, draws),
        "figures": {one.key: one.as_dict() for one in figures}, **{name: told.get(name) for name in ("causes", "limits", "what_next")},
    }  # fmt: skip


def _print(
    version_id: str, source: str, found: PredictedDriver, draws: MonteCarlo | None, figures: list[Figure], where: str, *, tables: bool
) -> None:  # fmt: skip
    from halfroll.figures.predicted import NOT_COMPUTED
    from halfroll.figures.rules import RULE
    from halfroll.publish.predicted_rows import assumption_rows, loss_rows, value_rows

    print_rows(value_rows(found, draws, measured=source == "measured"), version_id)
    click.echo()
    # parameters stand among the values above
    if taken := [one for one in figures if RULE[one.key].of == "take" and one.key not in NOT_COMPUTED]:
        from halfroll.cli.figures import print_figures

        print_figures(f"What a measurement would give, {where}", taken, rules=False)
        click.echo(
            in_lines(
                f"After ±: half the 95 % interval. Rule of each: halfroll figures {version_id}@predicted"
            )
        )
        click.echo()
    if tables:
        for rows in (assumption_rows(found), loss_rows(found)):
            print_rows(rows)
            click.echo()
    for words in found.missing:
        click.echo(in_lines(f"missing: {words}"))
    say_verdicts(found.verdicts)
