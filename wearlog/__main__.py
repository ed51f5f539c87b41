"""`python -m wearlog`: without arguments the window, else the command line."""

from wearlog.app import main

if __name__ == "__main__":
    main()
