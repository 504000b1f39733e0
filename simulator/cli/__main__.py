"""``python -m simulator.cli`` does what ``roomsoak`` does."""

from simulator.cli.program import main

main()
