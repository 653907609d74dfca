"""Start the command line: `python -m diagnose` and the script `diagnose`."""


def main() -> None:
    """Run the command line and end with its exit code."""
    from diagnose.cli.app import run

    run()


if __name__ == "__main__":
    main()
