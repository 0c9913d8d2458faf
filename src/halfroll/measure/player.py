"""What plays a signal and gives back what came in meanwhile: a sound card, or a driver that is only computed."""

from __future__ import annotations

from typing import Protocol

from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, silent


class Player(Protocol):
    """Plays samples and returns what every input channel held meanwhile.

    Whoever measures by a player does not know whether there is a sound card behind it (`halfroll.measure.capture`) or a
    computed driver: predicted and measured meet here.
    """

    @property
    def rate_hz(self) -> int:
        """Samples per second, in and out."""

    @property
    def channels(self) -> int:
        """Number of input channels."""

    def play(self, signal: FloatArray, progress: Progress = silent) -> FloatArray:
        """Play a signal and record.

        Parameters
        ----------
        signal
            Samples re full scale, shape (n,), inside -1 to 1.
        progress
            Called while it plays; may cancel, and then nothing more is played.

        Returns
        -------
        Samples of all inputs re full scale, shape (channels, n), lined up with the signal: the delay of the sound card
        is taken out, the flight of the sound is not.

        Raises
        ------
        InputError
            The device cannot do it, was lost, or dropped samples; nothing is returned then.
        CancelledError
            `progress` asked to stop.
        """
