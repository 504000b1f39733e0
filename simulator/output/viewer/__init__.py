"""A room to turn and look into in any browser: what Python packs and what JavaScript draws."""
