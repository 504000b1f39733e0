"""A lesson on one dwelling: pictures, a moving picture, and one page that needs no network."""
