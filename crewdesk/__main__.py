"""Run crewdesk with ``python -m crewdesk``."""

import sys


def run() -> int:
    """Hand over to the command line; nothing heavy is imported before that."""
    from crewdesk.cli import main

    return main()


if __name__ == "__main__":
    sys.exit(run())
