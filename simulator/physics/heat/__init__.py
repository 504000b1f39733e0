"""Heat in air, goods and walls for a frozen flow: the balance, its solver, the march in time."""
