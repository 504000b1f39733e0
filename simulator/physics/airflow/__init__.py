"""The time-averaged flow of air that fans, heaters and buoyancy drive through the rooms."""
