"""The rig: microphone, meter, shunt and their calibration, and what each adds to the uncertainty."""
