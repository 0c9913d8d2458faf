"""Forces: `stress` on parts in a field, `assembly_force` while a motor is put together, `modulation` of the force factor by current."""
