"""What is kept behind a mark: one number with everything it came from, as JSON in ``releases/marks/<mark>.json``."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from halfroll.core.errors import InputError
from halfroll.core.uncertainty import coverage_factor
from halfroll.figures.marks import canonical, mark_of, printed
from halfroll.figures.types import FigureSettings

FORMAT = 1


@dataclass(frozen=True, kw_only=True)
class MarkedTake:
    """A take or run behind a number.

    Parameters
    ----------
    id
        ``driver/version/unit/take``, or of a run ``driver/version/unit/kind/name``; of what is computed the id of the computed take.
    record_sha256
        Hash of its record's file; empty of what is computed.
    audio
        (file, SHA-256) of its recordings and tables.
    rig, calibration
        The rig it was made with, and a hash of the calibrations it uses.
    """

    id: str
    record_sha256: str = ""
    audio: tuple[tuple[str, str], ...] = ()
    rig: str = ""
    calibration: str = ""

    @property
    def unit_id(self) -> str:
        """``driver/version/unit``."""
        return "/".join(self.id.split("/")[:3])

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        audio = [{"file": file, "sha256": sha256} for file, sha256 in self.audio]
        return {
            "id": self.id, "record_sha256": self.record_sha256, "audio": audio, "rig": self.rig, "calibration": self.calibration,
        }  # fmt: skip

    @staticmethod
    def from_dict(raw: Mapping[str, Any]) -> MarkedTake:
        """The inverse of `as_dict`."""
        audio = tuple((str(one["file"]), str(one["sha256"])) for one in raw["audio"])
        texts = {key: str(raw[key]) for key in ("id", "record_sha256", "rig", "calibration")}
        return MarkedTake(audio=audio, **texts)


@dataclass(frozen=True, kw_only=True)
class MarkRecord:
    """One number with everything behind it.

    Parameters
    ----------
    mark
        In its normal form.
    figure
        As `Figure.as_dict`, without words that may be put better one day: key, unit, value, u, dof (``"inf"`` where many), bound, rule,
        conditions, and so on.
    settings
        As `FigureSettings.as_dict`.
    takes
        What it was read from; empty where it was printed by somebody else.
    basis
        Of a prediction ``design_sha256``, ``cabinet`` and ``assumptions`` ([name, change for one standard uncertainty]); of a printed
        figure where it was printed; of a parameter ``units`` and ``effective_area_cm2``: what was typed that it rests on.
    noted
        What is not in the mark: ``label`` and ``cautions`` of the figure in words, the ``program`` that worked it out first, ``beside``:
        the versions it was compared with.
    """

    mark: str
    version_id: str
    figure: dict[str, Any]
    settings: dict[str, Any]
    takes: tuple[MarkedTake, ...] = ()
    basis: dict[str, Any] = field(default_factory=dict)
    noted: dict[str, Any] = field(default_factory=dict)

    @property
    def shown(self) -> str:
        """The mark as it is printed."""
        return printed(self.mark)

    @property
    def key(self) -> str:
        """Which figure."""
        return str(self.figure["key"])

    @property
    def label(self) -> str:
        """How the figure is called."""
        return str(self.noted.get("label") or self.key)

    @property
    def value(self) -> float:
        """In the figure's unit."""
        return float(self.figure["value"])

    @property
    def u(self) -> float | None:
        """Standard uncertainty; None when it was not known."""
        return None if self.figure["u"] is None else float(self.figure["u"])

    @property
    def expanded(self) -> float | None:
        """Half of the 95 % interval; None when it was not known."""
        if self.u is None or self.figure["dof"] is None:
            return None
        return coverage_factor(float(self.figure["dof"])) * self.u

    @property
    def source(self) -> str:
        """``measured``, ``predicted`` or ``published``."""
        return str(self.figure["source"])

    @property
    def figure_settings(self) -> FigureSettings:
        """The settings it was read with."""
        fields: dict[str, Any] = {
            key: tuple(value) if isinstance(value, list) else value for key, value in self.settings.items()
        }
        return FigureSettings(**fields)

    @property
    def content(self) -> dict[str, Any]:
        """What the mark is made from."""
        return {
            "format": FORMAT, "version": self.version_id, "figure": self.figure, "settings": self.settings,
            "takes": [take.as_dict() for take in self.takes], "basis": self.basis,
        }  # fmt: skip

    @property
    def again(self) -> MarkRecord:
        """The same as it comes back from its file: lists for tuples, plain numbers."""
        raw = json.loads(canonical(self.as_dict()))
        return MarkRecord(
            mark=self.mark, version_id=self.version_id, figure=raw["figure"], settings=raw["settings"], takes=self.takes,
            basis=raw["basis"], noted=raw["noted"],
        )  # fmt: skip

    def as_dict(self, *, noted: bool = True) -> dict[str, Any]:
        """Plain values for JSON; without `noted` only what the mark decides."""
        return {"mark": self.mark, **self.content, **({"noted": self.noted} if noted else {})}

    def as_json(self) -> bytes:
        """The file's bytes."""
        raw = json.loads(canonical(self.as_dict()))
        return json.dumps(raw, sort_keys=True, indent=1, ensure_ascii=False).encode() + b"\n"

    @staticmethod
    def from_json(data: bytes, file: str) -> MarkRecord:
        """The record in a file; checked against its own mark.

        Raises
        ------
        InputError
            It is none, of a later format, or somebody changed it: the mark does not belong to it.
        """
        try:
            raw = json.loads(data)
            found = MarkRecord(
                mark=str(raw["mark"]), version_id=str(raw["version"]), figure=dict(raw["figure"]), settings=dict(raw["settings"]),
                takes=tuple(MarkedTake.from_dict(one) for one in raw["takes"]), basis=dict(raw["basis"]),
                noted=dict(raw.get("noted", {})),
            )  # fmt: skip
            format_, _ = raw["format"], (found.value, found.expanded, found.figure_settings)
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as fault:
            raise InputError("What stands behind a mark must be a record of halfroll", file=file, found=f"{type(fault).__name__}: {fault}",
                             remedy="Bring the file back from a copy; print the number again to make it anew") from fault  # fmt: skip
        if format_ != FORMAT:
            raise InputError("The record of a mark must be of a format this halfroll knows", file=file, key="format", found=repr(format_),
                             allowed=str(FORMAT), remedy="Use a newer halfroll")  # fmt: skip
        if mark_of(found.content, len(found.mark)) != found.mark:
            raise InputError("The record of a mark must be what the mark was made from; this one was changed", file=file,
                             found=f"content of {mark_of(found.content)}", allowed=found.mark,
                             remedy="Bring the file back from a copy")  # fmt: skip
        return found
