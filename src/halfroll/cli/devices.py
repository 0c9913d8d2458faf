"""``halfroll devices``: which sound devices there are."""

from __future__ import annotations

import click

from halfroll.cli.common import console, json_option, print_json, say


@click.command()
@json_option
def devices(as_json: bool) -> None:
    """List the sound devices of this machine.

    Each with number, name, channels and sample rate. The name, a part of it that only one device has, or the number goes into [devices] of a rig, or after --input and --output
    of "halfroll measure".

    \b
    Example:
      halfroll devices
    """
    from dataclasses import asdict

    from halfroll.measure.capture import devices as all_devices

    found = all_devices()
    if as_json:
        print_json({"devices": [asdict(device) for device in found]})
        return
    if not found:
        say("There is no sound device. Connect one, see that its sound service runs, and look again.")
        return
    from rich.table import Table

    table = Table(box=None, pad_edge=False)
    for title in ("number", "name", "system", "inputs", "outputs", "rate_hz", "default"):
        table.add_column(title, justify="left" if title in ("name", "system", "default") else "right")
    for device in found:
        default = [
            word
            for word, is_it in (("input", device.default_input), ("output", device.default_output))
            if is_it
        ]
        table.add_row(str(device.number), device.name, device.system, str(device.inputs), str(device.outputs),
                      f"{device.rate_hz:.0f}", ", ".join(default))  # fmt: skip
    console().print(table)
