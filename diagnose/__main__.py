"""`python -m diagnose`."""

from diagnose.commands.main import run

if __name__ == "__main__":
    run()
