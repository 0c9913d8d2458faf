"""Saltmarsh Workshop: an invented workshop that prints weather-proof drivers for bird hides, as a demonstration.

`avocet` and `others` hold its drivers, `scenario` who built and measured what, `perform` turns a take into samples
through the large-signal model. Nothing in it is a real product, person or measurement.
"""
