"""Airflow problems with known answers: the tests run them, and so does the report on them."""
