"""``python -m halfroll`` is the command line."""

from halfroll.cli import main

if __name__ == "__main__":
    main()
