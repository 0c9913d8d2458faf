"""Measured sound: sweeps, tones and impedance, their analysis, and what is read from them. A map by topic:

- Signals and recordings: `sweep`, `tones` (stepped sines), `recording`, `player` (what plays), `capture` (a sound card).
- The rig: `calibrator`, `tone` (one steady tone), `meter`, `correction`, `current`, `resistor_check`, `latency`, `budget`.
- The level before a take: `find_level`, `ramp`, `burst`.
- From a sweep to a response: `analyse` is the recipe; `locate`, `align`, `deconvolve`, `gate`, `noise`, `delay`, `checks` are its
  steps, `response` is the result.
- Beside the harmonics: `beyond`; `tracked`, `cycles`, `residue`, `rub` for what scrapes, `hum` for lines in the silence.
- Distortion: `distortion`; by tones `tone_run` (playing), `tone_timing`, `tone_estimate`, `tone_analysis`, `tone_results`, `tone_verdicts`;
  against level `level_series`, `level_takes`, `highest_level`.
- Impedance: `impedance` (the value), `impedance_sweep`, `impedance_checks`.
- Lumped parameters: `parameters` fits; `parameter_types`, `impedance_model`, `impedance_start`, `impedance_fit`, `fit_residual`,
  `fit_verdicts`; `absolute` with `absolute_inputs`, `absolute_methods`, `absolute_verdicts` for masses and what follows.
- Conditions: `normalise` (to a data sheet's), `near_far`, `join`, `join_types`, `join_verdicts`.
- Heat: `coil_temperature`, `power_log`.
"""
