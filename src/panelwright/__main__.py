"""`python -m panelwright`."""

from panelwright.cli.main import main

if __name__ == "__main__":
    main()
