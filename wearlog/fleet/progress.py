"""What long work tells its caller, and how it is stopped."""

from typing import Protocol


class Progress(Protocol):
    """Told by long work how far it is; may stop it."""

    def step(self, done: int, total: int, what: str) -> None:
        """Take note of the state of the work.

        Parameters
        ----------
        done, total
            Steps done and steps in all, [-].
        what
            What is being done, in words.

        Raises
        ------
        Cancelled
            If the person asked to stop.
        """


class Silent:
    """Progress for a caller that does not want to know."""

    def step(self, done: int, total: int, what: str) -> None:
        """Take no notice."""
