"""Roomsoak: heat in furnished rooms, from a case file to the places that stay cold."""
