"""SOLVE: airflow, convection, radiation and heat on the grid."""
