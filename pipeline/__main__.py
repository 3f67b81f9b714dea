"""``python -m pipeline`` is the command ``testing-reports``."""

from pipeline.cli import main

if __name__ == "__main__":
    main()
