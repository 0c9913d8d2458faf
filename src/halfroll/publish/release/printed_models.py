"""What is printed of a version, in the formats a release chooses, with drawings and whatever else lies in its folder of models."""

from __future__ import annotations

from collections.abc import Sequence

from halfroll.core.errors import InputError
from halfroll.core.progress import part
from halfroll.publish.part_pieces import pieces_of_models
from halfroll.publish.part_sheet import part_sheets_pdf
from halfroll.publish.printing.step import can_write_step, write_step
from halfroll.publish.printing.stl import write_stl
from halfroll.publish.printing.threemf import write_3mf
from halfroll.publish.release.context import Context, NothingError, for_each, slug_of
from halfroll.publish.release.pack import Made
from halfroll.suspension.models.model import Model
from halfroll.workshop.bundle_manifest import MODELS
from halfroll.workshop.models import FOLDER, printing_of, version_models
from halfroll.workshop.paths import folder_of
from halfroll.workshop.suspensions import MovingTables
from halfroll.workshop.tree import names_in


def models(context: Context) -> list[Made]:
    """Models of every released version."""
    return for_each(context, _of_version)


def _of_version(context: Context, version_id: str) -> list[Made]:
    record = context.workshop.version(version_id).record
    made: tuple[Model, ...] = ()
    if MovingTables.of(record).any or (record.motor is not None and record.coil is not None):
        made = version_models(context.workshop, version_id, progress=part(context.progress, 0.0, 0.7))
    files = [*_written(context, version_id, made), *_own(context, version_id, made)]
    if made:
        pieces = pieces_of_models(printing_of(context.workshop, version_id).design, made, version_id)
        if pieces:
            files.append(Made(path=f"{_folder(version_id)}/drawings.pdf", data=part_sheets_pdf(pieces, date=context.date),
                              what="dimensioned drawings of the printed parts"))  # fmt: skip
    if not files:
        raise NothingError(f"nothing of {version_id} is printed")
    return files


def _written(context: Context, version_id: str, made: Sequence[Model]) -> list[Made]:
    folder, wanted, files = _folder(version_id), context.record.models, []
    if not made:
        return []
    if "step" in wanted and not can_write_step():
        raise InputError("STEP files need the geometry kernel, which is not built for this machine", file=str(context.loaded.path),
                         key="models", found="step", remedy='Take "step" out of models, or build the release on another machine')  # fmt: skip
    if "3mf" in wanted:
        data = write_3mf(made, title=version_id, designer=", ".join(context.record.authors))
        files.append(
            Made(path=f"{folder}/{slug_of(version_id)}.3mf", data=data, what="all printed parts on one plate")
        )
    for n, model in enumerate(made):
        context.progress(0.7 + 0.3 * n / len(made), f"writing {model.words}")
        if "stl" in wanted:
            files.append(
                Made(
                    path=f"{folder}/{model.name}.stl", data=write_stl(model), what=f"{model.words} as a mesh"
                )
            )
        if "step" in wanted:
            files.append(
                Made(
                    path=f"{folder}/{model.name}.step",
                    data=write_step(model),
                    what=f"{model.words} as curved faces",
                )
            )
    return files


def _own(context: Context, version_id: str, made: Sequence[Model]) -> list[Made]:
    """What the maker put into the version's folder of models beside what halfroll writes there, such as a frame drawn elsewhere."""
    holder = folder_of(context.workshop.folder, version_id) / FOLDER
    ours = {slug_of(version_id), *(model.name for model in made), "drawings"}
    names = [name for name in names_in(str(holder), files=True) if (holder / name).is_file()]
    return [
        Made(path=f"{_folder(version_id)}/{name}", data=holder / name, what="a model of the maker's own")
        for name in names
        if name.rpartition(".")[0] not in ours
    ]


def _folder(version_id: str) -> str:
    return f"{MODELS}{slug_of(version_id)}"
