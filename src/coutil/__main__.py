"""`python -m coutil` is `coutil`."""

from coutil.cli import main

if __name__ == "__main__":
    main()
