"""What a version stands on, so that a bill can be made of it elsewhere."""

from halfroll.workshop import VersionRecord
from halfroll.workshop.needed import all_named
from halfroll.workshop.part_record import PartRecord


def test_spools_of_its_filaments_belong_to_a_version():
    """A filament is named by its material, not by its spool; other spools and other things of a named material do not belong to it."""
    parts = {
        id_: PartRecord.model_validate({"type": kind, "material": material})
        for id_, kind, material in [
            ("spool-white", "filament", "pla"),
            ("spool-grey", "filament", "tpu-grey"),
            ("plate", "other", "pla"),
        ]
    }
    version = VersionRecord.model_validate(
        {
            "cone": {
                "inner_mm": 30.0,
                "outer_mm": 69.0,
                "depth_mm": 9.0,
                "thickness_mm": 0.8,
                "material": "pla",
            }
        }
    )
    assert all_named(version, parts) == {"pla", "spool-white"}
