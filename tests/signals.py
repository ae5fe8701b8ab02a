"""Signals to programs that tests start."""

import signal


def heeds_ctrl_c() -> None:
    """In a child: heed Ctrl-C, which whoever runs the tests in the background has it pass over."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
