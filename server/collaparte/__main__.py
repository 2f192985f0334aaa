"""`python -m collaparte`: the command line, where the script is not on the path."""

from collaparte.cli import main

if __name__ == "__main__":
    main()
