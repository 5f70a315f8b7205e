"""Let ``python -m patency`` do what ``patency`` does."""

from patency.cli import main

if __name__ == "__main__":
    main(prog_name="patency")
