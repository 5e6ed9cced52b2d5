"""`beltwright` and `python -m beltwright`: hands over to the command line."""


def main() -> None:
    from beltwright.cli import main as run

    run()


if __name__ == "__main__":
    main()
