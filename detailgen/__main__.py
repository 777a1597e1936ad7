"""``python -m detailgen``."""

from detailgen.cli import main

if __name__ == "__main__":
    main()
