"""Heat in air, furniture and walls for a frozen flow: the balance, its linear solver, its march in time."""
