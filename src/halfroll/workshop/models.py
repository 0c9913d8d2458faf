"""Models to print of a version: from its record, with the jig for its gap, and kept in its ``models`` folder."""

from __future__ import annotations

import contextlib
import os
import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.core.verdicts import Verdict
from halfroll.materials.types import Filament
from halfroll.motor.coil.wound import wind
from halfroll.suspension.design import MovingDesign, PrintSettings
from halfroll.suspension.models.build import FINE_M, models_of
from halfroll.suspension.models.jig import GapJig, fit_of, fit_verdict
from halfroll.suspension.models.model import Model, Side
from halfroll.workshop.files import make_folder, reporting, sync_folder
from halfroll.workshop.locking import locked
from halfroll.workshop.motor_design import in_record
from halfroll.workshop.motors import LoadedMotor, load_motor
from halfroll.workshop.parts import lookups
from halfroll.workshop.paths import folder_of
from halfroll.workshop.suspension_design import former_of
from halfroll.workshop.suspensions import MovingTables, load_moving, no_moving

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop

FOLDER = "models"


@dataclass(frozen=True, kw_only=True)
class Printing:
    """What of a version can be printed: its moving parts, the jig for its gap or None, and what was
    to be said on the way.
    """

    design: MovingDesign
    jig: GapJig | None
    verdicts: tuple[Verdict, ...] = ()


def printing_of(workshop: Workshop, version_id: str) -> Printing:
    """What of a version can be printed.

    Raises
    ------
    InputError
        There is no such version, it has neither moving parts nor a coil, or what it says cannot be; with file, key and line.
    """
    loaded = workshop.version(version_id)
    motor = None
    if loaded.record.motor is not None and loaded.record.coil is not None:
        motor = load_motor(workshop, version_id)
    if MovingTables.of(loaded.record).any:
        design = load_moving(workshop, version_id)
    elif motor is not None and motor.design.coil is not None:
        design = MovingDesign(former=former_of(motor.design.coil))
    else:
        raise no_moving(loaded)
    with in_record(loaded):
        jig = None if motor is None else _jig(motor, _filament(workshop, design))
    return Printing(design=design, jig=jig, verdicts=_jig_verdicts(jig))


def version_models(
    workshop: Workshop,
    version_id: str,
    *,
    parts: Sequence[str] | None = None,
    side: Side = "auto",
    within_m: float = FINE_M,
    progress: Progress = silent,
) -> tuple[Model, ...]:
    """The models of a version, as `suspension.models.build.models_of` makes them.

    Raises
    ------
    InputError
        As `printing_of`, or a part is asked for that the version has not.
    """
    what = printing_of(workshop, version_id)
    loaded = workshop.version(version_id)
    with in_record(loaded):
        return models_of(
            what.design, parts=parts, jig=what.jig, side=side, within_m=within_m, progress=progress
        )


def save_models(workshop: Workshop, version_id: str, files: Mapping[str, bytes]) -> list[Path]:
    """Write files into a version's ``models`` folder: all of them, or none when one cannot be written. What is named alike is
    replaced, other files stay.

    Returns
    -------
    list of Path
        The files, in the order given.
    """
    workshop.version(version_id)  # there is one
    folder = folder_of(workshop.folder, version_id) / FOLDER
    for name in files:
        if Path(name).name != name or name.startswith("."):
            raise InputError("The name of a model's file must be plain", found=repr(name))
    with locked(workshop.folder):
        make_folder(folder, durable=workshop.durable)
        waiting: list[tuple[Path, Path]] = []
        try:
            for name, data in files.items():
                target = folder / name
                temporary = folder / f".{name}.{secrets.token_hex(4)}.tmp"
                waiting.append((temporary, target))
                with reporting(target, "written"):
                    if target.is_dir():
                        raise IsADirectoryError(target)
                    _write(temporary, data, durable=workshop.durable)
            for temporary, target in waiting:
                with reporting(target, "written"):
                    temporary.replace(target)
        finally:
            for temporary, _ in waiting:
                with contextlib.suppress(OSError):
                    temporary.unlink(missing_ok=True)
        if workshop.durable:
            sync_folder(folder)
    return [target for _, target in waiting]


def _write(path: Path, data: bytes, *, durable: bool) -> None:
    with path.open("xb") as file:
        file.write(data)
        file.flush()
        if durable:
            os.fsync(file.fileno())


def jig_of(workshop: Workshop, version_id: str, design: MovingDesign) -> GapJig | None:
    """The jig for the gap of a version whose moving parts need not be saved; None where motor and coil are not designed.

    Raises
    ------
    InputError
        What the version says of its motor cannot be.
    """
    record = workshop.version(version_id).record
    if record.motor is None or record.coil is None:
        return None
    return _jig(load_motor(workshop, version_id), _filament(workshop, design))


def _jig(motor: LoadedMotor, material: Filament) -> GapJig | None:
    """The jig for the gap of a motor with a coil."""
    if motor.design.coil is None:
        return None
    coil, gap = wind(motor.design.coil), motor.assembly.gap
    former = former_of(motor.design.coil)
    return GapJig(
        pole_radius_m=gap.r_inner, former_inner_m=coil.former_inner_m, coil_outer_m=coil.outermost_m, plate_radius_m=gap.r_outer,
        gap_height_m=gap.z_high - gap.z_low, reach_m=max(former.high_m - gap.z_high, 0.0), material=material,
        print_tolerance_m=motor.design.coil.print_tolerance_m, print=PrintSettings(),
    )  # fmt: skip


def _filament(workshop: Workshop, design: MovingDesign) -> Filament:
    """What a jig is printed of: the former's filament, else the usual one."""
    if design.former is not None and not design.former.material.sheet:
        return design.former.material
    filaments = lookups(workshop).filaments
    return filaments["pla"] if "pla" in filaments else next(iter(filaments.values()))


def _jig_verdicts(jig: GapJig | None) -> tuple[Verdict, ...]:
    if jig is None:
        return ()
    said = [fit_verdict(fit_of(jig, where)) for where in ("inner", "outer")]
    return tuple(verdict for verdict in said if verdict is not None)
