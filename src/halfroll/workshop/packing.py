"""A response, or a fit, as bytes and back, exactly. No pickle: the index of a borrowed workshop must not be able to run code."""

from __future__ import annotations

import dataclasses
import io
import json
import zipfile
from typing import Any

import numpy as np

from halfroll.core.conditions import Conditions, Space
from halfroll.core.verdicts import Severity, Verdict
from halfroll.driver.limits.travel import TravelLimit
from halfroll.driver.limits.types import LimitCurve, Lowest, MaximumLevel, PowerCompression
from halfroll.driver.lumped import DriverModel
from halfroll.driver.predicted.types import Assumption, PredictedDriver
from halfroll.driver.suspension_distortion import Constants, SuspensionDistortion, ToneDistortion
from halfroll.driver.suspension_fit import FittedStiffness
from halfroll.driver.update import types as updating
from halfroll.figures.computed import ComputedTake, CurveSpread
from halfroll.measure.analysis.response import Gate, ImpulseResponse, Response
from halfroll.measure.impedances.impedance import ImpedanceCurve
from halfroll.measure.lumped.parameter_types import Candidate, Estimates, Fit
from halfroll.measure.residues.hum import Hum
from halfroll.measure.residues.residue import Moment, Residue
from halfroll.measure.stepped.tone_results import ToneResults
from halfroll.measure.stepped.tones import Tone
from halfroll.motor import results
from halfroll.motor.heat.limits import HeatLimit
from halfroll.suspension import results as suspension

_CLASSES = {
    kind.__name__: kind
    for kind in (
        Response,
        Gate,
        ImpulseResponse,
        Conditions,
        Verdict,
        ImpedanceCurve,
        Fit,
        Estimates,
        Candidate,
        Residue,
        Moment,
        Hum,
        ToneResults,
        Tone,
        results.FieldMap,
        results.ForceFactor,
        results.Saturation,
        results.OperatingPoint,
        results.MotorResult,
        results.BlockedImpedance,
        results.Modulation,
        results.AssemblyForce,
        results.FieldInfluences,
        *(
            kind
            for kind in vars(suspension).values()
            if isinstance(kind, type) and dataclasses.is_dataclass(kind)
        ),
        Constants,
        FittedStiffness,
        ToneDistortion,
        SuspensionDistortion,
        ComputedTake,
        CurveSpread,
        TravelLimit,
        LimitCurve,
        Lowest,
        MaximumLevel,
        PowerCompression,
        HeatLimit,
        DriverModel,
        Assumption,
        PredictedDriver,
        updating.Observation,
        updating.Cause,
        updating.Explanation,
        updating.Alike,
        updating.Telling,
        updating.Misfit,
        updating.Residual,
        updating.Update,
    )
}
_WORDS = {kind.__name__: kind for kind in (Space, Severity)}
_HEADER = "header"


def pack(value: Any) -> bytes:
    """A response, or another value of `_CLASSES`, as the bytes of a compressed ``.npz`` archive: its arrays, and the rest
    as JSON.
    """
    arrays: dict[str, np.ndarray] = {}
    header = json.dumps(_flat(value, "", arrays))
    buffer = io.BytesIO()
    arrays[_HEADER] = np.frombuffer(header.encode(), dtype=np.uint8)
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for name, array in arrays.items():
            with archive.open(f"{name}.npy", "w") as file:
                np.lib.format.write_array(file, array, allow_pickle=False)
    return buffer.getvalue()


def unpack(data: bytes) -> Response | None:
    """The response in packed bytes; None when they are damaged or of another make."""
    response = unpack_value(data)
    return response if isinstance(response, Response) else None


def unpack_value(data: bytes) -> Any:
    """Whatever `pack` packed; None when the bytes are damaged or of another make."""
    try:
        with np.load(io.BytesIO(data), allow_pickle=False) as archive:
            header = json.loads(archive[_HEADER].tobytes())
            return _full(header, archive)
    except Exception:  # damaged bytes can make zip, zlib, NumPy and JSON stumble in any way
        return None


def _flat(value: Any, path: str, arrays: dict[str, np.ndarray]) -> Any:
    """A value as JSON knows it; arrays go to `arrays` under their path, and their path stands for them."""
    if isinstance(value, np.ndarray):
        arrays[path] = value
        return {"array": path}
    if dataclasses.is_dataclass(value):
        fields = {
            f.name: _flat(getattr(value, f.name), f"{path}.{f.name}", arrays)
            for f in dataclasses.fields(value)
        }
        return {"class": type(value).__name__, "fields": fields}
    if isinstance(value, tuple):
        return {"tuple": [_flat(entry, f"{path}.{i}", arrays) for i, entry in enumerate(value)]}
    if type(value).__name__ in _WORDS:
        return {"word": type(value).__name__, "is": value.name}
    if isinstance(value, dict):
        return {"dict": {key: _flat(entry, f"{path}.{key}", arrays) for key, entry in value.items()}}
    if isinstance(value, list):
        return [_flat(entry, f"{path}.{i}", arrays) for i, entry in enumerate(value)]
    return value.item() if isinstance(value, np.generic) else value


def _full(value: Any, archive: Any) -> Any:
    """The inverse of `_flat`."""
    if isinstance(value, list):
        return [_full(entry, archive) for entry in value]
    if not isinstance(value, dict):
        return value
    if "array" in value:
        return archive[value["array"]]
    if "class" in value:
        return _CLASSES[value["class"]](
            **{key: _full(entry, archive) for key, entry in value["fields"].items()}
        )
    if "tuple" in value:
        return tuple(_full(entry, archive) for entry in value["tuple"])
    if "word" in value:
        return _WORDS[value["word"]][value["is"]]
    return {key: _full(entry, archive) for key, entry in value["dict"].items()}
