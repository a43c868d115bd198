"""`python -m barbwright` is the same as the command."""

from barbwright.cli import main

if __name__ == "__main__":
    main()
