"""`python -m firstoff` is the same as the command."""

from firstoff.cli import main

if __name__ == "__main__":
    main()
