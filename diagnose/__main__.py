"""Start the command `diagnose`."""

from __future__ import annotations


def main() -> None:
    """Run the command line."""
    from diagnose.cli.app import run

    run()


if __name__ == "__main__":
    main()
